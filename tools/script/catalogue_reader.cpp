#include "tools/script/catalogue_reader.h"

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/script/family_reader.h"
#include "tools/script/family_search.h"
#include "tools/script/keys.h"
#include "tools/script/loader.h"

namespace drybus::tools {

using model::msg_as;

namespace fs = std::filesystem;

namespace {

static_assert(keys::slips.size() + keys::faults.size() == sim::count_of<model::Mishap>,
              "is the new cause a slip or a fault?");

/// What came after catalogues had been written: one that has nothing of it reckons with nothing of it.
constexpr std::array later_causes{std::string_view{"exchanged"}, std::string_view{"was-in-setup"},
                                  std::string_view{"other-hands"}, std::string_view{"dead-load"},
                                  std::string_view{"other-power-up"}};

bool is_among(Words words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

/// "0.3%", "1 in 500": over 0 and up to one half, as bit errors are.
void read_chance(Complaints& complaints, const Node* node, double& into) {
  std::uint32_t ppb = 0;
  read_quantity_into(complaints, node, parse_bit_errors, ppb);
  into = static_cast<double>(ppb) * 1e-9;
}

void read_entry(Complaints& complaints, const Node* node, model::Catalogue::Entry& into) {
  if (node == nullptr) return;
  const Fields fields{complaints, *node, msg_as("what", "a chance"), keys::chance};
  if (node->kind != Node::Kind::map) return;
  read_chance(complaints, fields.need("chance"), into.chance);
  if (const Node* source = fields.need("source")) into.source = read_text(complaints, *source).value_or("");
}

void read_entries(Complaints& complaints, const Node* node, Words names, model::Catalogue& into) {
  if (node == nullptr) return;
  const Fields fields{complaints, *node, "causes", names};
  if (node->kind != Node::Kind::map) return;
  for (const std::string_view name : names) {
    const Node* entry = is_among(later_causes, name) ? fields.find(name) : fields.need(name);
    read_entry(complaints, entry, into.entries[*model::parse_mishap(name)]);
  }
}

model::Catalogue catalogue_from(const Node& root, Complaints& complaints) {
  model::Catalogue catalogue;
  const Fields fields{complaints, root, msg_as("what", "a catalogue"), keys::catalogue};
  check_version(fields, "drybus-catalogue", complaints);
  if (root.kind != Node::Kind::map) return catalogue;
  if (const Node* misreport = fields.need("misreport")) {
    const Fields chances{complaints, *misreport, "misreport", keys::misreport};
    model::Catalogue::Entry sure, unsure, false_alarm;
    read_entry(complaints, chances.need("sure"), sure);
    read_entry(complaints, chances.need("unsure"), unsure);
    read_entry(complaints, chances.need("false-alarm"), false_alarm);
    catalogue.misreport = sure.chance;
    catalogue.misreport_unsure = unsure.chance;
    catalogue.false_alarm = false_alarm.chance;
  }
  read_entries(complaints, fields.need("slips"), keys::slips, catalogue);
  read_entries(complaints, fields.need("faults"), keys::faults, catalogue);
  return catalogue;
}

}  // namespace

Reading<model::Catalogue> read_catalogue(const fs::path& path, const ReadOptions& options) {
  Complaints complaints;
  Loader loader{files_of(options), complaints};
  const Node* root = loader.load(path);
  if (root == nullptr) return complaints.sorted();
  model::Catalogue catalogue = catalogue_from(*root, complaints);
  if (complaints.any()) return complaints.sorted();
  return catalogue;
}

std::optional<fs::path> find_catalogue(const fs::path& folder, const ReadOptions& options) {
  for (const fs::path& families : family_folders(folder, options)) {
    const fs::path file = families.parent_path() / "catalogue.yaml";
    if (files_of(options).exists(file)) return file;
  }
  return std::nullopt;
}

}  // namespace drybus::tools
