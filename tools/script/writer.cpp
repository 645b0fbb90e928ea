#include <fmt/format.h>
#include <yaml-cpp/emitter.h>

#include <algorithm>
#include <bit>
#include <map>
#include <set>

#include "model/people/timetable.h"
#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/script/quantity.h"
#include "tools/script/scenario_writer.h"
#include "tools/script/site_reader.h"

namespace drybus::tools {

namespace fs = std::filesystem;

using model::DeviceId;
using model::PlaceId;
using model::Step;
using model::StepKind;
using model::tr;

namespace {

/// The name that finds the family again, or else the path of its file.
std::string family_name(const FamilySource& family, const LoadedScenario& loaded,
                        const WriteOptions& options) {
  fs::path folder = options.folder;
  if (folder.empty() && !loaded.sources.empty()) folder = fs::path{loaded.sources[0].path}.parent_path();
  std::error_code error;
  if (!fs::exists(family.file, error)) return family.ref;
  const auto found = find_family(family.ref, folder, options.reading);
  if (found && fs::equivalent(*found, family.file, error)) return family.ref;
  const std::string path = fs::absolute(family.file, error).lexically_normal().string();
  if (first_bad_character(path)) {
    throw Unusable{tr("{}: the name of the family's file cannot stand in a scenario; give it another", path)};
  }
  return path;
}

}  // namespace

std::string ScenarioWriter::write() {
  const model::Speaking english{nullptr};  // files are the same in every language
  out_ << YAML::BeginMap;
  key("drybus") << 1;
  key("title") << scenario_.title;
  if (!scenario_.about.empty()) write_long_text("about", scenario_.about);
  key("family") << family_;
  key("seed") << scenario_.seed;
  write_times();
  key("site");
  write_site();
  write_people();
  write_outside();
  out_ << YAML::EndMap;
  return std::string{out_.c_str()} + "\n";
}

void ScenarioWriter::write_long_text(std::string_view name, const std::string& text) {
  // What a literal block gives back as it was: lines without blanks at either end, and one line end at the
  // last.
  const bool plain = text.size() > 1 && text.ends_with('\n') && !text.ends_with("\n\n") &&
                     text.front() != ' ' && text.front() != '\n' && text.find(" \n") == std::string::npos &&
                     text.find('\t') == std::string::npos;
  key(name);
  if (plain) {
    out_ << YAML::Literal << text.substr(0, text.size() - 1);
  } else {
    out_ << YAML::DoubleQuoted << text;
  }
}

void ScenarioWriter::write_times() {
  const model::HumanTimes usual;
  const auto& [press, pause] = scenario_.times;
  if (press == usual.press && pause == usual.pause) return;
  key("people") << YAML::Flow << YAML::BeginMap;
  if (press != usual.press) key("press") << exact_duration(press);
  if (pause != usual.pause) key("pause") << exact_duration(pause);
  out_ << YAML::EndMap;
}

// --- the site ---

void ScenarioWriter::write_site() {
  out_ << YAML::BeginMap;
  if (has_places()) {
    key("places");
    write_places();
  }
  key("plates");
  write_each(site_.plates, [this](const model::PlateSpec& plate) { write_plate(plate); });
  key("modules");
  write_each(site_.modules, [this](const model::ModuleSpec& module) { write_module(module); });
  write_buses();
  out_ << YAML::EndMap;
}

bool ScenarioWriter::has_places() const {
  return site_.places.size() > 1 || site_.places[0].name != "site" || spots_[0];
}

template <class Specs, class Write>
void ScenarioWriter::write_each(const Specs& specs, Write write) {
  if (specs.empty()) out_ << YAML::Flow;
  out_ << YAML::BeginMap;
  for (const auto& spec : specs) {
    key(spec.name) << YAML::Flow << YAML::BeginMap;
    write(spec);
    out_ << YAML::EndMap;
  }
  out_ << YAML::EndMap;
}

std::vector<model::WalkLeg> ScenarioWriter::walks_amiss(const std::vector<model::WalkLeg>& given) const {
  const std::size_t places = site_.places.size();
  const auto walks = walks_between(places, given, spots_);
  std::vector<model::WalkLeg> amiss;
  for (PlaceId b = 0; b < places; ++b) {
    for (PlaceId a = 0; a < b; ++a) {
      if (walks[b * places + a] != site_.walk(b, a)) amiss.push_back({b, a, site_.walk(b, a)});
    }
  }
  return amiss;
}

std::vector<model::WalkLeg> ScenarioWriter::walks_to_write() const {
  constexpr std::size_t small_site = 16;
  std::vector<model::WalkLeg> given;
  for (auto amiss = walks_amiss(given); !amiss.empty(); amiss = walks_amiss(given)) {
    const auto shorter = [](const model::WalkLeg& x, const model::WalkLeg& y) { return x.time < y.time; };
    const auto shortest = std::min_element(amiss.begin(), amiss.end(), shorter);
    const bool small = site_.places.size() <= small_site;
    given.insert(given.end(), small ? shortest : amiss.begin(), small ? shortest + 1 : amiss.end());
  }
  return given;
}

void ScenarioWriter::write_places() {
  const auto walks = walks_to_write();
  out_ << YAML::BeginMap;
  for (PlaceId place = 0; place < site_.places.size(); ++place) {
    key(site_.places[place].name) << YAML::Flow << YAML::BeginMap;
    if (spots_[place]) write_spot(*spots_[place]);
    const auto from_here = [&](const model::WalkLeg& leg) { return leg.a == place; };
    if (std::any_of(walks.begin(), walks.end(), from_here)) {
      key("walk") << YAML::BeginMap;
      for (const model::WalkLeg& leg : walks) {
        if (from_here(leg)) key(site_.places[leg.b].name) << exact_duration(leg.time);
      }
      out_ << YAML::EndMap;
    }
    out_ << YAML::EndMap;
  }
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_spot(const model::Spot& spot) {
  key("at") << YAML::BeginSeq << exact_decimal(spot.x_m) + " m" << exact_decimal(spot.y_m) + " m"
            << YAML::EndSeq;
  if (spot.floor != 0) key("floor") << spot.floor;
}

template <class Spec>
void ScenarioWriter::write_label_and_place(const Spec& spec) {
  if (!spec.label.empty()) key("label") << spec.label;
  if (has_places()) key("place") << site_.places[spec.place].name;
}

void ScenarioWriter::write_plate(const model::PlateSpec& plate) {
  write_label_and_place(plate);
  key("switches") << YAML::BeginMap;
  key("site") << int{plate.site};
  key("zone") << int{plate.zone};
  out_ << YAML::EndMap;
  if (plate.neighbour) key("neighbour") << "yes";
  write_family_of(plate.family);
}

void ScenarioWriter::write_family_of(std::uint16_t which) {
  if (which != 0) key("family") << other_families_[which - 1u];
}

void ScenarioWriter::write_module(const model::ModuleSpec& module) {
  write_label_and_place(module);
  if (module.intended) key("intended") << model::to_string(*module.intended);
  write_scenes("intended_scenes", module.intended_scenes, model::no_scenes());
  write_memory(module);
  if (module.neighbour) key("neighbour") << "yes";
  write_family_of(module.family);
  if (module.do_not_switch) key("do_not_switch") << "yes";
  if (!module.load) return;
  key("load") << YAML::BeginMap;
  key("power") << exact_decimal(module.load->watts) + " W";
  key("dimming") << std::string{model::to_string(module.load->method)};
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_memory(const model::ModuleSpec& module) {
  const model::ModuleMemory& memory = module.memory;
  const model::Family& family = module.family == 0 ? site_.family : site_.other_families[module.family - 1u];
  model::ModuleMemory usual = model::factory_memory(family.module);
  if (memory.addressed()) {
    key("stored") << model::to_string(memory.address);
    if (memory.address.site != usual.address.site) usual.power_up = model::PowerUp::off;
  }
  if (memory.power_up != usual.power_up) key("power_up") << word(to_string(memory.power_up));
  if (memory.last_level != usual.last_level) key("last_level") << exact_percent(memory.last_level);
  write_scenes("scenes", memory.scenes, usual.scenes);
}

/// Those that are not as they usually are.
void ScenarioWriter::write_scenes(std::string_view name, const Scenes& scenes, const Scenes& usual) {
  if (scenes == usual) return;
  key(std::string{name}) << YAML::BeginMap;
  for (std::size_t i = 0; i < scenes.size(); ++i) {
    if (scenes[i] == usual[i] || scenes[i] == model::no_scene_level) continue;
    key(fmt::format("{}", i + 1)) << exact_percent(scenes[i]);
  }
  out_ << YAML::EndMap;
}

// --- people and their steps ---

void ScenarioWriter::write_people() {
  const model::Person& installer = scenario_.people.at(0);
  if (installer.place != 0) key("start") << site_.places[installer.place].name;
  key("script");
  write_script(installer.script);
  if (scenario_.people.size() == 1) return;
  key("others") << YAML::BeginMap;
  for (std::size_t i = 1; i < scenario_.people.size(); ++i) write_other(scenario_.people[i]);
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_other(const model::Person& person) {
  key(person.name);
  if (person.place == model::first_place(site_, person.script)) return write_script(person.script);
  out_ << YAML::BeginMap;
  key("start") << site_.places[person.place].name;
  key("script");
  write_script(person.script);
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_script(const std::vector<Step>& script) {
  if (script.empty()) out_ << YAML::Flow;
  out_ << YAML::BeginSeq;
  for (const Step& step : script) {
    out_ << YAML::BeginMap;
    write_step(step);
    if (step.at) key("at") << exact_duration(step.at->time_since_epoch());
    if (!step.text.empty() && step.kind != StepKind::note) key("text") << step.text.str();
    out_ << YAML::EndMap;
  }
  out_ << YAML::EndSeq;
}

void ScenarioWriter::write_step(const Step& step) {
  switch (step.kind) {
    case StepKind::press:
      return write_push("press", step, step.duration != scenario_.times.press);
    case StepKind::hold:
      return write_push("hold", step, true);
    case StepKind::wait:
      key("wait") << exact_duration(step.duration);
      return;
    case StepKind::walk:
      key("walk") << site_.places[step.place].name;
      return;
    case StepKind::switches:
      return write_switches(step);
    case StepKind::power:
      return write_power(step);
    case StepKind::fault:
      return write_fault(step.fault);
    case StepKind::see:
      key("see");
      return write_checks(step);
    case StepKind::expect:
      key("expect");
      return write_checks(step);
    case StepKind::note:
      key("note") << step.text.str();
      return;
  }
}

std::string ScenarioWriter::buttons(DeviceId device, model::Buttons set) const {
  std::string text = site_.name(device);
  if (!site_.is_plate(device)) return text + " " + site_.module_family(device).button;
  for (; set != 0; set = static_cast<model::Buttons>(set & (set - 1))) {
    text += " " + site_.plate_family(device).name_of(static_cast<model::Button>(std::countr_zero(set)));
  }
  return text;
}

void ScenarioWriter::write_push(std::string_view name, const Step& step, bool with_duration) {
  key(name) << buttons(step.device, step.buttons);
  if (with_duration) key("for") << exact_duration(step.duration);
  if (step.bounce > sim::Duration::zero()) key("bounce") << exact_duration(step.bounce);
}

void ScenarioWriter::write_switches(const Step& step) {
  key("switches") << YAML::Flow << YAML::BeginMap;
  key(site_.name(step.device)) << YAML::BeginMap;
  if (step.site) key("site") << int{*step.site};
  if (step.zone) key("zone") << int{*step.zone};
  out_ << YAML::EndMap << YAML::EndMap;
}

void ScenarioWriter::write_power(const Step& step) {
  key("power");
  if (step.device == model::no_device) {
    out_ << (step.on ? "on" : "off");
    return;
  }
  out_ << YAML::Flow << YAML::BeginMap;
  key(site_.name(step.device)) << (step.on ? "on" : "off");
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_fault(const model::Fault& fault) {
  key("fault") << YAML::Flow << YAML::BeginMap;
  switch (fault.kind) {
    case model::FaultKind::open:
      key("open") << site_.link_name(fault.link);
      break;
    case model::FaultKind::shorted:
      key("short") << site_.link_name(fault.link);
      break;
    case model::FaultKind::noisy:
      key("noisy") << site_.link_name(fault.link);
      key("bit_errors") << exact_bit_errors(fault.bit_error_ppb);
      break;
    case model::FaultKind::mend:
      key("mend") << site_.link_name(fault.link);
      break;
    case model::FaultKind::stuck:
      key("stuck") << buttons(fault.device, model::only(fault.button));
      break;
    case model::FaultKind::freed:
      key("free") << buttons(fault.device, model::only(fault.button));
      break;
    case model::FaultKind::deaf:
      key("deaf") << site_.name(fault.device);
      key("telegrams") << fault.count;
      break;
    case model::FaultKind::dead_load:
      key("dead_load") << site_.name(fault.device);
      break;
    case model::FaultKind::new_load:
      key("new_load") << site_.name(fault.device);
      break;
  }
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_checks(const Step& step) {
  out_ << YAML::Flow << YAML::BeginMap;
  for (const std::uint32_t index : step.checks) write_check(scenario_.checks[index]);
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_check(const model::Check& check) {
  if (check.fact != model::Fact::findings) {
    key(site_.name(check.device) + "." + word(to_string(check.fact))) << check.wanted.at(0);
    return;
  }
  key("findings");
  if (check.wanted.empty()) {
    out_ << "none";
    return;
  }
  out_ << YAML::BeginSeq;
  for (const std::string& id : check.wanted) out_ << id;
  out_ << YAML::EndSeq;
}

std::string ScenarioWriter::write_one(const Step& step) {
  const model::Speaking english{nullptr};
  out_ << YAML::Flow << YAML::BeginMap;
  write_step(step);
  out_ << YAML::EndMap;
  return out_.c_str();
}

std::string write_step(const LoadedScenario& loaded, const Step& step) {
  return ScenarioWriter{loaded, {}, {}}.write_one(step);
}

std::string write_scenario(const LoadedScenario& loaded, const WriteOptions& options) {
  std::vector<std::string> others;
  for (const FamilySource& other : loaded.other_families)
    others.push_back(family_name(other, loaded, options));
  const FamilySource own{loaded.family_ref, loaded.family_file};
  return ScenarioWriter{loaded, family_name(own, loaded, options), std::move(others)}.write();
}

}  // namespace drybus::tools
