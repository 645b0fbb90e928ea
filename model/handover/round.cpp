#include "model/handover/round.h"

#include <algorithm>
#include <map>
#include <set>
#include <stdexcept>

#include "model/devices/plate.h"
#include "model/planning/ways_into_setup.h"

namespace drybus::model {

namespace {

/// Keys of a plate whose short press does something that can be seen and is no harm, in the order in which they are
/// tried: scenes, on, off.
std::vector<Button> keys_of(const PlateFamily& family) {
  std::vector<std::pair<int, Button>> ranked;
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    const Binding& binding = family.press[i];
    if (binding.whom != Whom::zone) continue;
    switch (binding.command) {
      case Command::recall:
        ranked.emplace_back(0 + binding.scene, static_cast<Button>(i));
        break;
      case Command::on:
        ranked.emplace_back(100, static_cast<Button>(i));
        break;
      case Command::off:
        ranked.emplace_back(200, static_cast<Button>(i));
        break;
      case Command::nothing:
      case Command::store:
      case Command::raise:
      case Command::lower:
        break;
    }
  }
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Button> keys;
  for (const auto& [rank, button] : ranked) keys.push_back(button);
  return keys;
}

std::optional<Button> key_for(const PlateFamily& family, Command command) {
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    if (family.press[i].gives(command)) return static_cast<Button>(i);
  }
  return std::nullopt;
}

std::vector<DeviceId> modules_at(const Site& site, PlaceId place) {
  std::vector<DeviceId> modules;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (site.modules[i].place == place && !site.modules[i].neighbour) modules.push_back(site.module_id(i));
  }
  return modules;
}

/// Channels that may be stepped through: up to the last one before a load that nobody may switch.
std::uint8_t last_channel(const BuiltSite& built, DeviceId plate) {
  std::uint8_t last = 0;
  std::uint8_t forbidden = 255;
  for (const DeviceId module : built.zone_of(plate)) {
    const std::size_t index = built.site.module_index(module);
    const std::uint8_t channel = built.site.modules[index].intended->channel;
    last = std::max(last, channel);
    if (built.site.modules[index].do_not_switch) forbidden = std::min(forbidden, channel);
  }
  return std::min<std::uint8_t>(last, static_cast<std::uint8_t>(forbidden - 1));
}

bool is_off(const PlateFamily& family, Button button) {
  return family.press[button].command == Command::off;
}

RoundAct act_at(RoundAct::Kind kind, DeviceId plate, Button button, PlaceId from,
                std::vector<DeviceId> looked_at) {
  RoundAct act;
  act.kind = kind;
  act.plate = plate;
  act.button = button;
  act.from = from;
  act.looked_at = std::move(looked_at);
  return act;
}

/// What lights a zone, so that an off key has something to put out.
Button lighting_key(const PlateFamily& family) {
  const auto on = key_for(family, Command::on);
  return on ? *on : key_for(family, Command::recall).value_or(no_button);
}

}  // namespace

std::vector<Button> far_keys(const PlateFamily& family) {
  std::vector<Button> keys;
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    const Binding& binding = family.press[i];
    const bool shows = binding.command == Command::on || binding.command == Command::off ||
                       binding.command == Command::recall;
    if (shows && binding.whom != Whom::zone) keys.push_back(static_cast<Button>(i));
  }
  return keys;
}

std::vector<DeviceId> BuiltSite::reached_by(DeviceId plate, Button key) const {
  const PlateSpec& spec = site.plates[plate];
  std::vector<DeviceId> modules;
  const auto telegram = telegram_of(site.plate_family(plate).press[key], spec.site, spec.zone);
  for (std::size_t i = 0; telegram && i < site.modules.size(); ++i) {
    const ModuleSpec& module = site.modules[i];
    if (module.neighbour || !module.intended) continue;
    ModuleMemory memory = module.memory;
    memory.address = *module.intended;
    const ModuleFamily& family = site.module_family(site.module_id(i));
    if (is_meant(family, memory, *telegram) && understands(family, *telegram))
      modules.push_back(site.module_id(i));
  }
  return modules;
}

bool BuiltSite::may_press(DeviceId plate, Button key) const {
  if (is_part && site.plate_family(plate).press[key].whom != Whom::zone) return false;
  const auto reached = reached_by(plate, key);
  return std::none_of(reached.begin(), reached.end(), [this](DeviceId module) {
    return site.modules[site.module_index(module)].do_not_switch;
  });
}

DeviceId BuiltSite::zone_plate(DeviceId module) const {
  const Address& address = *site.modules[site.module_index(module)].intended;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    const PlateSpec& spec = site.plates[plate];
    if (spec.neighbour || spec.site != address.site || spec.zone != address.zone || !may_press(plate))
      continue;
    const PlateFamily& family = site.plate_family(plate);
    if (lighting_key(family) != no_button && key_for(family, Command::off)) return plate;
  }
  return no_device;
}

bool BuiltSite::may_lose_power() const {
  return std::none_of(site.modules.begin(), site.modules.end(),
                      [](const ModuleSpec& module) { return module.do_not_switch; });
}

std::vector<DeviceId> BuiltSite::zone_of(DeviceId plate) const {
  const PlateSpec& spec = site.plates[plate];
  std::vector<DeviceId> modules;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleSpec& module = site.modules[i];
    if (!module.neighbour && module.intended && module.intended->site == spec.site &&
        module.intended->zone == spec.zone)
      modules.push_back(site.module_id(i));
  }
  return modules;
}

bool BuiltSite::may_press(DeviceId plate) const {
  const auto zone = zone_of(plate);
  return std::none_of(zone.begin(), zone.end(), [this](DeviceId module) {
    return site.modules[site.module_index(module)].do_not_switch;
  });
}

BuiltSite built(const Plan& plan) {
  BuiltSite built;
  built.site = plan.site;
  for (ModuleSpec& module : built.site.modules) {
    if (module.neighbour || !module.intended) continue;
    for (std::size_t i = 0; i < max_scenes; ++i) {
      if (module.intended_scenes[i] != no_scene_level) module.memory.scenes[i] = module.intended_scenes[i];
    }
    const bool moved = module.memory.address.site != module.intended->site;
    module.memory.address = *module.intended;
    if (moved) module.memory.power_up = PowerUp::off;
  }
  return built;
}

namespace {

/// Whether it is known that no load of a place is lit when a round comes there: the supply was off, or the keys that put
/// them out may be pressed.
bool is_dark_before(const BuiltSite& built, PlaceId place) {
  if (built.may_lose_power()) return true;
  std::set<DeviceId> put_out;
  for (DeviceId plate = 0; plate < built.site.plates.size(); ++plate) {
    const auto zone = built.zone_of(plate);
    if (!built.site.plates[plate].neighbour && built.may_press(plate))
      put_out.insert(zone.begin(), zone.end());
  }
  const auto here = modules_at(built.site, place);
  return std::all_of(here.begin(), here.end(),
                     [&put_out](DeviceId module) { return put_out.contains(module); });
}

/// A key for other zones, seen from wherever it should show something and, where it lights something, from where it should
/// not. What it needs to be lit before, and to be put out after it, the zones' own plates do.
void add_far_tests(const BuiltSite& built, DeviceId plate, const std::set<PlaceId>& places,
                   std::vector<RoundTest>& tests) {
  const Site& site = built.site;
  for (const Button key : far_keys(site.plate_family(plate))) {
    const auto reached = built.reached_by(plate, key);
    const bool can_be_prepared = std::all_of(reached.begin(), reached.end(), [&](DeviceId module) {
      return built.zone_plate(module) != no_device;
    });
    if (reached.empty() || !can_be_prepared || !built.may_press(plate, key)) continue;
    std::set<PlaceId> seen_from;
    for (const DeviceId module : reached) seen_from.insert(site.place(module));
    for (const PlaceId place : places) {
      const bool shows = seen_from.contains(place);
      if (shows || (!is_off(site.plate_family(plate), key) && is_dark_before(built, place)))
        tests.push_back({RoundTest::Kind::key, plate, key, place});
    }
  }
}

}  // namespace

std::vector<RoundTest> all_tests(const BuiltSite& built) {
  std::vector<RoundTest> tests;
  const Site& site = built.site;
  std::set<PlaceId> places;
  for (const ModuleSpec& module : site.modules) {
    if (!module.neighbour) places.insert(module.place);
  }
  for (const PlaceId place : places) {
    if (is_dark_before(built, place)) tests.push_back({RoundTest::Kind::dark, no_device, no_button, place});
  }
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    const std::vector<DeviceId> zone = built.zone_of(plate);
    if (site.plates[plate].neighbour || zone.empty()) continue;
    std::set<PlaceId> seen_from;
    for (const DeviceId module : zone) seen_from.insert(site.place(module));
    for (const PlaceId place : seen_from) {
      if (last_channel(built, plate) > 0)
        tests.push_back({RoundTest::Kind::channels, plate, no_button, place});
      if (!built.may_press(plate)) continue;
      for (const Button key : keys_of(site.plate_family(plate)))
        tests.push_back({RoundTest::Kind::key, plate, key, place});
    }
    // Whether anything lights elsewhere that should not.
    for (const PlaceId place : places) {
      const Button lights = lighting_key(site.plate_family(plate));
      if (lights == no_button || !built.may_press(plate) || seen_from.contains(place)) continue;
      if (is_dark_before(built, place)) tests.push_back({RoundTest::Kind::key, plate, lights, place});
    }
    add_far_tests(built, plate, places, tests);
  }
  return tests;
}

namespace {

/// One pass through the channels: watched from the plate, from somewhere else, or both at once.
void add_pass(const BuiltSite& built, DeviceId plate, bool seen_here, PlaceId helper_at,
              std::vector<RoundAct>& acts) {
  const Site& site = built.site;
  const PlaceId here = site.place(plate);
  acts.push_back(act_at(RoundAct::Kind::enter, plate, no_button, here, {plate}));
  // Where a plate begins at channel 1, that one is repeated, and not stepped to.
  const PlateFamily& family = site.plate_family(plate);
  const bool from_two = first_channel(family) == 1 && family.identify == no_button;
  for (std::uint8_t channel = from_two ? 2 : 1; channel <= last_channel(built, plate); ++channel) {
    acts.push_back(act_at(RoundAct::Kind::channel, plate, no_button, here,
                          seen_here ? modules_at(site, here) : std::vector<DeviceId>{}));
    acts.back().channel = channel;
    acts.back().helper_at = helper_at;
    if (helper_at != no_place) acts.back().helper_sees = modules_at(site, helper_at);
  }
  acts.push_back(act_at(RoundAct::Kind::leave, plate, no_button, here, {}));
}

void add_channels(const BuiltSite& built, const std::vector<RoundTest>& tests, DeviceId plate,
                  std::vector<RoundAct>& acts) {
  const Site& site = built.site;
  std::set<PlaceId> places;
  for (const RoundTest& test : tests) {
    if (test.kind == RoundTest::Kind::channels && test.plate == plate) places.insert(test.place);
  }
  const PlaceId here = site.place(plate);
  const bool seen_here = places.erase(here) > 0;
  if (places.empty() && seen_here) return add_pass(built, plate, true, no_place, acts);
  // Somebody looks on in another place; with more of those, there is a pass for each.
  bool first = seen_here;
  for (const PlaceId place : places) {
    add_pass(built, plate, first, place, acts);
    first = false;
  }
}

/// Presses that one look each belongs to, with the lights on in between only where the next key needs it.
void add_keys(const BuiltSite& built, const std::vector<RoundTest>& tests, DeviceId plate,
              std::vector<RoundAct>& acts) {
  const Site& site = built.site;
  const PlaceId here = site.place(plate);
  bool lit = false;
  for (const Button key : keys_of(site.plate_family(plate))) {
    std::vector<PlaceId> places;
    for (const RoundTest& test : tests) {
      if (test.kind == RoundTest::Kind::key && test.plate == plate && test.button == key)
        places.push_back(test.place);
    }
    if (places.empty()) continue;
    std::stable_partition(places.begin(), places.end(), [here](PlaceId place) { return place == here; });
    const bool off = is_off(site.plate_family(plate), key);
    if (off && !lit && lighting_key(site.plate_family(plate)) != no_button)
      acts.push_back(
          act_at(RoundAct::Kind::restore, plate, lighting_key(site.plate_family(plate)), here, {}));
    acts.push_back(act_at(RoundAct::Kind::key, plate, key, places.front(), modules_at(site, places.front())));
    for (std::size_t i = 1; i < places.size(); ++i)
      acts.push_back(act_at(RoundAct::Kind::look, plate, key, places[i], modules_at(site, places[i])));
    lit = !off;
  }
  const auto off = key_for(site.plate_family(plate), Command::off);
  if (lit && off) acts.push_back(act_at(RoundAct::Kind::restore, plate, *off, here, {}));
}

/// The zones of modules are lit, or put out, each at a plate of its own.
void switch_zones(const BuiltSite& built, const std::vector<DeviceId>& modules, bool on,
                  std::vector<RoundAct>& acts) {
  const Site& site = built.site;
  std::set<DeviceId> plates;
  for (const DeviceId module : modules) plates.insert(built.zone_plate(module));
  for (const DeviceId plate : plates) {
    const PlateFamily& family = site.plate_family(plate);
    const Button key = on ? lighting_key(family) : *key_for(family, Command::off);
    acts.push_back(act_at(RoundAct::Kind::restore, plate, key, site.place(plate), {}));
  }
}

/// Keys for other zones.
void add_far_keys(const BuiltSite& built, const std::vector<RoundTest>& tests, DeviceId plate,
                  std::vector<RoundAct>& acts) {
  const Site& site = built.site;
  for (const Button key : far_keys(site.plate_family(plate))) {
    std::vector<PlaceId> places;
    for (const RoundTest& test : tests) {
      if (test.kind == RoundTest::Kind::key && test.plate == plate && test.button == key)
        places.push_back(test.place);
    }
    if (places.empty()) continue;
    const PlaceId here = site.place(plate);
    std::stable_partition(places.begin(), places.end(), [here](PlaceId place) { return place == here; });
    const bool off = is_off(site.plate_family(plate), key);
    std::vector<DeviceId> reached = built.reached_by(plate, key);
    if (off) {
      std::erase_if(reached, [&](DeviceId module) {
        return std::find(places.begin(), places.end(), site.place(module)) == places.end();
      });
      switch_zones(built, reached, true, acts);
    }
    acts.push_back(act_at(RoundAct::Kind::key, plate, key, places.front(), modules_at(site, places.front())));
    for (std::size_t i = 1; i < places.size(); ++i)
      acts.push_back(act_at(RoundAct::Kind::look, plate, key, places[i], modules_at(site, places[i])));
    if (!off) switch_zones(built, reached, false, acts);
  }
}

}  // namespace

std::vector<RoundAct> acts_of(const BuiltSite& built, const RoundTest& test) {
  std::vector<RoundAct> acts;
  switch (test.kind) {
    case RoundTest::Kind::dark:
      acts.push_back(
          act_at(RoundAct::Kind::look, no_device, no_button, test.place, modules_at(built.site, test.place)));
      break;
    case RoundTest::Kind::channels:
      add_channels(built, {test}, test.plate, acts);
      break;
    case RoundTest::Kind::key:
      add_keys(built, {test}, test.plate, acts);
      add_far_keys(built, {test}, test.plate, acts);
      break;
  }
  return acts;
}

std::vector<RoundAct> round_of(const BuiltSite& built, const std::vector<RoundTest>& tests) {
  const Site& site = built.site;
  std::set<PlaceId> places;
  for (const RoundTest& test : tests)
    places.insert(test.kind == RoundTest::Kind::dark ? test.place : site.place(test.plate));
  std::vector<RoundAct> acts;
  if (built.may_lose_power()) {
    acts.push_back(act_at(RoundAct::Kind::power_cut, no_device, no_button, 0, {}));
  } else {
    for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
      const auto off = key_for(site.plate_family(plate), Command::off);
      if (off && !site.plates[plate].neighbour && !built.zone_of(plate).empty() && built.may_press(plate))
        acts.push_back(act_at(RoundAct::Kind::restore, plate, *off, site.place(plate), {}));
    }
  }
  const WayThrough way = way_through(site, {places.begin(), places.end()}, built.start);
  for (const PlaceId place : way.places) {
    for (const RoundTest& test : tests) {
      if (test.kind == RoundTest::Kind::dark && test.place == place)
        acts.push_back(act_at(RoundAct::Kind::look, no_device, no_button, place, modules_at(site, place)));
    }
    for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
      if (site.plates[plate].place != place || site.plates[plate].neighbour) continue;
      add_channels(built, tests, plate, acts);
      add_keys(built, tests, plate, acts);
      add_far_keys(built, tests, plate, acts);
    }
  }
  return acts;
}

RoundScript round_script(const BuiltSite& built, std::vector<RoundAct> acts) {
  RoundScript round;
  PlaceId start = built.start.value_or(0);
  for (const RoundAct& act : acts) {
    if (act.kind == RoundAct::Kind::power_cut) continue;
    if (!built.start) start = act.plate == no_device ? act.from : built.site.place(act.plate);
    break;
  }
  round.trial = make_trial(built.site, acts, start, false);
  round.acts = std::move(acts);
  const auto seen = try_from_start(round.trial);
  if (!seen) throw std::logic_error{"the round cannot be gone through"};
  round.takes = seen->took;
  expect_as_seen(round.trial, *seen);
  return round;
}

sim::Duration everything_takes(const BuiltSite& built) {
  const std::vector<RoundAct> once = round_of(built, all_tests(built));
  const sim::Duration cut = built.may_lose_power() ? off_for + start_takes : sim::Duration::zero();
  return 2 * (round_script(built, once).takes - cut) + cut;
}

}  // namespace drybus::model
