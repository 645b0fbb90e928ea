#include "tools/script/line_reader.h"

#include <algorithm>
#include <array>
#include <fstream>

#include "model/iec62386/finding_kinds.h"
#include "model/iec62386/run.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/utf8.h"
#include "tools/script/family_reader.h"
#include "tools/script/family_search.h"
#include "tools/script/line_keys.h"
#include "tools/script/line_site.h"
#include "tools/script/line_steps.h"
#include "tools/script/loader.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace fs = std::filesystem;

namespace {

/// The protocols that are known here.
constexpr std::array<std::string_view, 1> protocols = {"iec-62386"};
/// The key stands near the top.
constexpr std::size_t most_head_bytes = 65'536;

std::string head_of(const fs::path& path) {
  std::error_code error;
  if (!fs::is_regular_file(path, error)) return {};
  std::string head(most_head_bytes, '\0');
  std::ifstream file{path, std::ios::binary};
  file.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(static_cast<std::size_t>(file.gcount()));
  return head;
}

bool has_line(const std::string& head, const std::string& key) {
  return head.starts_with(key) || head.find("\n" + key) != std::string::npos;
}

class LineReader {
 public:
  explicit LineReader(const ReadOptions& options) : loader_(files_of(options), complaints_) {}

  Loader& loader() { return loader_; }

  Reading<iec62386::Scenario> scenario(const Node* root, const fs::path& path) {
    iec62386::Scenario scenario;
    if (root != nullptr) read(*root, path, scenario);
    if (complaints_.any() || root == nullptr) return complaints_.sorted();
    for (const SourceFile& source : complaints_.sources()) scenario.files.push_back(source.path);
    return scenario;
  }

 private:
  void read(const Node& root, const fs::path& path, iec62386::Scenario& scenario) {
    const Fields fields{complaints_, root, msg_as("what", "a scenario"), keys::line::scenario};
    check_version(fields, "drybus", complaints_);
    if (root.kind != Node::Kind::map) return;
    if (const Node* protocol = fields.need("protocol"))
      read_choice(complaints_, *protocol, msg_as("what", "protocol"), protocols);
    scenario.title = printable(harmless(path.stem().string()));
    if (const Node* title = fields.find("title"))
      scenario.title = read_line(complaints_, *title).value_or("");
    if (const Node* about = fields.find("about"))
      scenario.about = read_text(complaints_, *about).value_or("");
    read_whole_into(complaints_, fields.find("seed"), scenario.seed);
    const Node* site = fields.need("site");
    if (site == nullptr) return;
    const std::size_t before = complaints_.count();
    scenario.site = read_line_site(*site, complaints_);
    if (complaints_.count() != before) return;  // steps would only repeat what is wrong
    read_people(fields, scenario);
  }

  void read_people(const Fields& fields, iec62386::Scenario& scenario) {
    scenario.people.push_back({"installer", 0, {}});
    LineStepReader steps{complaints_, scenario};
    if (const Node* script = fields.need("script")) steps.read(*script, 0);
    const Node* others = fields.find("others");
    if (others == nullptr || !is_kind(complaints_, *others, Node::Kind::map, "others")) return;
    for (const Node::Entry& entry : others->entries) {
      if (scenario.people.size() == 32) return complaints_.add(entry.key->place, tr("more than 32 people"));
      scenario.people.push_back({entry.key->text, 0, {}});
      const std::size_t who = scenario.people.size() - 1;
      if (entry.value->kind == Node::Kind::list) {
        steps.read(*entry.value, who);
        continue;
      }
      const Fields person{complaints_, *entry.value, msg_as("what", "a person"), keys::line::person};
      if (entry.value->kind != Node::Kind::map) continue;
      if (const Node* start = person.find("start"))
        scenario.people[who].place = LineNames{scenario.site}
                                         .place(complaints_, start->place, start->text)
                                         .value_or(iec62386::Index{0});
      if (const Node* script = person.need("script")) steps.read(*script, who);
    }
  }

  Complaints complaints_;
  Loader loader_;
};

}  // namespace

std::optional<std::string> protocol_named_in(const fs::path& path) {
  const std::string head = head_of(path);
  if (!has_line(head, "drybus:") || !has_line(head, "protocol:")) return std::nullopt;
  std::size_t at = head.starts_with("protocol:") ? 9 : head.find("\nprotocol:") + 10;
  const std::size_t end = head.find('\n', at);
  std::string word = head.substr(at, end == std::string::npos ? end : end - at);
  word.erase(0, word.find_first_not_of(" \t"));
  return word.substr(0, word.find_first_of(" \t\r#"));
}

Reading<iec62386::Scenario> read_line_scenario(const fs::path& path, const ReadOptions& options) {
  LineReader reader{options};
  return reader.scenario(reader.loader().load(path), path);
}

Reading<iec62386::Scenario> read_line_scenario_text(std::string text, const fs::path& path,
                                                    const ReadOptions& options) {
  LineReader reader{options};
  return reader.scenario(reader.loader().take({path.string(), std::move(text)}), path);
}

namespace {
Reading<protocol::Scenario> in_any_terms(Reading<iec62386::Scenario> reading) {
  if (!reading.ok()) return reading.problems();
  return iec62386::as_any(std::move(reading.value()));
}
}  // namespace

Reading<protocol::Scenario> read_protocol_scenario(const fs::path& path, const ReadOptions& options) {
  return in_any_terms(read_line_scenario(path, options));
}

Reading<protocol::Scenario> read_protocol_scenario_text(std::string text, const fs::path& path,
                                                        const ReadOptions& options) {
  return in_any_terms(read_line_scenario_text(std::move(text), path, options));
}

}  // namespace drybus::tools
