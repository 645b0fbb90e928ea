#include "tests/support/small_site.h"

#include <fmt/format.h>

#include "model/family/usual_machine.h"

namespace drybus::tests {

using namespace model;

Family test_family() {
  Family family;
  family.name = "test-keypad";
  PlateFamily& plate = family.plate;
  plate.buttons = {"set", "up", "down", "accept", "off", "one"};
  plate.site_switches = {SwitchBank::Kind::binary, 6};
  plate.zone_switches = {SwitchBank::Kind::binary, 4};
  plate.setup_gesture = only(set);
  plate.setup_hold = 2500ms;
  plate.next = up;
  plate.previous = down;
  plate.identify = set;
  plate.assign = accept;
  plate.leave = one;
  plate.press[up] = {Command::on, 0};
  plate.press[down] = {Command::off, 0};
  plate.press[off] = {Command::off, 0};
  plate.press[accept] = {Command::recall, 2};
  plate.press[one] = {Command::recall, 1};
  plate.hold[up] = {Command::raise, 0};
  plate.hold[down] = {Command::lower, 0};
  plate.hold[one] = {Command::store, 1};
  plate.long_press = 1s;
  plate.time_out = {240s, CountedFrom::last_press};
  plate.beacon = 5s;
  plate.channels = 12;
  plate.machine = usual_plate_machine(false);
  ModuleFamily& module = family.module;
  module.button = "local";
  module.setup_hold = 3500ms;
  module.time_out = {150s, CountedFrom::entry};
  module.store = 50ms;
  module.flash = 1s;
  module.fade = 700ms;
  module.full_range = 4s;
  module.factory_site = 50;
  module.machine = usual_module_machine();
  family.indicator = {3s, 1500ms, 12s, 600ms, 40min};
  family.debounce = 20ms;
  family.stuck_after = 30s;
  family.bus.sense_delay = 200us;
  family.bus.gap = 5ms;
  family.bus.backoff_slot = 2ms;
  return family;
}

Scenario small_scenario(std::size_t modules, std::size_t plates, const Family& family) {
  Scenario scenario;
  scenario.title = "small site";
  Site& site = scenario.site;
  site.family = family;
  site.places = {{"hall"}};
  site.walks = shortest_walks(1, {}, 20s);
  for (std::size_t i = 0; i < plates; ++i) {
    site.plates.push_back({fmt::format("P{}", i + 1), "", 0, 23, static_cast<std::uint8_t>(4 + i), false});
  }
  for (std::size_t i = 0; i < modules; ++i) {
    site.modules.push_back({fmt::format("M{}", i + 1),
                            "",
                            0,
                            Address{23, 4, static_cast<std::uint8_t>(i + 1)},
                            {},
                            factory_memory(site.family.module),
                            false});
  }
  sim::MediumSpec line{family.medium, site.family.bus, {}, {}};
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto node = static_cast<sim::NodeId>(i);
    if (i > 0) line.links.push_back({static_cast<sim::NodeId>(i - 1), node});
    line.nodes.push_back(node);
  }
  build_network(site, {line});
  scenario.people = {{"installer", 0, {}}};
  scenario.files = {"small-site"};
  return scenario;
}

Step& Script::add(StepKind kind) {
  Step step;
  step.kind = kind;
  step.at = at_;
  at_.reset();
  scenario_.people[person_].script.push_back(step);
  return scenario_.people[person_].script.back();
}

DeviceId Script::device(const std::string& name) const {
  return scenario_.site.find_device(name).value();
}

Script& Script::press(const std::string& name, Button button, sim::Duration duration) {
  Step& step = add(StepKind::press);
  step.device = device(name);
  step.buttons = only(scenario_.site.is_plate(step.device) ? button : Button{0});
  step.duration = duration;
  return *this;
}

Script& Script::hold(const std::string& name, Button button, sim::Duration duration) {
  press(name, button, duration);
  scenario_.people[person_].script.back().kind = StepKind::hold;
  return *this;
}

Script& Script::wait(sim::Duration duration) {
  add(StepKind::wait).duration = duration;
  return *this;
}

Script& Script::at(sim::Duration when) {
  at_ = sim::start_of_run + when;
  return *this;
}

Script& Script::power(const std::string& name, bool on) {
  Step& step = add(StepKind::power);
  step.device = name == "all" ? no_device : device(name);
  step.on = on;
  return *this;
}

Script& Script::fault(Fault fault) {
  add(StepKind::fault).fault = fault;
  return *this;
}

Script& Script::switches(const std::string& plate, std::uint8_t site, std::uint8_t zone) {
  Step& step = add(StepKind::switches);
  step.device = device(plate);
  step.site = site;
  step.zone = zone;
  return *this;
}

Script& Script::look(const std::string& name, Fact fact, const std::string& wanted) {
  Check check;
  check.fact = fact;
  check.device = device(name);
  check.wanted = {wanted};
  check.seen = true;
  scenario_.checks.push_back(check);
  add(StepKind::see).checks = {static_cast<std::uint32_t>(scenario_.checks.size() - 1)};
  return *this;
}

Script& Script::walk(PlaceId place) {
  add(StepKind::walk).place = place;
  return *this;
}

void address(Script& script, const std::string& plate, const std::string& module, int channel) {
  script.hold(plate, set, 3s).hold(module, 0, 4s);
  for (int i = 0; i < channel; ++i) script.press(plate, up);
  script.press(plate, accept).press(plate, one);
}

}  // namespace drybus::tests
