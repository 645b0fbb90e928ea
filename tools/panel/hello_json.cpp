#include <fmt/format.h>

#include <bit>
#include <filesystem>
#include <set>

#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/request.h"
#include "tools/panel/state_json.h"

namespace drybus::tools {

namespace json = boost::json;
using model::tr;
using model::tr_as;

using model::DeviceId;

namespace {

/// How a pattern looks, on the run's clock. Families say for how long each shows, not how fast it is; these
/// are slow enough for a class to tell apart, and none is lit more than twice a second.
struct Rhythm {
  double lit_s;
  double dark_s;
  bool soft;
};

Rhythm rhythm_of(model::Pattern pattern, const model::IndicatorTimes& times) {
  switch (pattern) {
    case model::Pattern::dark:
      return {0.0, 1.0, false};
    case model::Pattern::blip:
      return {exact_seconds(times.blip), 0.0, false};
    case model::Pattern::breathe:
      return {1.5, 1.5, true};
    case model::Pattern::blink:
      return {0.5, 0.5, false};
    case model::Pattern::steady:
      return {1.0, 0.0, false};
    case model::Pattern::refuse:
      return {0.25, 0.25, false};
  }
  return {0.0, 1.0, false};
}

json::object patterns_json(const model::IndicatorTimes& times) {
  json::object all;
  for (const model::Pattern pattern : sim::all_of<model::Pattern>()) {
    const Rhythm rhythm = rhythm_of(pattern, times);
    all[to_string(pattern)] = {{"lit_s", rhythm.lit_s}, {"dark_s", rhythm.dark_s}, {"soft", rhythm.soft}};
  }
  return all;
}

std::string binding_text(const model::Binding& binding) {
  return binding.command == model::Command::nothing ? "" : spoken(binding);
}

std::string setup_meaning(const model::PlateFamily& plate, model::Button button) {
  if (button == plate.next) return tr_as("button", "next");
  if (button == plate.previous) return tr_as("button", "previous");
  if (button == plate.identify) return tr_as("button", "identify");
  if (button == plate.assign) return tr_as("button", "assign");
  if (button == plate.leave) return tr_as("button", "leave");
  return "";
}

std::string_view counted_from_text(model::CountedFrom from) {
  switch (from) {
    case model::CountedFrom::entry:
      return "entry";
    case model::CountedFrom::last_press:
      return "last press";
  }
  return "";
}

json::object gesture_json(const json::array& buttons, sim::Duration hold) {
  std::string names;
  for (std::size_t i = 0; i < buttons.size(); ++i)
    names += (i == 0 ? "" : tr(" and ")) + std::string{buttons[i].get_string()};
  return {{"buttons", buttons},
          {"for_s", exact_seconds(hold)},
          {"text", tr("hold {} for {}", names, model::duration_text(hold))}};
}

json::object bank_json(const model::SwitchBank& bank) {
  return {{"kind", bank.kind == model::SwitchBank::Kind::binary ? "binary" : "rotary"},
          {"count", bank.count},
          {"largest", bank.largest()}};
}

json::object plate_family_json(const model::PlateFamily& plate) {
  json::array buttons;
  json::array gesture;
  for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
    const auto button = static_cast<model::Button>(i);
    buttons.push_back(json::object{{"name", plate.buttons[i]},
                                   {"press", binding_text(plate.press[i])},
                                   {"hold", binding_text(plate.hold[i])},
                                   {"setup", setup_meaning(plate, button)}});
    if ((plate.setup_gesture & model::only(button)) != 0) gesture.emplace_back(plate.buttons[i]);
  }
  return {{"buttons", std::move(buttons)},
          {"setup_gesture", gesture_json(gesture, plate.setup_hold)},
          {"long_press_s", exact_seconds(plate.long_press)},
          {"time_out_s", exact_seconds(plate.time_out.after)},
          {"time_out_from", counted_from_text(plate.time_out.from)},
          {"beacon_s", exact_seconds(plate.beacon)},
          {"channels", plate.channels},
          {"switches", {{"site", bank_json(plate.site_switches)}, {"zone", bank_json(plate.zone_switches)}}}};
}

/// What puts a module in setup: its button is held, or its supply is switched.
json::object module_gesture_json(const model::ModuleFamily& module) {
  if (!module.button.empty()) return gesture_json({json::value(module.button)}, module.setup_hold);
  return {{"buttons", json::array{}},
          {"for_s", nullptr},
          {"text", tr("off and on {} times, each on for less than {}", module.supply_gesture.times,
                      model::duration_text(module.supply_gesture.on_for))}};
}

json::object module_family_json(const model::ModuleFamily& module) {
  return {{"button", module.button.empty() ? json::value(nullptr) : json::value(module.button)},
          {"setup_gesture", module_gesture_json(module)},
          {"time_out_s", exact_seconds(module.time_out.after)},
          {"time_out_from", counted_from_text(module.time_out.from)},
          {"factory_site", module.factory_site}};
}

json::array families_json(const model::Site& site) {
  json::array families;
  site.each_family([&](const model::Family& family) {
    families.push_back(json::object{{"name", family.name},
                                    {"about", family.about},
                                    {"plate", plate_family_json(family.plate)},
                                    {"module", module_family_json(family.module)},
                                    {"patterns", patterns_json(family.indicator)}});
  });
  return families;
}

/// From one room to others.
json::array walks_from_json(const model::Site& site, model::PlaceId from,
                            const std::set<model::PlaceId>& to) {
  json::array walks;
  for (const model::PlaceId each : to) {
    if (each == from || from == model::no_place) continue;
    walks.push_back(json::object{{"from", site.places[from].name},
                                 {"to", site.places[each].name},
                                 {"takes_s", exact_seconds(site.walk(from, each))}});
  }
  return walks;
}

/// Rooms with how much is in them, and on which bus.
json::array rooms_json(const model::Site& site) {
  struct Count {
    std::size_t plates = 0;
    std::size_t modules = 0;
    std::set<std::uint32_t> buses;
  };
  std::vector<Count> counts(site.places.size());
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    Count& count = counts[site.place(device)];
    ++(site.is_plate(device) ? count.plates : count.modules);
    count.buses.insert(static_cast<std::uint32_t>(site.network.nodes[device].medium));
  }
  json::array rooms;
  for (std::size_t i = 0; i < counts.size(); ++i) {
    json::array buses;
    for (const std::uint32_t bus : counts[i].buses) buses.emplace_back(bus + 1);
    rooms.push_back(json::object{{"name", site.places[i].name},
                                 {"plates", counts[i].plates},
                                 {"modules", counts[i].modules},
                                 {"buses", std::move(buses)}});
  }
  return rooms;
}

json::array walks_json(const model::Site& site) {
  json::array walks;
  for (model::PlaceId from = 0; from < site.places.size(); ++from) {
    for (model::PlaceId to = 0; to < site.places.size(); ++to) {
      if (from == to) continue;
      walks.push_back(json::object{{"from", site.places[from].name},
                                   {"to", site.places[to].name},
                                   {"takes_s", exact_seconds(site.walk(from, to))}});
    }
  }
  return walks;
}

json::object device_spec_json(const model::Site& site, DeviceId device) {
  return {{"name", site.name(device)},
          {"label", site.title(device)},
          {"place", site.places[site.place(device)].name},
          {"family", site.family_of(device).name},
          {"neighbour", site.is_neighbour(device)}};
}

json::array plates_json(const model::Site& site, const Looks& looks = {}) {
  json::array plates;
  for (std::size_t i = 0; i < site.plates.size(); ++i) {
    if (!looks.at(static_cast<DeviceId>(i))) continue;
    plates.push_back(device_spec_json(site, static_cast<DeviceId>(i)));
  }
  return plates;
}

json::array modules_json(const model::Site& site, const Looks& looks = {}) {
  json::array modules;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (!looks.at(site.module_id(i))) continue;
    json::object module = device_spec_json(site, site.module_id(i));
    const auto& intended = site.modules[i].intended;
    module["intended"] = intended ? json::value(to_string(*intended)) : json::value(nullptr);
    modules.push_back(std::move(module));
  }
  return modules;
}

/// A bus of which nothing is looked at has no nodes.
json::array media_json(const model::Site& site, const Looks& looks = {}) {
  json::array media;
  for (const sim::MediumSpec& medium : site.network.media) {
    json::array nodes;
    for (const sim::NodeId node : medium.nodes) {
      const bool is_device = node < site.device_count();
      if (is_device ? looks.at(static_cast<DeviceId>(node)) : looks.all())
        nodes.emplace_back(site.node_name(node));
    }
    media.push_back(json::object{{"kind", medium.kind == sim::MediumKind::line ? "line" : "radio"},
                                 {"bit_rate", medium.timing.bit_rate},
                                 {"nodes", std::move(nodes)}});
  }
  return media;
}

/// Those between two that are looked at.
json::array link_specs_json(const model::Site& site, const Looks& looks = {}) {
  const auto is_shown = [&](sim::NodeId node) {
    return looks.all() || (node < site.device_count() && looks.at(static_cast<DeviceId>(node)));
  };
  json::array links;
  for (std::uint32_t i = 0; i < site.network.links.size(); ++i) {
    const sim::Link& link = site.network.links[i];
    if (!is_shown(link.a) || !is_shown(link.b)) continue;
    links.push_back(json::object{{"name", site.link_name(i)},
                                 {"a", site.node_name(link.a)},
                                 {"b", site.node_name(link.b)},
                                 {"medium", site.network.nodes[link.a].medium}});
  }
  return links;
}

json::object scenario_json(const LoadedScenario& loaded, Curtain curtain) {
  const std::string path = loaded.sources.empty() ? "" : loaded.sources[0].path;
  return {{"file", harmless(std::filesystem::path{path}.filename().string())},
          {"title", loaded.scenario.title},
          {"about", curtain == Curtain::open ? loaded.scenario.about : ""},  // it may tell how it ends
          {"seed", loaded.scenario.seed},
          {"steps", loaded.scenario.people[0].script.size()}};
}

}  // namespace

json::object hello_json(const Bench& bench, Curtain curtain) {
  const model::Scenario& scenario = bench.loaded().scenario;
  const model::Site& site = scenario.site;
  const bool parts = is_told_in_parts(site);
  const Looks looks = parts ? Looks{site, {}} : Looks{};
  json::array places;
  if (parts) places = rooms_json(site);
  if (!parts) {
    for (const model::Place& place : site.places) places.push_back(json::object{{"name", place.name}});
  }
  json::array people;
  for (const model::Person& person : scenario.people) people.emplace_back(person.name);
  json::array junctions;
  if (!parts) {
    for (const std::string& junction : site.junctions) junctions.emplace_back(junction);
  }
  return {{"type", "hello"},
          {"protocol", 1},
          {"version", DRYBUS_VERSION},
          {"scenario", scenario_json(bench.loaded(), curtain)},
          {"families", families_json(site)},
          {"places", std::move(places)},
          {"in_parts", parts},
          {"device_count", site.device_count()},
          {"walks", parts ? json::array{} : walks_json(site)},
          {"plates", plates_json(site, looks)},
          {"modules", modules_json(site, looks)},
          {"media", media_json(site, looks)},
          {"junctions", std::move(junctions)},
          {"links", link_specs_json(site, looks)},
          {"people", std::move(people)},
          {"caution", model::in_words_spoken(model::safety_caution)},
          {"limits",
           {{"speed_least", least_speed},
            {"speed_most", most_speed},
            {"longest_s", exact_seconds(Bench::longest)},
            {"text", most_text_characters}}}};
}

json::object part_json(const Bench& bench, Curtain curtain, const Looks& looks) {
  const Branch& run = bench.run();
  const model::Site& site = run.scenario().site;
  json::object devices;
  std::set<model::PlaceId> places;
  for (const DeviceId device : looks.devices(site)) {
    devices[site.name(device)] = device_json(run, device, curtain);
    places.insert(site.place(device));
  }
  return {{"type", "part"},
          {"plates", plates_json(site, looks)},
          {"modules", modules_json(site, looks)},
          {"media", media_json(site, looks)},
          {"links", link_specs_json(site, looks)},
          {"walks", walks_from_json(site, run.installer().place, places)},
          {"left_out", looks.left_out()},
          {"devices", std::move(devices)},
          {"link_states", links_json(run, curtain, looks)}};
}

}  // namespace drybus::tools
