#include "tools/script/reader.h"

#include <algorithm>
#include <array>

#include "model/call/told.h"
#include "model/run/driver.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/utf8.h"
#include "tools/script/family_reader.h"
#include "tools/script/family_search.h"
#include "tools/script/keys.h"
#include "tools/script/lesson.h"
#include "tools/script/lesson_reader.h"
#include "tools/script/outside_reader.h"
#include "tools/script/report_parts.h"
#include "tools/script/site_reader.h"
#include "tools/script/step_reader.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

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
    auto loaded = story(root, path);
    if (loaded) loaded->sources = complaints_.take_sources();
    return loaded;
  }

  std::optional<LoadedLesson> lesson(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, msg_as("what", "a lesson"), keys::lesson};
    check_version(fields, "drybus-lesson", complaints_);
    const Node* told = root->kind == Node::Kind::map ? fields.need("scenario") : nullptr;
    if (told == nullptr) return std::nullopt;
    LoadedLesson loaded;
    loaded.story_file = path;
    if (told->kind == Node::Kind::word) {
      loaded.story_file = (loader_.folder_of(told->place) / told->text).lexically_normal();
      told = loader_.load(loaded.story_file, &told->place);
    }
    auto scenario = story(told, loaded.story_file);
    if (!scenario) return std::nullopt;
    loaded.story = std::move(*scenario);
    loaded.lesson.scenario = loaded.story.scenario;
    std::vector<Place> places;
    read_questions(fields, loader_, complaints_, loaded.lesson, places);
    if (!complaints_.any()) stand_everywhere(loaded, places);
    if (complaints_.any()) return std::nullopt;
    loaded.story.sources = complaints_.take_sources();
    return loaded;
  }

  std::optional<LoadedReport> report(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, msg_as("what", "a report"), keys::report};
    check_version(fields, "drybus-report", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;

    if (refuse_unfinished(fields)) return std::nullopt;
    LoadedReport loaded;
    ToldReport told;
    loaded.told = told_by(fields, path, &told);
    if (const Node* capture = fields.find("capture")) {
      if (const auto name = read_text(complaints_, *capture))
        loaded.capture = loader_.folder_of(capture->place) / *name;
    }
    if (const Node* part = fields.find("capture_in_part"))
      loaded.call.capture_in_part = read_yes_no(complaints_, *part).value_or(false);
    if (complaints_.any()) return std::nullopt;
    name_sources(loaded.told);
    take_told(loaded, told);
    if (complaints_.any()) return std::nullopt;
    loaded.report = with_answers(loaded.call, told.answers);
    if (!told.answers.empty()) check_bounds_of(loaded.report, fields);
    if (complaints_.any()) return std::nullopt;
    loaded.answers = std::move(told.answers);
    loaded.told.sources = complaints_.take_sources();
    loaded.told.scenario = loaded.report.believed;
    return loaded;
  }

  std::optional<LoadedSite> site(const Node* root) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, msg_as("what", "a site"), keys::site_file};
    check_version(fields, "drybus-site", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;
    LoadedSite loaded;
    if (const Node* about = fields.find("about")) loaded.about = read_text(complaints_, *about).value_or("");
    FamilyUse family = find_family_of(fields, nullptr);
    ReadSite read = site_from(
        fields, family.family ? &*family.family : nullptr,
        [this](const Node& node) { return load_family(node); }, complaints_, true);
    if (const Node* record = fields.find("record")) check_record(*record);
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
  std::optional<LoadedScenario> story(const Node* root, const fs::path& path) {
    if (root == nullptr) return std::nullopt;
    const Fields fields{complaints_, *root, msg_as("what", "a scenario"), keys::scenario};
    check_version(fields, "drybus", complaints_);
    if (root->kind != Node::Kind::map) return std::nullopt;

    LoadedScenario loaded = told_by(fields, path, nullptr);
    const Node* outside = fields.find("outside");
    if (outside != nullptr && !complaints_.any()) read_outside(*outside, loaded.scenario, complaints_);
    if (complaints_.any()) return std::nullopt;
    name_sources(loaded);
    return loaded;
  }

  /// Plays the story up to each question, and holds what counts as right against what is so there.
  void stand_everywhere(LoadedLesson& loaded, const std::vector<Place>& places) {
    const model::Lesson& lesson = loaded.lesson;
    try {
      loaded.standings = standings_of(lesson);
      for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
        if (i > 0 && loaded.standings[i].world.now < loaded.standings[i - 1].world.now)
          complaints_.add(places[i], tr("this question comes before the one above it"),
                          tr("questions in the order of the story"));
        if (const auto trouble = trouble_with(lesson, lesson.questions[i], loaded.standings[i]))
          complaints_.add(places[i], *trouble);
      }
    } catch (const model::UsedUp& used_up) {
      complaints_.add(places.front(), tr("the story never gets to its questions: {}", used_up.what()));
    }
  }

  /// What was done to the site: told in words, and read by nobody but people.
  void check_record(const Node& record) {
    if (!is_kind(complaints_, record, Node::Kind::list, "record")) return;
    static constexpr std::array<std::string_view, 6> kinds = {"handed over", "swapped", "added",
                                                              "removed",     "moved",   "changed"};
    for (const Node* item : record.items) {
      const Fields entry{complaints_, *item, msg_as("what", "an entry of the record"), keys::record_entry};
      if (const Node* what = entry.need("what"))
        read_choice(complaints_, *what, msg_as("what", "kind of entry"), kinds);
      for (const char* key : {"on", "by", "device", "text", "lines"}) {
        if (const Node* text = entry.find(key)) read_line(complaints_, *text);
      }
    }
  }

  /// What a report tells beside its scenario.
  struct ToldReport {
    ToldSite site;
    ToldSteps steps;
    std::vector<StepReader::SeenNow> seen_now;
    std::vector<StepReader::SeenNow> complaint;
    std::vector<StepReader::Never> never;
    std::vector<StepReader::Never> never_complaint;
    std::vector<model::CallAnswer> answers;
  };

  /// A call whose report is still being asked for.
  bool refuse_unfinished(const Fields& fields) {
    const Node* intake = fields.find("intake");
    if (intake == nullptr) return false;
    complaints_.add(intake->place, tr("this call has not been told to its end"),
                    tr("'drybus call' with this file goes on"));
    return true;
  }

  void take_told(LoadedReport& loaded, const ToldReport& told) {
    model::Report& report = loaded.call;
    ReportParts parts = parts_of(loaded.told.scenario, told.steps, told.seen_now, complaints_);
    if (complaints_.any()) return;
    report.believed = std::move(loaded.told.scenario);
    report.believed.people.front().script = std::move(parts.script);
    report.believed.checks.clear();
    report.seen = std::move(parts.seen);
    report.loose = std::move(parts.loose);
    report.unsure_steps = std::move(parts.unsure_steps);
    report.unread = told.site.unread;
    remember_addresses(told.site.told_short, report.believed);
    for (const model::SwitchReading& reading : told.steps.read) take_in(reading, report);
    for (const StepReader::SeenNow& each : told.complaint) {
      model::Seen seen = seen_now(each);
      seen.believed = true;
      add_complaint(report, seen);
    }
    for (const auto& [all, believed] :
         {std::pair{&told.never, false}, std::pair{&told.never_complaint, true}}) {
      for (const StepReader::Never& each : *all) {
        add_never(report, {each.module, each.fact, believed, each.place.mark});
        if (report.seen.size() > max_seen)
          return complaints_.add(each.place, tr("a report tells of at most {} observations", max_seen));
      }
    }
  }

  /// What was told and answered, all together.
  void check_bounds_of(const model::Report& report, const Fields& fields) {
    if (report.believed.people.front().script.size() <= max_told_steps && report.seen.size() <= max_seen)
      return;
    complaints_.add(fields.find("answers")->place,
                    tr("with its answers a report tells of at most {} steps and {} observations",
                       max_told_steps, max_seen));
  }

  /// A module of which nothing is said but where it belongs has its address already, unless the story gives it one.
  static void remember_addresses(const std::vector<model::DeviceId>& told_short, model::Scenario& believed) {
    const auto& script = believed.people.front().script;
    for (const model::DeviceId device : told_short) {
      model::ModuleSpec& module = believed.site.modules[believed.site.module_index(device)];
      const bool addressed = std::any_of(script.begin(), script.end(), [device](const model::Step& step) {
        return step.kind == model::StepKind::hold && step.device == device;
      });
      if (addressed || !module.intended) continue;
      module.memory.address = *module.intended;
      // As if it had been assigned: a changed site number turned the power-up mode off.
      if (module.intended->site != believed.site.family.module.factory_site)
        module.memory.power_up = model::PowerUp::off;
    }
  }

  void read_told(const Fields& fields, StepReader& steps, model::Scenario& scenario, ToldReport& told) {
    if (const Node* seen = fields.find("seen")) told.seen_now = steps.read_seen(*seen);
    if (const Node* never = fields.find("never")) told.never = steps.read_never(*never);
    if (const Node* complaint = fields.find("complaint")) {
      const Node* never = complaint->find("never");
      if (never != nullptr && complaint->entries.size() == 1) {
        told.never_complaint = steps.read_never(*never);
      } else {
        told.complaint = steps.read_seen(*complaint);
      }
    }
    if (const Node* answers = fields.find("answers"))
      told.answers = read_answers(*answers, steps, scenario, told.steps, complaints_);
  }

  /// What scenarios and reports have in common.
  LoadedScenario told_by(const Fields& fields, const fs::path& path, ToldReport* told) {
    LoadedScenario loaded;
    model::Scenario& scenario = loaded.scenario;
    read_head(fields, path, scenario);
    const Node* as_built = told != nullptr ? fields.find("as built") : nullptr;
    if (as_built != nullptr && fields.find("site") != nullptr)
      complaints_.add(as_built->place, tr("a report has one site"), tr("either 'site' or 'as built'"));
    const std::optional<Fields> site = find_site(as_built != nullptr ? as_built : fields.need("site"));
    FamilyUse family = find_family_of(fields, site ? site->find("family") : nullptr);
    const model::Family* known = family.family ? &*family.family : nullptr;
    if (site) {
      ReadSite read = site_from(
          *site, known, [this](const Node& node) { return load_family(node); }, complaints_, false,
          told != nullptr ? &told->site : nullptr);
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
        complaints_.add(fields.map().place, tr("the key 'family' is missing"),
                        tr("the name of a family, such as wired-keypad"));
      }
      return {};
    }
    // cppcheck-suppress nullPointerRedundantCheck // one of the two is there: see above
    FamilyUse use = load_family(own != nullptr ? *own : *of_site);
    if (own != nullptr && of_site != nullptr && use.family) {
      const auto other = find_family(of_site->text, loader_.folder_of(of_site->place), options_);
      if (other != use.file) {
        complaints_.add(own->place, tr("the site is of another family, '{}'", of_site->text));
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
        complaints_.add(node.place, tr("unknown family '{}'", *ref),
                        tr("a file families/NAME.yaml beside this one or above it, or in $DRYBUS_FAMILIES"));
      } else {
        complain_of_unknown(complaints_, node.place, msg_as("what", "family"), *ref,
                            std::span<const std::string>{known});
      }
      return {};
    }
    const Node* root = loader_.load(*file, &node.place);
    if (root == nullptr) return {};
    return {*ref, *file, family_from(*root, file->stem().string(), complaints_)};
  }

  // --- people ---

  void read_people(const Fields& fields, const model::Family* family, model::Scenario& scenario,
                   ToldReport* told) {
    const SiteIndex index{scenario.site, complaints_, told != nullptr};
    StepReader steps{index, family, loader_, complaints_, scenario, told != nullptr ? &told->steps : nullptr};
    model::Person installer{"installer", 0, {}};
    if (const Node* start = fields.find("start")) installer.place = read_place(*start, index);
    // Who calls need not have done anything: what they see is a call, too.
    if (const Node* script = told != nullptr ? fields.find("script") : fields.need("script"))
      steps.read(*script, installer);
    scenario.people.push_back(std::move(installer));
    if (told != nullptr) read_told(fields, steps, scenario, *told);
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
        complaints_.add(entry.key->place, tr("the installer's steps are the 'script'"), tr("another name"));
        continue;
      }
      if (!read_line(complaints_, *entry.key)) continue;
      model::Person person{entry.key->text, model::no_place, {}};
      if (entry.value->kind == Node::Kind::list) {
        steps.read(*entry.value, person);
      } else {
        const Fields fields{complaints_, *entry.value, msg_as("what", "a person"), keys::other_person};
        if (const Node* start = fields.find("start")) person.place = read_place(*start, index);
        if (const Node* script = fields.need("script")) steps.read(*script, person);
      }
      scenario.people.push_back(std::move(person));
    }
  }

  const ReadOptions& options_;
  Complaints complaints_;
  Loader loader_;
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

Reading<LoadedLesson> read_lesson(const fs::path& path, const ReadOptions& options) {
  DocumentReader reader{options};
  return outcome(reader.lesson(reader.loader().load(path), path), reader.complaints());
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
