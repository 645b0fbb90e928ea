#include "tools/script/reader.h"

#include <fmt/format.h>

#include "tools/base/nearest.h"
#include "tools/base/utf8.h"
#include "tools/script/family_reader.h"
#include "tools/script/family_search.h"
#include "tools/script/keys.h"
#include "tools/script/report_parts.h"
#include "tools/script/site_reader.h"
#include "tools/script/step_reader.h"

namespace drybus::tools {

namespace fs = std::filesystem;

namespace {

/// Reads what belongs together: a file, its site, its family and what it includes.
class DocumentReader {
 public:
  explicit DocumentReader(const ReadOptions& options)
      : options_(options), loader_(files_of(options), complaints_) {}

  [[nodiscard]] Loader& loader() { return loader_; }
  [[nodiscard]] Complaints& complaints() { return complaints_; }

  std::optional<LoadedScenario> scenario(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, "a scenario", keys::scenario};
    check_version(fields, "drybus", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;

    LoadedScenario loaded = told_by(fields, path, nullptr);
    if (complaints_.any()) return std::nullopt;
    name_sources(loaded);
    loaded.sources = complaints_.take_sources();
    return loaded;
  }

  std::optional<LoadedReport> report(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, "a report", keys::report};
    check_version(fields, "drybus-report", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;

    LoadedReport loaded;
    ToldSteps told;
    loaded.told = told_by(fields, path, &told);
    if (const Node* capture = fields.find("capture")) {
      if (const auto name = read_text(complaints_, *capture))
        loaded.capture = loader_.folder_of(capture->place) / *name;
    }
    if (complaints_.any()) return std::nullopt;
    name_sources(loaded.told);
    ReportParts parts = parts_of(loaded.told.scenario, told, seen_now_, complaints_);
    if (complaints_.any()) return std::nullopt;
    loaded.told.sources = complaints_.take_sources();
    loaded.told.scenario.people.front().script = std::move(parts.script);
    loaded.told.scenario.checks.clear();
    loaded.report.seen = std::move(parts.seen);
    loaded.report.loose = std::move(parts.loose);
    loaded.report.believed = loaded.told.scenario;
    return loaded;
  }

  std::optional<LoadedSite> site(const Node* root) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, "a site", keys::site_file};
    check_version(fields, "drybus-site", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;
    LoadedSite loaded;
    if (const Node* about = fields.find("about")) loaded.about = read_text(complaints_, *about).value_or("");
    FamilyUse family = find_family_of(fields, nullptr);
    ReadSite read = site_from(
        fields, family.family ? &*family.family : nullptr,
        [this](const Node& node) { return load_family(node); }, complaints_);
    if (complaints_.any()) return std::nullopt;
    loaded.site = std::move(read.site);
    loaded.other_families = std::move(read.other_families);
    loaded.spots = std::move(read.spots);
    loaded.family_ref = std::move(family.ref);
    loaded.family_file = std::move(family.file);
    loaded.sources = complaints_.take_sources();
    return loaded;
  }

  std::optional<LoadedFamily> family(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    auto family = family_from(*root, path.stem().string(), complaints_);
    if (!family || complaints_.any()) return std::nullopt;
    return LoadedFamily{std::move(*family), complaints_.take_sources()};
  }

 private:
  /// What scenarios and reports have in common.
  LoadedScenario told_by(const Fields& fields, const fs::path& path, ToldSteps* told) {
    LoadedScenario loaded;
    model::Scenario& scenario = loaded.scenario;
    read_head(fields, path, scenario);
    const std::optional<Fields> site = find_site(fields.need("site"));
    FamilyUse family = find_family_of(fields, site ? site->find("family") : nullptr);
    const model::Family* known = family.family ? &*family.family : nullptr;
    if (site) {
      ReadSite read =
          site_from(*site, known, [this](const Node& node) { return load_family(node); }, complaints_);
      scenario.site = std::move(read.site);
      loaded.other_families = std::move(read.other_families);
      loaded.spots = std::move(read.spots);
      read_people(fields, known, scenario, told);
    }
    loaded.family_ref = std::move(family.ref);
    loaded.family_file = std::move(family.file);
    return loaded;
  }

  void name_sources(LoadedScenario& loaded) {
    for (const SourceFile& source : complaints_.sources()) loaded.scenario.files.push_back(source.path);
  }

  void read_head(const Fields& fields, const fs::path& path, model::Scenario& scenario) {
    scenario.title = printable(harmless(path.stem().string()));
    if (const Node* title = fields.find("title"))
      scenario.title = read_line(complaints_, *title).value_or("");
    if (const Node* about = fields.find("about"))
      scenario.about = read_text(complaints_, *about).value_or("");
    read_whole_into(complaints_, fields.find("seed"), scenario.seed);
    if (const Node* people = fields.find("people")) {
      const Fields times{complaints_, *people, "people", keys::people};
      read_some_time_into(complaints_, times.find("press"), scenario.times.press);
      read_quantity_into(complaints_, times.find("pause"), parse_duration, scenario.times.pause);
    }
  }

  /// The mapping that holds the site: within the scenario, or in a file of its own, which may name the
  /// family.
  std::optional<Fields> find_site(const Node* node) {
    if (node == nullptr) return std::nullopt;
    if (node->kind != Node::Kind::word)
      return std::make_optional<Fields>(complaints_, *node, "a site", keys::site);
    const fs::path file = (loader_.folder_of(node->place) / node->text).lexically_normal();
    const Node* root = loader_.load(file, &node->place);
    if (root == nullptr) return std::nullopt;
    auto fields = std::make_optional<Fields>(complaints_, *root, "a site", keys::site_file);
    check_version(*fields, "drybus-site", complaints_);
    return fields;
  }

  /// The scenario's family, or its site file's; where both name one it has to be the same.
  FamilyUse find_family_of(const Fields& fields, const Node* of_site) {
    const Node* own = fields.find("family");
    if (own == nullptr && of_site == nullptr) {
      if (!fields.misspelt("family")) {
        complaints_.add(fields.map().place, "the key 'family' is missing",
                        "the name of a family, such as wired-keypad");
      }
      return {};
    }
    // cppcheck-suppress nullPointerRedundantCheck // one of the two is there: see above
    FamilyUse use = load_family(own != nullptr ? *own : *of_site);
    if (own != nullptr && of_site != nullptr && use.family) {
      const auto other = find_family(of_site->text, loader_.folder_of(of_site->place), options_);
      if (other != use.file) {
        complaints_.add(own->place, fmt::format("the site is of another family, '{}'", of_site->text));
      }
    }
    return use;
  }

  FamilyUse load_family(const Node& node) {
    const auto ref = read_text(complaints_, node);
    if (!ref) return {};
    const fs::path folder = loader_.folder_of(node.place);
    const auto file = find_family(*ref, folder, options_);
    if (!file) {
      const auto known = known_families(folder, options_);
      if (known.empty()) {
        complaints_.add(node.place, fmt::format("unknown family '{}'", *ref),
                        "a file families/NAME.yaml beside this one or above it, or in $DRYBUS_FAMILIES");
      } else {
        complain_of_unknown(complaints_, node.place, "family", *ref, std::span<const std::string>{known});
      }
      return {};
    }
    const Node* root = loader_.load(*file, &node.place);
    if (root == nullptr) return {};
    return {*ref, *file, family_from(*root, file->stem().string(), complaints_)};
  }

  // --- people ---

  void read_people(const Fields& fields, const model::Family* family, model::Scenario& scenario,
                   ToldSteps* told) {
    const SiteIndex index{scenario.site, complaints_};
    StepReader steps{index, family, loader_, complaints_, scenario, told};
    model::Person installer{"installer", 0, {}};
    if (const Node* start = fields.find("start")) installer.place = read_place(*start, index);
    if (const Node* script = fields.need("script")) steps.read(*script, installer);
    scenario.people.push_back(std::move(installer));
    if (const Node* seen = told != nullptr ? fields.find("seen") : nullptr)
      seen_now_ = steps.read_seen(*seen);
    if (const Node* others = fields.find("others")) read_others(*others, index, steps, scenario);
  }

  model::PlaceId read_place(const Node& node, const SiteIndex& index) {
    const auto name = read_text(complaints_, node);
    return name ? index.place(node.place, *name).value_or(model::PlaceId{0}) : model::PlaceId{0};
  }

  void read_others(const Node& node, const SiteIndex& index, StepReader& steps, model::Scenario& scenario) {
    if (!is_kind(complaints_, node, Node::Kind::map, "others")) return;
    for (const Node::Entry& entry : node.entries) {
      if (entry.key->text == "installer" || entry.key->text.empty()) {
        complaints_.add(entry.key->place, "the installer's steps are the 'script'", "another name");
        continue;
      }
      if (!read_line(complaints_, *entry.key)) continue;
      model::Person person{entry.key->text, model::no_place, {}};
      if (entry.value->kind == Node::Kind::list) {
        steps.read(*entry.value, person);
      } else {
        const Fields fields{complaints_, *entry.value, "a person", keys::other_person};
        if (const Node* start = fields.find("start")) person.place = read_place(*start, index);
        if (const Node* script = fields.need("script")) steps.read(*script, person);
      }
      scenario.people.push_back(std::move(person));
    }
  }

  const ReadOptions& options_;
  Complaints complaints_;
  Loader loader_;
  std::vector<StepReader::SeenNow> seen_now_;
};

template <class Value>
Reading<Value> outcome(std::optional<Value> value, const Complaints& complaints) {
  if (value) return std::move(*value);
  return complaints.sorted();
}

}  // namespace

Reading<LoadedScenario> read_scenario(const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.scenario(reader.loader().load(path), path), reader.complaints());
}

Reading<LoadedScenario> read_scenario_text(std::string text, const fs::path& path,
                                           const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.scenario(reader.loader().take({path.string(), std::move(text)}), path),
                 reader.complaints());
}

Reading<LoadedReport> read_report(const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.report(reader.loader().load(path), path), reader.complaints());
}

Reading<LoadedReport> read_report_text(std::string text, const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.report(reader.loader().take({path.string(), std::move(text)}), path),
                 reader.complaints());
}

Reading<LoadedSite> read_site(const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.site(reader.loader().load(path)), reader.complaints());
}

Reading<LoadedFamily> read_family(const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.family(reader.loader().load(path), path), reader.complaints());
}

Reading<LoadedFamily> read_family_text(std::string text, const fs::path& path) {
  const ReadOptions options{{}, nullptr};
  DocumentReader reader{options};
  return outcome(reader.family(reader.loader().take({path.string(), std::move(text)}), path),
                 reader.complaints());
}

}  // namespace drybus::tools
