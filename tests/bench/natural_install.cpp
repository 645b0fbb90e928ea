#include "tests/bench/natural_install.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/world/simulation.h"

namespace drybus::bench {

using namespace model;

namespace {

using namespace std::chrono_literals;

constexpr sim::Duration looked_for = 2s;

// --- sites ---

class SmallSite {
 public:
  SmallSite(const Families& families, Draw& draw) : draw_(draw) { site_.family = draw.of(families.all); }

  Site make() {
    const double share = draw_.uniform();
    const std::size_t modules = 2 + static_cast<std::size_t>(19 * share * share);
    // As many at least as all modules find a channel at.
    const std::size_t channels = site_.family.plate.channels;
    const std::size_t least = (modules + channels - 1) / channels;
    const std::size_t plates =
        draw_.between(least, std::max(least, std::min<std::size_t>(4, (modules + 1) / 2)));
    add_places(draw_.between(1, 4));
    add_plates(plates);
    add_modules(modules);
    wire();
    return std::move(site_);
  }

 private:
  void add_places(std::size_t count) {
    std::vector<std::string> names{"hall", "kitchen", "corridor", "office"};
    draw_.shuffle(names);
    std::vector<WalkLeg> legs;
    for (std::size_t i = 0; i < count; ++i) {
      site_.places.push_back({names[i]});
      if (i > 0)
        legs.push_back({static_cast<PlaceId>(i - 1), static_cast<PlaceId>(i),
                        std::chrono::seconds{draw_.between(4, 40)}});
    }
    site_.walks = shortest_walks(count, legs, 30s);
  }

  void add_plates(std::size_t count) {
    const auto number =
        static_cast<std::uint8_t>(draw_.between(11, site_.family.plate.site_switches.largest()));
    std::vector<std::uint8_t> zones;
    for (std::uint8_t zone = 1; zone <= site_.family.plate.zone_switches.largest(); ++zone)
      zones.push_back(zone);
    draw_.shuffle(zones);
    for (std::size_t i = 0; i < count; ++i) {
      site_.plates.push_back({fmt::format("P{}", i + 1), "", static_cast<PlaceId>(i % site_.places.size()),
                              number, zones[i], false});
    }
  }

  void add_modules(std::size_t count) {
    std::vector<std::uint8_t> used(site_.plates.size(), 0);
    for (std::size_t i = 0; i < count; ++i) {
      std::size_t plate = i < used.size() ? i : draw_.below(used.size());
      while (used[plate] >= site_.family.plate.channels) plate = (plate + 1) % used.size();
      const PlateSpec& spec = site_.plates[plate];
      ModuleSpec module;
      module.name = fmt::format("M{}", i + 1);
      module.place = draw_.percent(70) ? spec.place : static_cast<PlaceId>(draw_.below(site_.places.size()));
      module.intended = Address{spec.site, spec.zone, ++used[plate]};
      module.memory = factory_memory(site_.family.module);
      site_.modules.push_back(std::move(module));
    }
    if (!draw_.percent(30)) return;
    for (ModuleSpec& module : site_.modules) {
      if (!draw_.percent(30)) continue;
      // Done last week.
      module.memory.address = *module.intended;
      module.memory.power_up = PowerUp::off;
    }
  }

  /// A line through the rooms with a branch now and then; on radio everybody hears everybody.
  void wire() {
    std::vector<sim::NodeId> order;
    for (PlaceId place = 0; place < site_.places.size(); ++place) {
      for (DeviceId device = 0; device < site_.device_count(); ++device) {
        if (site_.place(device) == place) order.push_back(device);
      }
    }
    sim::MediumSpec medium{site_.family.medium, site_.family.bus, {}, {}};
    for (DeviceId device = 0; device < site_.device_count(); ++device) medium.nodes.push_back(device);
    for (std::size_t i = 1; i < order.size(); ++i) {
      if (site_.family.medium == sim::MediumKind::radio) {
        for (std::size_t j = 0; j < i; ++j) medium.links.push_back(link(order[j], order[i]));
      } else {
        const std::size_t from = i > 1 && draw_.percent(10) ? draw_.below(i) : i - 1;
        medium.links.push_back(link(order[from], order[i]));
      }
    }
    build_network(site_, {medium});
  }
  static sim::Link link(sim::NodeId a, sim::NodeId b) { return {std::min(a, b), std::max(a, b)}; }

  Draw& draw_;
  Site site_;
};

// --- what was done ---

std::optional<Button> does(const PlateFamily& family, Command command) {
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    if (family.press[i].command == command) return static_cast<Button>(i);
  }
  return std::nullopt;
}

class Installing {
 public:
  Installing(Site site, Draw& draw) : draw_(draw) { made_.told.site = std::move(site); }

  NaturalInstall make() {
    made_.told.people.push_back({"installer", 0, {}});
    plate_first_ = draw_.percent(70);
    one_setup_for_all_ = draw_.percent(60);
    std::vector<DeviceId> plates;
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) plates.push_back(plate);
    draw_.shuffle(plates);
    for (const DeviceId plate : plates) address_zone(plate);
    try_out(plates);
    look_at_the_end();
    std::uint32_t line = 0;
    for (Step& step : script()) step.mark.line = ++line;
    return std::move(made_);
  }

 private:
  [[nodiscard]] const Site& site() const { return made_.told.site; }
  [[nodiscard]] const PlateFamily& family() const { return site().family.plate; }
  std::vector<Step>& script() { return made_.told.people[0].script; }

  void press(DeviceId device, Buttons buttons) {
    script().push_back(push_step(StepKind::press, device, buttons, made_.told.times.press));
  }
  void hold(DeviceId device) {
    const sim::Duration longer = std::chrono::milliseconds{draw_.between(300, 1500)};
    script().push_back(
        push_step(StepKind::hold, device, site().setup_gesture(device), site().setup_hold(device) + longer));
    glimpse(device, Fact::indicator, ++occasion_, false);
  }
  void pause_now_and_then() {
    if (draw_.percent(10)) script().push_back(waits(std::chrono::seconds{5 * draw_.between(1, 8)}));
  }

  void address_zone(DeviceId plate) {
    std::vector<DeviceId> modules = of_zone(plate);
    std::erase_if(modules, [this](DeviceId module) {
      return site().modules[site().module_index(module)].memory.addressed();
    });
    if (modules.empty()) return;
    if (draw_.percent(25)) draw_.shuffle(modules);
    if (one_setup_for_all_) {
      hold(plate);
      channel_ = 0;
    }
    for (const DeviceId module : modules) {
      if (!one_setup_for_all_ && plate_first_) enter(plate);
      hold(module);
      if (!one_setup_for_all_ && !plate_first_) enter(plate);
      step_to(plate, channel_of(module));
      press(plate, only(family().assign));
      if (site().place(module) == site().place(plate)) glimpse(module, Fact::indicator, ++occasion_, false);
      if (!one_setup_for_all_) press(plate, only(family().leave));
      pause_now_and_then();
    }
    if (one_setup_for_all_) press(plate, only(family().leave));
  }

  void enter(DeviceId plate) {
    hold(plate);
    channel_ = 0;
  }
  void step_to(DeviceId plate, int channel) {
    for (; channel_ < channel; ++channel_) press(plate, only(family().next));
    for (; channel_ > channel; --channel_) press(plate, only(family().previous));
  }

  [[nodiscard]] int channel_of(DeviceId module) const {
    return site().modules[site().module_index(module)].intended->channel;
  }
  [[nodiscard]] std::vector<DeviceId> of_zone(DeviceId plate) const {
    std::vector<DeviceId> modules;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (site().modules[i].intended->zone == site().plates[plate].zone)
        modules.push_back(site().module_id(i));
    }
    return modules;
  }

  // --- trying it out ---

  void try_out(const std::vector<DeviceId>& plates) {
    script().push_back(waits(1s));
    if (draw_.percent(40)) {
      for (const DeviceId plate : plates) call_channels(plate);
    }
    switch_all(plates, Command::on);
    if (draw_.percent(30)) try_own_buttons();
    if (draw_.percent(70)) switch_all(plates, Command::off);
  }

  void switch_all(const std::vector<DeviceId>& plates, Command command) {
    const auto button = does(family(), command);
    for (const DeviceId plate : plates) {
      press(plate, only(*button));
      script().push_back(waits(looked_for));
      ++occasion_;
      for (const DeviceId module : of_zone(plate)) glimpse(module, Fact::load, occasion_, true);
    }
  }

  void try_own_buttons() {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      press(site().module_id(i), only(0));
      script().push_back(waits(looked_for));
      glimpse(site().module_id(i), Fact::load, ++occasion_, true);
    }
  }

  /// Somebody steps through the channels, a second each, while colleagues watch the lamps.
  void call_channels(DeviceId plate) {
    const std::vector<DeviceId> modules = of_zone(plate);
    hold(plate);
    for (std::size_t channel = 1; channel <= modules.size(); ++channel) {
      press(plate, only(family().next));
      script().push_back(waits(1s));
      ++occasion_;
      for (std::size_t i = 0; i < site().modules.size(); ++i) {
        const DeviceId module = site().module_id(i);
        const Address& intended = *site().modules[i].intended;
        const bool called =
            intended.zone == site().plates[plate].zone && intended.channel == static_cast<int>(channel);
        glimpse(module, Fact::indicator, occasion_, called);
        made_.glimpses.back().striking = !called;
      }
    }
    press(plate, only(family().leave));
  }

  void look_at_the_end() {
    ++occasion_;
    for (DeviceId device = 0; device < site().device_count(); ++device) {
      made_.glimpses.push_back({std::nullopt, device, Fact::indicator, occasion_, false, false});
    }
    ++occasion_;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      made_.glimpses.push_back({std::nullopt, site().module_id(i), Fact::load, occasion_, true, false});
    }
  }

  void glimpse(DeviceId device, Fact fact, std::uint32_t occasion, bool of_lights) {
    made_.glimpses.push_back(
        {static_cast<std::uint32_t>(script().size() - 1), device, fact, occasion, of_lights, false});
  }

  Draw& draw_;
  NaturalInstall made_;
  bool plate_first_ = true;
  bool one_setup_for_all_ = true;
  int channel_ = 0;
  std::uint32_t occasion_ = 0;
};

/// The script with a look wherever one is due: after the last of the steps that stand for one as told.
std::vector<Step> with_looks(const std::vector<Step>& script, const std::vector<Glimpse>& glimpses) {
  std::vector<Step> all;
  const auto look_after = [&](std::optional<std::uint32_t> step) {
    Step see;
    see.kind = StepKind::see;
    for (std::uint32_t i = 0; i < glimpses.size(); ++i) {
      if (glimpses[i].after_step == step) see.checks.push_back(i);
    }
    if (!see.checks.empty()) all.push_back(see);
  };
  for (std::size_t i = 0; i < script.size(); ++i) {
    all.push_back(script[i]);
    const std::uint32_t line = script[i].mark.line;
    if (line != 0 && (i + 1 == script.size() || script[i + 1].mark.line != line)) look_after(line - 1);
  }
  look_after(std::nullopt);
  return all;
}

}  // namespace

std::optional<NaturalInstall> make_install(const Families& families, Draw& draw) {
  NaturalInstall made = Installing{SmallSite{families, draw}.make(), draw}.make();
  if (!works(made.told)) return std::nullopt;
  return made;
}

bool works(const Scenario& scenario) {
  World world = initial_world(scenario);
  Simulation simulation{scenario, world};
  simulation.begin();
  while (!simulation.scripts_done()) simulation.step();
  for (std::size_t i = 0; i < world.modules.size(); ++i) {
    if (world.modules[i].memory.address != *scenario.site.modules[i].intended) return false;
  }
  return std::none_of(world.devices.begin(), world.devices.end(),
                      [](const DeviceState& device) { return device.mode == Mode::setup; });
}

Shown run_and_look(const Scenario& scenario, const std::vector<Glimpse>& glimpses) {
  Scenario watched = scenario;
  watched.checks.clear();
  for (const Glimpse& each : glimpses) watched.checks.push_back({each.fact, each.device, {""}, false, {}});
  watched.people[0].script = with_looks(scenario.people[0].script, glimpses);
  Shown shown{initial_world(watched), {}};
  shown.at.resize(glimpses.size());
  Simulation simulation{watched, shown.world};
  simulation.on_check([&](std::uint32_t check, sim::EntryId) {
    const Glimpse& glimpse = glimpses[check];
    if (glimpse.fact == Fact::indicator) {
      shown.at[check] = std::string{to_string(shown.world.devices[glimpse.device].indicator)};
    } else {
      const LoadState& load = shown.world.loads[watched.site.module_index(glimpse.device)];
      shown.at[check] = load.at(shown.world.now) > 0 ? "lit" : "dark";
    }
    return true;
  });
  simulation.begin();
  while (!simulation.scripts_done()) simulation.step();
  return shown;
}

Step waits(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

bool is_act(const Step& step) {
  return step.kind == StepKind::press || step.kind == StepKind::hold;
}

}  // namespace drybus::bench
