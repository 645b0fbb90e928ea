#include "tools/observed/known.h"

#include <fmt/format.h>

#include <array>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/script/family_reader.h"
#include "tools/script/fields.h"
#include "tools/script/loader.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace {

constexpr std::array<std::string_view, 3> file_keys = {"drybus-known", "about", "known"};
constexpr std::array<std::string_view, 7> entry_keys = {"reason", "scenario", "device", "was",
                                                        "is",     "from",     "to"};

std::string text_of(Complaints& complaints, const Node* node) {
  return node == nullptr ? "" : read_line(complaints, *node).value_or("");
}

void read_time(Complaints& complaints, const Node* node, std::optional<sim::Instant>& into) {
  if (node == nullptr) return;
  if (const auto after = read_quantity(complaints, *node, parse_duration)) into = sim::start_of_run + *after;
}

std::optional<KnownDifference> entry_from(Complaints& complaints, const Node& node,
                                          const std::filesystem::path& path) {
  const Fields fields{complaints, node, msg_as("what", "a known difference"), entry_keys};
  if (node.kind != Node::Kind::map) return std::nullopt;
  KnownDifference known;
  const Node* reason = fields.need("reason");
  known.reason = text_of(complaints, reason);
  if (reason != nullptr && known.reason.empty())
    complaints.add(reason->place, tr("a known difference has a reason"), tr("why it is as it should be"));
  known.scenario = text_of(complaints, fields.find("scenario"));
  known.device = text_of(complaints, fields.find("device"));
  known.was = text_of(complaints, fields.find("was"));
  known.is = text_of(complaints, fields.find("is"));
  read_time(complaints, fields.find("from"), known.from);
  read_time(complaints, fields.find("to"), known.to);
  known.place = fmt::format("{}:{}", path.string(), node.place.mark.line);
  return known;
}

bool holds(const std::optional<Seen>& seen, const std::string& words) {
  return words.empty() || (seen && seen->what.find(words) != std::string::npos);
}

bool is_of(const KnownDifference& known, const std::string& scenario, const Difference& difference) {
  const bool here =
      known.scenario.empty() || scenario == known.scenario || scenario.ends_with("/" + known.scenario);
  return here && (known.device.empty() || known.device == difference.either().device) &&
         holds(difference.was, known.was) && holds(difference.is, known.is) &&
         (!known.from || difference.at() >= *known.from) && (!known.to || difference.at() <= *known.to);
}

}  // namespace

std::vector<KnownDifference> read_known(const std::filesystem::path& path) {
  Complaints complaints;
  const DiskFiles files;
  Loader loader{files, complaints};
  std::vector<KnownDifference> all;
  if (const Node* root = loader.load(path)) {
    const Fields fields{complaints, *root, msg_as("what", "a list of known differences"), file_keys};
    check_version(fields, "drybus-known", complaints);
    const Node* list = root->kind == Node::Kind::map ? fields.need("known") : nullptr;
    if (list != nullptr && is_kind(complaints, *list, Node::Kind::list, "known")) {
      for (const Node* item : list->items) {
        if (auto entry = entry_from(complaints, *item, path)) all.push_back(std::move(*entry));
      }
    }
  }
  if (complaints.any()) throw Unusable{to_text(complaints.sorted())};
  return all;
}

std::vector<bool> mark_known(std::span<const KnownDifference> known, const std::string& scenario,
                             std::vector<Difference>& differences) {
  std::vector<bool> met(known.size(), false);
  for (Difference& difference : differences) {
    for (std::size_t i = 0; i < known.size(); ++i) {
      if (!is_of(known[i], scenario, difference)) continue;
      met[i] = true;
      if (difference.known.empty()) difference.known = known[i].reason;
    }
  }
  return met;
}

}  // namespace drybus::tools
