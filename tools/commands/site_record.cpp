#include "tools/commands/site_record.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <map>

#include "model/planning/loads.h"
#include "model/words/words.h"
#include "tools/script/quantity.h"
#include "tools/script/site_wishes.h"

namespace drybus::tools {

using model::tr;

namespace {

YAML::Node flow(YAML::Node node) {
  node.SetStyle(YAML::EmitterStyle::Flow);
  return node;
}

/// What plan was asked for stays asked for.
void add_wishes(const model::SiteWishes& wishes, const model::Site& site, YAML::Node modules) {
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    YAML::Node module = modules[site.modules[i].name];
    if (site.modules[i].do_not_switch) module["do_not_switch"] = "yes";
    if (i >= wishes.plates.size() || wishes.plates[i].empty()) continue;
    YAML::Node plates = flow(YAML::Node{YAML::NodeType::Sequence});
    for (const model::DeviceId plate : wishes.plates[i]) plates.push_back(site.name(plate));
    module["plate"] = plates;
  }
}

YAML::Node entry_of(const HandoverReport& report, const RoundAnswers& answers, const Signature& signature) {
  YAML::Node entry;
  entry["what"] = "handed over";
  if (!signature.on.empty()) entry["on"] = signature.on;
  if (!signature.by.empty()) entry["by"] = signature.by;
  std::size_t ticked = 0;
  YAML::Node missing{YAML::NodeType::Sequence};
  for (const HandoverLine& line : report.lines) {
    const auto answer = answers.by_number.find(line.number);
    if (line.number == 0 || answer == answers.by_number.end()) continue;
    if (answer->second.ticked) {
      ++ticked;
      continue;
    }
    for (const auto& [check, what] : answer->second.otherwise) {
      missing.push_back(fmt::format("line {}: {} {}", line.number,
                                    report.built.site.name(report.round.trial.scenario.checks[check].device),
                                    what));
    }
  }
  entry["lines"] = fmt::format("{} of {}", ticked, answers.lines);
  if (missing.size() > 0) entry["missing"] = missing;
  return entry;
}

YAML::Node entries_of(const LoadedSite& loaded) {
  const YAML::Node root = YAML::Load(loaded.sources.front().text);
  const YAML::Node record = root["record"];
  return record ? YAML::Clone(record) : YAML::Node{YAML::NodeType::Sequence};
}

}  // namespace

std::string site_record(const HandoverReport& report, const RoundAnswers& answers, const Signature& signature,
                        const LoadedScenario& round, const WriteOptions& options) {
  const model::Speaking english{nullptr};  // a record is the same whoever writes it
  const YAML::Node written = YAML::Load(write_scenario(round, options));
  YAML::Node site = written["site"];
  add_wishes(report.plan.wishes, report.built.site, site["modules"]);
  YAML::Node record = entries_of(report.plan.loaded);
  record.push_back(entry_of(report, answers, signature));
  YAML::Emitter out;
  out << YAML::BeginMap << YAML::Key << "drybus-site" << YAML::Value << 1;
  if (!report.plan.loaded.about.empty())
    out << YAML::Key << "about" << YAML::Value << YAML::Literal << report.plan.loaded.about;
  out << YAML::Key << "family" << YAML::Value << written["family"];
  for (const char* key : {"places", "plates", "modules", "bus"}) {
    if (site[key]) out << YAML::Key << key << YAML::Value << site[key];
  }
  out << YAML::Key << "record" << YAML::Value << record << YAML::EndMap;
  return std::string{out.c_str()} + "\n";
}

namespace {

class Comparison {
 public:
  Comparison(const LoadedSite& before, const LoadedSite& after) : before_(before), after_(after) {}

  std::string told() {
    compare_devices();
    tell_swaps();
    for (const auto& [name, where] : gone_) tell(tr("removed: {}, {}", name, where));
    for (const auto& [name, where] : come_) tell(tr("added: {}, {}", name, where));
    tell_entries();
    return text_;
  }

 private:
  void tell(const std::string& line) { text_ += line + "\n"; }

  static std::string where(const model::Site& site, model::DeviceId id) {
    const std::string place = site.places[site.place(id)].name;
    if (site.is_plate(id))
      return tr("a plate in {} at {}/{}", place, site.plates[id].site, site.plates[id].zone);
    return tr("a module in {} with {}", place, address_of(site.modules[site.module_index(id)]));
  }

  static std::string address_of(const model::ModuleSpec& module) {
    if (module.intended) return to_string(*module.intended);
    return module.memory.addressed() ? to_string(module.memory.address) : tr("no address");
  }

  void compare_devices() {
    for (std::size_t i = 0; i < before_.site.device_count(); ++i) {
      const auto id = static_cast<model::DeviceId>(i);
      const std::string& name = before_.site.name(id);
      const auto now = after_.site.find_device(name);
      if (!now || after_.site.is_plate(*now) != before_.site.is_plate(id)) {
        gone_.emplace(name, where(before_.site, id));
      } else {
        compare(name, id, *now);
      }
    }
    for (std::size_t i = 0; i < after_.site.device_count(); ++i) {
      const auto id = static_cast<model::DeviceId>(i);
      const auto then = before_.site.find_device(after_.site.name(id));
      if (!then || before_.site.is_plate(*then) != after_.site.is_plate(id))
        come_.emplace(after_.site.name(id), where(after_.site, id));
    }
  }

  void compare(const std::string& name, model::DeviceId then, model::DeviceId now) {
    const model::Site &old = before_.site, &site = after_.site;
    const std::string from = old.places[old.place(then)].name, to = site.places[site.place(now)].name;
    if (from != to) tell(tr("moved: {} from {} to {}", name, from, to));
    if (old.title(then) != site.title(now))
      tell(tr("renamed: {} from '{}' to '{}'", name, old.title(then), site.title(now)));
    if (old.family_of(then).name != site.family_of(now).name)
      tell(tr("family: {} from {} to {}", name, old.family_of(then).name, site.family_of(now).name));
    if (old.is_plate(then)) {
      const model::PlateSpec &a = old.plates[then], &b = site.plates[now];
      if (a.site != b.site || a.zone != b.zone)
        tell(tr("switches: {} from {}/{} to {}/{}", name, a.site, a.zone, b.site, b.zone));
      return;
    }
    const model::ModuleSpec &a = old.modules[old.module_index(then)],
                            &b = site.modules[site.module_index(now)];
    if (address_of(a) != address_of(b))
      tell(tr("address: {} from {} to {}", name, address_of(a), address_of(b)));
    if (load_of(a) != load_of(b)) tell(tr("load: {} from {} to {}", name, load_of(a), load_of(b)));
    if (a.do_not_switch != b.do_not_switch)
      tell(b.do_not_switch ? tr("not to be switched: {} from now on", name)
                           : tr("not to be switched: {} no longer", name));
    for (std::size_t i = 0; i < model::max_scenes; ++i) {
      const std::string was = scene_of(a, i), is = scene_of(b, i);
      if (was != is) tell(tr("scene {}: {} from {} to {}", i + 1, name, was, is));
    }
  }

  static std::string scene_of(const model::ModuleSpec& module, std::size_t scene) {
    const model::Level level = module.intended_scenes[scene];
    return level == model::no_scene_level ? tr("none wanted") : exact_percent(level);
  }

  static std::string load_of(const model::ModuleSpec& module) {
    if (!module.load) return tr("none said");
    return fmt::format("{} W, {}", model::with_decimal_mark(exact_decimal(module.load->watts)),
                       model::spoken(module.load->method));
  }

  void tell_swaps() {
    for (auto gone = gone_.begin(); gone != gone_.end();) {
      const auto come = std::find_if(come_.begin(), come_.end(),
                                     [&](const auto& each) { return each.second == gone->second; });
      if (come == come_.end()) {
        ++gone;
        continue;
      }
      tell(tr("swapped: {} for {}, {}", gone->first, come->first, gone->second));
      come_.erase(come);
      gone = gone_.erase(gone);
    }
  }

  void tell_entries() {
    const YAML::Node then = entries_of(before_), now = entries_of(after_);
    for (std::size_t i = then.size(); i < now.size(); ++i) {
      std::vector<std::string> parts;
      for (const char* key : {"what", "device", "on", "by", "lines", "text"}) {
        if (now[i][key] && now[i][key].IsScalar()) parts.push_back(now[i][key].as<std::string>());
      }
      text_ += tr("entered: {}\n", fmt::format("{}", fmt::join(parts, ", ")));
    }
  }

  const LoadedSite& before_;
  const LoadedSite& after_;
  std::map<std::string, std::string> gone_, come_;
  std::string text_;
};

}  // namespace

std::string site_changes(const LoadedSite& before, const LoadedSite& after) {
  return Comparison{before, after}.told();
}

}  // namespace drybus::tools
