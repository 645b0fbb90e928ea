#include "tests/bench/diagnosis_cases.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "model/planning/route.h"
#include "model/planning/route_script.h"
#include "model/record/describe.h"
#include "model/world/simulation.h"
#include "tests/bench/draw.h"

namespace drybus::bench {

using namespace model;

namespace {

using namespace std::chrono_literals;

// --- sites ---

class SiteMaker {
 public:
  SiteMaker(const Families& families, Draw& draw) : draw_(draw) { site_.family = draw.of(families.all); }

  Site make() {
    // Small sites are more common than large ones.
    const double share = draw_.uniform();
    const std::size_t modules = 2 + static_cast<std::size_t>(39 * share * share);
    const std::size_t channels = site_.family.plate.channels;
    const std::size_t plates =
        std::max((modules + channels - 1) / channels, draw_.between(1, std::min<std::size_t>(5, modules)));
    add_places(draw_.between(1, 4));
    add_plates(plates);
    add_modules(modules, plates);
    if (draw_.percent(20)) add_neighbour();
    wire();
    return std::move(site_);
  }

 private:
  void add_places(std::size_t count) {
    const std::vector<std::string> names{"hall", "stage", "foyer", "loft"};
    std::vector<WalkLeg> legs;
    for (std::size_t i = 0; i < count; ++i) {
      site_.places.push_back({names[i]});
      if (i > 0)
        legs.push_back({static_cast<PlaceId>(draw_.below(i)), static_cast<PlaceId>(i),
                        std::chrono::seconds{draw_.between(5, 45)}});
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
      site_.plates.push_back({fmt::format("P{}", i + 1), "",
                              static_cast<PlaceId>(draw_.below(site_.places.size())), number, zones[i],
                              false});
    }
  }

  void add_modules(std::size_t count, std::size_t plates) {
    std::vector<std::uint8_t> used(plates, 0);
    for (std::size_t i = 0; i < count; ++i) {
      std::size_t plate = draw_.below(plates);
      while (used[plate] >= site_.family.plate.channels) plate = (plate + 1) % plates;
      const PlateSpec& spec = site_.plates[plate];
      ModuleSpec module;
      module.name = fmt::format("M{}", i + 1);
      module.place = draw_.percent(60) ? spec.place : static_cast<PlaceId>(draw_.below(site_.places.size()));
      module.intended = Address{spec.site, spec.zone, ++used[plate]};
      module.memory = factory_memory(site_.family.module);
      site_.modules.push_back(std::move(module));
    }
    // Some were done last week.
    if (!draw_.percent(30)) return;
    for (ModuleSpec& module : site_.modules) {
      if (!draw_.percent(25)) continue;
      module.memory.address = *module.intended;
      module.memory.power_up = PowerUp::off;
    }
  }

  void add_neighbour() {
    PlateSpec plate;
    plate.name = "N1";
    plate.neighbour = true;
    plate.place = static_cast<PlaceId>(site_.places.size());
    plate.site = site_.plates[0].site == 11 ? std::uint8_t{12} : std::uint8_t{11};
    plate.zone = site_.plates[0].zone;
    std::vector<WalkLeg> legs;
    for (PlaceId a = 0; a < site_.places.size(); ++a) {
      for (PlaceId b = 0; b < a; ++b) legs.push_back({a, b, site_.walk(a, b)});
    }
    site_.places.push_back({"next door"});
    legs.push_back({0, plate.place, 60s});
    site_.walks = shortest_walks(site_.places.size(), legs, 60s);
    site_.plates.push_back(plate);
  }

  /// Wired: plates and modules place by place, now and then with a branch. Radio: everybody hears everybody.
  void wire() {
    std::vector<sim::NodeId> order;
    for (PlaceId place = 0; place < site_.places.size(); ++place) {
      std::vector<sim::NodeId> here;
      for (DeviceId device = 0; device < site_.device_count(); ++device) {
        if (site_.place(device) == place) here.push_back(device);
      }
      draw_.shuffle(here);
      order.insert(order.end(), here.begin(), here.end());
    }
    sim::MediumSpec medium{site_.family.medium, site_.family.bus, {}, {}};
    for (DeviceId device = 0; device < site_.device_count(); ++device) medium.nodes.push_back(device);
    for (std::size_t i = 1; i < order.size(); ++i) {
      if (site_.family.medium == sim::MediumKind::radio) {
        for (std::size_t j = 0; j < i; ++j) medium.links.push_back(link(order[j], order[i]));
      } else {
        const std::size_t from = i > 1 && draw_.percent(15) ? draw_.below(i) : i - 1;
        medium.links.push_back(link(order[from], order[i]));
      }
    }
    build_network(site_, {medium});
  }
  static sim::Link link(sim::NodeId a, sim::NodeId b) { return {std::min(a, b), std::max(a, b)}; }

  Draw& draw_;
  Site site_;
};

// --- scripts that work ---

std::optional<Button> button_for(const PlateFamily& family, Command command) {
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    if (family.press[i].command == command) return static_cast<Button>(i);
  }
  return std::nullopt;
}

/// How long somebody looks when a channel is called, and when the lights are tried; by these the steps are
/// known again.
constexpr sim::Duration roll_call = 1s;
constexpr sim::Duration try_lights = 2s;
constexpr sim::Duration try_local = 3s;

Step wait_step(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

class ScriptMaker {
 public:
  ScriptMaker(Site site, Draw& draw) : draw_(draw) { scenario_.site = std::move(site); }

  /// The scenario as it was meant; nothing when the order that was drawn does not suit the time-outs.
  std::optional<Scenario> make() {
    RouteProblem problem{scenario_.site, scenario_.times, stops(), std::nullopt, 35};
    if (problem.stops.empty()) return std::nullopt;
    std::vector<std::size_t> order = zone_by_zone(problem);
    auto route = route_in_order(problem, order);
    if (!route) return std::nullopt;
    const RouteScript script = route_script(problem, *route);
    Person installer{"installer", script.scenario.people[0].place, {}};
    for (const RouteLeg& leg : script.legs) add_leg(script, leg, installer);
    add_tests(installer);
    scenario_.people = {installer};
    scenario_.seed = 1;
    return scenario_;
  }

 private:
  [[nodiscard]] std::vector<RouteStop> stops() const {
    std::vector<RouteStop> stops;
    const Site& site = scenario_.site;
    for (std::size_t i = 0; i < site.modules.size(); ++i) {
      const ModuleSpec& module = site.modules[i];
      if (module.memory.addressed()) continue;
      RouteStop stop{site.module_id(i), module.intended->channel, {}};
      for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
        if (!site.plates[plate].neighbour && site.plates[plate].zone == module.intended->zone)
          stop.plates.push_back(plate);
      }
      stops.push_back(std::move(stop));
    }
    return stops;
  }

  /// Plates one after another; the modules of each by channel, or as they come.
  std::vector<std::size_t> zone_by_zone(const RouteProblem& problem) {
    std::map<DeviceId, std::vector<std::size_t>> by_plate;
    for (std::size_t i = 0; i < problem.stops.size(); ++i) by_plate[problem.stops[i].plates[0]].push_back(i);
    std::vector<std::vector<std::size_t>> zones;
    for (auto& [plate, stops] : by_plate) {
      draw_.shuffle(stops);
      if (draw_.percent(70)) {
        std::sort(stops.begin(), stops.end(), [&](std::size_t a, std::size_t b) {
          return problem.stops[a].channel < problem.stops[b].channel;
        });
      }
      zones.push_back(stops);
    }
    draw_.shuffle(zones);
    std::vector<std::size_t> order;
    for (const auto& zone : zones) order.insert(order.end(), zone.begin(), zone.end());
    return order;
  }

  void add_leg(const RouteScript& script, const RouteLeg& leg, Person& installer) {
    const auto begin = script.scenario.people[0].script.begin() + leg.first_step;
    for (auto step = begin; step != begin + leg.steps; ++step) {
      if (step->checks.empty()) installer.script.push_back(*step);
    }
    if (draw_.percent(12))
      installer.script.push_back(wait_step(std::chrono::seconds{5 * draw_.between(2, 12)}));
  }

  /// Every plate once through its channels, to see that the right module shows itself at each; then on, every
  /// module's own button, and off.
  void add_tests(Person& installer) {
    const PlateFamily& family = scenario_.site.family.plate;
    installer.script.push_back(wait_step(1s));
    const auto press = [&](DeviceId plate, Button button) {
      installer.script.push_back(push_step(StepKind::press, plate, only(button), scenario_.times.press));
    };
    for (DeviceId plate = 0; plate < scenario_.site.plates.size(); ++plate) {
      const std::size_t channels = channels_of(plate);
      if (channels == 0) continue;
      installer.script.push_back(
          push_step(StepKind::hold, plate, family.setup_gesture, family.setup_hold + hold_margin));
      for (std::size_t channel = 0; channel < channels; ++channel) {
        press(plate, family.next);
        installer.script.push_back(wait_step(roll_call));
      }
      press(plate, family.leave);
    }
    press_all(Command::on, installer);
    // Then once round, from place to place: does each answer to its own button?
    for (PlaceId place = 0; place < scenario_.site.places.size(); ++place) {
      for (std::size_t i = 0; i < scenario_.site.modules.size(); ++i) {
        const DeviceId module = scenario_.site.module_id(i);
        if (scenario_.site.place(module) != place) continue;
        installer.script.push_back(push_step(StepKind::press, module, only(0), scenario_.times.press));
        installer.script.push_back(wait_step(try_local));
      }
    }
    press_all(Command::off, installer);
  }

  void press_all(Command command, Person& installer) const {
    const auto button = button_for(scenario_.site.family.plate, command);
    for (DeviceId plate = 0; plate < scenario_.site.plates.size(); ++plate) {
      if (scenario_.site.plates[plate].neighbour) continue;
      installer.script.push_back(push_step(StepKind::press, plate, only(*button), scenario_.times.press));
      installer.script.push_back(wait_step(try_lights));
    }
  }

  [[nodiscard]] std::size_t channels_of(DeviceId plate) const {
    std::size_t highest = 0;
    for (const ModuleSpec& module : scenario_.site.modules) {
      if (module.intended->zone == scenario_.site.plates[plate].zone &&
          !scenario_.site.plates[plate].neighbour)
        highest = std::max<std::size_t>(highest, module.intended->channel);
    }
    return highest;
  }

  Draw& draw_;
  Scenario scenario_;
};

// --- looks ---

/// Who rings up has looked twice.
constexpr unsigned least_symptoms = 2;

/// Where somebody looks, in the course of the script as told or when all is done.
struct Look {
  std::optional<std::uint32_t> after_step;
  DeviceId device = no_device;
  Fact fact = Fact::indicator;
  bool striking = false;  ///< spoken of only if the lamp is steady: somebody who was not called shows himself
};

/// What there is to be seen in the course of a script. While channels are called and lights are tried,
/// colleagues stand by the modules and call out.
class Looking {
 public:
  explicit Looking(const Scenario& told)
      : site_(told.site), script_(told.people[0].script), stands_(told.people[0].place) {}

  std::vector<Look> all() {
    for (step_ = 0; step_ < script_.size(); ++step_) look_after_step();
    for (DeviceId device = 0; device < site_.device_count(); ++device) {
      if (site_.is_neighbour(device)) continue;
      looks_.push_back({std::nullopt, device, Fact::indicator, false});
      if (!site_.is_plate(device)) looks_.push_back({std::nullopt, device, Fact::load, false});
    }
    return std::move(looks_);
  }

 private:
  void look_after_step() {
    const Step& step = script_[step_];
    if (step.device != no_device) stands_ = site_.place(step.device);
    if (step.kind == StepKind::hold) enter(step);
    if (step.kind == StepKind::wait && step_ > 0) look_around(step, script_[step_ - 1]);
    if (step.kind != StepKind::press || !site_.is_plate(step.device)) return;
    if (step.buttons == only(site_.family.plate.next)) ++channel_;
    if (step.buttons == only(site_.family.plate.previous)) --channel_;
    const bool assigns = step.buttons == only(site_.family.plate.assign) && listens_ != no_device;
    if (assigns && site_.place(listens_) == stands_) look(listens_, Fact::indicator);
  }

  void enter(const Step& step) {
    look(step.device, Fact::indicator);
    if (site_.is_plate(step.device)) {
      channel_ = 0;
    } else {
      listens_ = step.device;
    }
  }

  void look_around(const Step& wait, const Step& pressed) {
    if (pressed.kind != StepKind::press) return;
    if (!site_.is_plate(pressed.device)) {
      if (wait.duration == try_local) look(pressed.device, Fact::load);
      return;
    }
    for (std::size_t m = 0; m < site_.modules.size(); ++m) {
      const Address& intended = *site_.modules[m].intended;
      const bool of_zone = intended.zone == site_.plates[pressed.device].zone;
      const DeviceId module = site_.module_id(m);
      if (wait.duration == try_lights && of_zone) look(module, Fact::load);
      if (wait.duration != roll_call) continue;
      const bool called = of_zone && intended.channel == channel_;
      looks_.push_back({step_, module, Fact::indicator, !called});
    }
  }

  void look(DeviceId device, Fact fact) { looks_.push_back({step_, device, fact, false}); }

  const Site& site_;
  const std::vector<Step>& script_;
  PlaceId stands_;
  DeviceId listens_ = no_device;
  int channel_ = 0;
  std::uint32_t step_ = 0;
  std::vector<Look> looks_;
};

/// A scenario whose installer looks wherever a look is due. Steps are known by the step as told that they
/// stand for: `mark.line`, from 1; 0: none.
struct Watched {
  World world;
  std::vector<std::optional<std::string>> shown;  ///< by look; nothing: the step was never done
};

Watched run_watched(const Scenario& scenario, const std::vector<Look>& looks) {
  Scenario watched = scenario;
  std::vector<Step>& script = watched.people[0].script;
  std::vector<Step> with_looks;
  watched.checks.clear();
  const auto look_after = [&](std::optional<std::uint32_t> step) {
    Step see;
    see.kind = StepKind::see;
    for (std::uint32_t i = 0; i < looks.size(); ++i) {
      if (looks[i].after_step == step) see.checks.push_back(i);
    }
    if (!see.checks.empty()) with_looks.push_back(see);
  };
  for (std::size_t i = 0; i < script.size(); ++i) {
    with_looks.push_back(script[i]);
    const std::uint32_t line = script[i].mark.line;
    const bool last_of_its_line = i + 1 == script.size() || script[i + 1].mark.line != line;
    if (line != 0 && last_of_its_line) look_after(line - 1);
  }
  look_after(std::nullopt);
  for (const Look& look : looks) watched.checks.push_back({look.fact, look.device, {""}, false, {}});
  script = std::move(with_looks);

  Watched result{initial_world(watched), {}};
  result.shown.resize(looks.size());
  Simulation simulation{watched, result.world};
  simulation.on_check([&](std::uint32_t check, sim::EntryId) {
    const Look& look = looks[check];
    if (look.fact == Fact::indicator) {
      result.shown[check] = std::string{to_string(result.world.devices[look.device].indicator)};
    } else {
      const LoadState& load = result.world.loads[watched.site.module_index(look.device)];
      result.shown[check] = load.at(result.world.now) > 0 ? "lit" : "dark";
    }
    return true;
  });
  simulation.begin();
  while (!simulation.scripts_done()) simulation.step();
  return result;
}

// --- slips and faults ---

/// One thing that goes wrong: edits a scenario; nothing when it cannot be done there.
class Mischief {
 public:
  /// How often each is drawn: slips about twice as often as faults.
  static Mishap draw_kind(Draw& draw) {
    static constexpr sim::ByEnum<Mishap, unsigned> weights = {12u, 8u, 8u, 14u, 12u, 8u, 10u, 0u, 8u,
                                                              3u,  0u, 5u, 0u,  4u,  1u, 1u,  3u, 3u,
                                                              2u,  2u, 3u, 2u,  0u,  0u, 0u,  0u};
    unsigned sum = 0;
    for (const unsigned weight : weights) sum += weight;
    std::size_t at = draw.below(sum);
    for (const Mishap kind : sim::all_of<Mishap>()) {
      if (at < weights[kind]) return kind;
      at -= weights[kind];
    }
    return Mishap{};
  }

  /// `told`: the script as it was meant, by which steps are chosen whatever went wrong before.
  Mischief(const Scenario& told, Scenario& scenario, Draw& draw)
      : told_(told), scenario_(scenario), draw_(draw) {}

  std::optional<TrueCause> make(Mishap kind) {
    auto made = by_kind(kind);
    if (made) made->mishap = kind;
    return made;
  }

 private:
  using Said = std::optional<TrueCause>;

  Said by_kind(Mishap kind) {
    // clang-format off
    switch (kind) {
      case Mishap::forgot: return forgot();
      case Mishap::repeated: return repeated();
      case Mishap::wrong_button: return wrong_button();
      case Mishap::let_go_early: return let_go_early();
      case Mishap::wrong_module: return wrong_module(false);
      case Mishap::second_module: return wrong_module(true);
      case Mishap::took_longer: return took_longer();
      case Mishap::took_shorter: return std::nullopt;  // whoever does all sooner than told is in no trouble
      case Mishap::switch_wrong: return switch_wrong();
      case Mishap::bounced: return bounced();
      case Mishap::other_address: return other_address();
      case Mishap::other_generation: return std::nullopt;  // its sites know one family
      case Mishap::open_link: return broken_link(FaultKind::open);
      case Mishap::shorted_link: return broken_link(FaultKind::shorted);
      case Mishap::noisy_link: return broken_link(FaultKind::noisy);
      case Mishap::dead_device: return dead_device();
      case Mishap::power_cut: return power_cut();
      case Mishap::write_lost: return write_lost();
      case Mishap::stuck_button: return stuck_button();
      case Mishap::telegram_lost: return telegram_lost();
      case Mishap::neighbour: return neighbour();
      // Those are in the natural calls.
      case Mishap::exchanged:
      case Mishap::was_in_setup:
      case Mishap::other_hands:
      case Mishap::dead_load:
      case Mishap::other_power_up: return std::nullopt;
    }
    // clang-format on
    return std::nullopt;
  }

  /// Something done otherwise at a step as told.
  static TrueCause at_step(const Step& step, std::string text, DeviceId other = no_device) {
    return {Mishap::forgot, step.device, std::nullopt, step.mark.line - 1, other, std::move(text)};
  }
  /// Something that is the matter with a device.
  static TrueCause with(DeviceId device, std::string text) {
    return {Mishap::forgot, device, std::nullopt, std::nullopt, no_device, std::move(text)};
  }

  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] std::vector<Step>& script() { return scenario_.people[0].script; }

  [[nodiscard]] const std::vector<Step>& told_script() const { return told_.people[0].script; }

  /// Where a step as told stands now; nothing when it is there no more.
  std::optional<std::size_t> now_at(std::uint32_t line) {
    for (std::size_t i = 0; i < script().size(); ++i) {
      if (script()[i].mark.line == line) return i;
    }
    return std::nullopt;
  }

  /// A random step of which `fits` is true.
  template <class Fits>
  std::optional<std::size_t> some_step(Fits fits) {
    std::vector<std::uint32_t> lines;
    for (const Step& step : told_script()) {
      if (fits(step)) lines.push_back(step.mark.line);
    }
    if (lines.empty()) return std::nullopt;
    return now_at(draw_.of(lines));
  }
  /// Before the first step, or before any.
  std::optional<std::size_t> some_moment() {
    if (draw_.percent(50)) return 0;
    return now_at(1 + static_cast<std::uint32_t>(draw_.below(told_script().size())));
  }
  static bool is_push(const Step& step) {
    return step.kind == StepKind::press || step.kind == StepKind::hold;
  }
  [[nodiscard]] bool of_module(const Step& step) const {
    return step.device != no_device && !site().is_plate(step.device);
  }
  [[nodiscard]] bool is_assign(const Step& step) const {
    return step.kind == StepKind::press && !of_module(step) &&
           step.buttons == only(site().family.plate.assign);
  }
  [[nodiscard]] std::string told(const Step& step) const {
    return fmt::format("{} (step {})", describe(scenario_, step), step.mark.line);
  }
  /// Puts a step in that nobody tells of.
  void put_in(std::size_t before, Step step) {
    step.mark.line = 0;
    script().insert(script().begin() + static_cast<std::ptrdiff_t>(before), std::move(step));
  }

  Said forgot() {
    const auto at = some_step(is_push);
    if (!at) return std::nullopt;
    const TrueCause said = at_step(script()[*at], "forgot: " + told(script()[*at]));
    script().erase(script().begin() + static_cast<std::ptrdiff_t>(*at));
    return said;
  }

  Said repeated() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::press; });
    if (!at) return std::nullopt;
    put_in(*at, script()[*at]);
    return at_step(script()[*at + 1], "repeated: " + told(script()[*at + 1]));
  }

  Said wrong_button() {
    const auto at = some_step([this](const Step& step) {
      return is_push(step) && !of_module(step) && std::popcount(step.buttons) == 1;
    });
    if (!at) return std::nullopt;
    Step& step = script()[*at];
    const std::string said = "wrong button for: " + told(step);
    Buttons other = step.buttons;
    while (other == step.buttons)
      other = only(static_cast<Button>(draw_.below(site().family.plate.buttons.size())));
    step.buttons = other;
    return at_step(step, said + ", pressed " + buttons_text(site(), step.device, other));
  }

  Said let_go_early() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::hold; });
    if (!at) return std::nullopt;
    Step& step = script()[*at];
    const std::string said = "let go early: " + told(step);
    step.duration = scaled(site().setup_hold(step.device), 0.4 + 0.5 * draw_.uniform());
    return at_step(step, said);
  }

  std::optional<DeviceId> another_module(DeviceId right) {
    const bool near = draw_.percent(80);
    std::vector<DeviceId> others;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const DeviceId module = site().module_id(i);
      if (module != right && (!near || site().place(module) == site().place(right))) others.push_back(module);
    }
    if (others.empty()) return std::nullopt;
    return draw_.of(others);
  }

  Said wrong_module(bool as_well) {
    const auto at =
        some_step([this](const Step& step) { return step.kind == StepKind::hold && of_module(step); });
    if (!at) return std::nullopt;
    Step& step = script()[*at];
    const auto other = another_module(step.device);
    if (!other) return std::nullopt;
    if (as_well) {
      const std::string said = fmt::format("second module {} before: {}", site().name(*other), told(step));
      Step second = step;
      second.device = *other;
      const TrueCause made = at_step(step, said, *other);
      put_in(*at, second);
      return made;
    }
    const std::string said = fmt::format("wrong module {} for: {}", site().name(*other), told(step));
    const TrueCause made = at_step(step, said, *other);
    step.device = *other;
    return made;
  }

  /// On a way, or while waiting: somebody called, or the ladder was not where it should be.
  Said took_longer() {
    PlaceId stands = told_.people[0].place;
    const auto at = some_step([&](const Step& step) {
      const bool walks = step.device != no_device && site().place(step.device) != stands;
      if (step.device != no_device) stands = site().place(step.device);
      return walks || step.kind == StepKind::wait;
    });
    if (!at) return std::nullopt;
    const auto longer = std::chrono::seconds{draw_.between(60, 400)};
    const std::string said =
        fmt::format("took {} longer before: {}", duration_text(longer), told(script()[*at]));
    TrueCause made = at_step(script()[*at], said);
    made.device = no_device;
    put_in(*at, wait_step(longer));
    return made;
  }

  Said bounced() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::press; });
    if (!at) return std::nullopt;
    // Beyond the debounce time: the contact is taken to open and close again.
    script()[*at].bounce = site().family.debounce + std::chrono::milliseconds{draw_.between(2, 20)};
    return at_step(script()[*at], "bounced: " + told(script()[*at]));
  }

  Said switch_wrong() {
    std::vector<PlateSpec*> plates;
    for (PlateSpec& plate : scenario_.site.plates) {
      if (!plate.neighbour) plates.push_back(&plate);
    }
    PlateSpec& plate = *draw_.of(plates);
    const bool of_site = draw_.percent(50);
    const SwitchBank& bank = of_site ? site().family.plate.site_switches : site().family.plate.zone_switches;
    std::uint8_t& number = of_site ? plate.site : plate.zone;
    const std::uint8_t wrong = one_switch_off(bank, number);
    if (wrong > bank.largest() || wrong == number) return std::nullopt;
    const std::string said =
        fmt::format("{} of {} set to {} instead of {}", of_site ? "site" : "zone", plate.name, wrong, number);
    number = wrong;
    return with(static_cast<DeviceId>(&plate - scenario_.site.plates.data()), said);
  }

  std::uint8_t one_switch_off(const SwitchBank& bank, std::uint8_t number) {
    const std::size_t which = draw_.below(bank.count);
    if (bank.kind == SwitchBank::Kind::binary) return static_cast<std::uint8_t>(number ^ (1u << which));
    const unsigned unit = which == 0 ? 1 : 10;
    const unsigned digit = number / unit % 10;
    const bool up = digit == 0 || (digit < 9 && draw_.percent(50));
    return static_cast<std::uint8_t>(up ? number + unit : number - unit);
  }

  Said other_address() {
    const std::size_t index = draw_.below(site().modules.size());
    ModuleSpec& module = scenario_.site.modules[index];
    Address address;
    if (draw_.percent(50)) {
      address = *draw_.of(site().modules).intended;
    } else {
      address = {static_cast<std::uint8_t>(draw_.between(2, site().family.plate.site_switches.largest())),
                 static_cast<std::uint8_t>(draw_.between(1, site().family.plate.zone_switches.largest())),
                 static_cast<std::uint8_t>(draw_.between(1, site().family.plate.channels))};
    }
    if (address == module.memory.address) return std::nullopt;
    module.memory.address = address;
    module.memory.power_up = PowerUp::off;
    return with(site().module_id(index), fmt::format("{} came with {}", module.name, to_string(address)));
  }

  Said broken_link(FaultKind kind) {
    if (site().family.medium == sim::MediumKind::radio || site().network.links.empty()) return std::nullopt;
    const auto at = some_moment();
    if (!at) return std::nullopt;
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = kind;
    step.fault.link = static_cast<std::uint32_t>(draw_.below(site().network.links.size()));
    if (kind == FaultKind::noisy)
      step.fault.bit_error_ppb = static_cast<std::uint32_t>(draw_.between(5, 40)) * 1'000'000;
    const std::string said = fmt::format("{} before step {}", describe(scenario_, step), *at + 1);
    put_in(*at, step);
    TrueCause made = with(no_device, said);
    made.link = step.fault.link;
    return made;
  }

  static Step power(DeviceId device, bool on) {
    Step step;
    step.kind = StepKind::power;
    step.device = device;
    step.on = on;
    return step;
  }

  DeviceId some_own_device() {
    while (true) {
      const auto device = static_cast<DeviceId>(draw_.below(site().device_count()));
      if (!site().is_neighbour(device)) return device;
    }
  }

  Said dead_device() {
    const auto at = some_moment();
    const DeviceId device = some_own_device();
    if (!at) return std::nullopt;
    put_in(*at, power(device, false));
    return with(device, fmt::format("{} is dead from step {}", site().name(device), *at + 1));
  }

  Said power_cut() {
    const auto at = some_step([](const Step&) { return true; });
    const DeviceId device = draw_.percent(50) ? no_device : some_own_device();
    if (!at) return std::nullopt;
    put_in(*at, power(device, true));
    put_in(*at, power(device, false));
    return with(device, fmt::format("power of {} blinked before step {}",
                                    device == no_device ? "all" : site().name(device), *at + 1));
  }

  /// Somebody switches a circuit off just as a module on it writes.
  Said write_lost() {
    const auto at = some_step([this](const Step& step) { return is_assign(step); });
    if (!at) return std::nullopt;
    const std::string step = told(script()[*at]);
    World world = initial_world(scenario_);
    Simulation simulation{scenario_, world};
    simulation.begin();
    while (!simulation.scripts_done() && world.people[0].step < *at) simulation.step();
    const auto writes = [&] {
      return std::find_if(world.modules.begin(), world.modules.end(),
                          [](const ModuleState& m) { return m.storing != 0; });
    };
    while (!simulation.scripts_done() && world.people[0].step == *at && writes() == world.modules.end())
      simulation.step();
    const auto writing = writes();
    if (writing == world.modules.end()) return std::nullopt;
    const DeviceId module = site().module_id(static_cast<std::size_t>(writing - world.modules.begin()));
    Step off = power(module, false);
    off.at = world.now + site().family.module.store / 2;
    Step on = power(module, true);
    on.at = *off.at + 2s;
    scenario_.people.push_back({fmt::format("colleague {}", scenario_.people.size()), 0, {off, on}});
    return with(module, fmt::format("power of {} went as it wrote after: {}", site().name(module), step));
  }

  Said stuck_button() {
    const DeviceId device = some_own_device();
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = FaultKind::stuck;
    step.fault.device = device;
    step.fault.button = site().is_plate(device)
                            ? static_cast<Button>(draw_.below(site().family.plate.buttons.size()))
                            : Button{0};
    // A button sticks when it was pressed, or was stuck all along.
    std::size_t at = 0;
    const auto used = some_step([&](const Step& each) {
      return is_push(each) && each.device == device && (each.buttons & only(step.fault.button)) != 0;
    });
    if (used && draw_.percent(70)) at = *used + 1;
    put_in(at, step);
    return with(device, fmt::format("{} sticks from step {}",
                                    buttons_text(site(), device, only(step.fault.button)), at + 1));
  }

  Said telegram_lost() {
    const auto at = some_step([this](const Step& step) { return is_assign(step); });
    if (!at) return std::nullopt;
    const std::string said = told(script()[*at]);
    DeviceId module = no_device;
    for (const Step& step : told_script()) {
      if (step.mark.line > script()[*at].mark.line) break;
      if (step.kind == StepKind::hold && of_module(step)) module = step.device;
    }
    if (module == no_device) return std::nullopt;
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = FaultKind::deaf;
    step.fault.device = module;
    step.fault.count = 1;
    put_in(*at, step);
    TrueCause made =
        at_step(script()[*at + 1], fmt::format("{} missed the telegram of: {}", site().name(module), said));
    made.device = module;
    return made;
  }

  /// The plate next door has our numbers, and stays so: a thing to be found even when nobody presses it.
  Said neighbour() {
    const auto next_door = std::find_if(site().plates.begin(), site().plates.end(),
                                        [](const PlateSpec& p) { return p.neighbour; });
    if (next_door == site().plates.end()) return std::nullopt;
    const auto plate = static_cast<DeviceId>(next_door - site().plates.begin());
    const auto ours = static_cast<DeviceId>(draw_.below(plate));
    scenario_.site.plates[plate].site = site().plates[ours].site;
    scenario_.site.plates[plate].zone = site().plates[ours].zone;
    World world = initial_world(scenario_);
    Simulation simulation{scenario_, world};
    simulation.begin();
    while (!simulation.scripts_done()) simulation.step();
    const auto on = button_for(site().family.plate, Command::on);
    Step press = push_step(StepKind::press, plate, only(*on), scenario_.times.press);
    press.at = world.now - std::chrono::milliseconds{draw_.between(1000, 1900)};
    scenario_.people.push_back(
        {fmt::format("neighbour {}", scenario_.people.size()), site().place(plate), {press}});
    return with(plate, fmt::format("{} has the numbers of {} and was pressed", site().name(plate),
                                   site().name(ours)));
  }

  const Scenario& told_;
  Scenario& scenario_;
  Draw& draw_;
};

// --- cases ---

/// Numbers the steps as told, from 1.
void mark_steps(Scenario& told) {
  std::uint32_t line = 0;
  for (Step& step : told.people[0].script) step.mark.line = ++line;
}

/// Really it took somewhat longer or shorter.
void loosen(Scenario& truth, Draw& draw) {
  for (Step& step : truth.people[0].script) {
    if (step.kind == StepKind::wait && step.duration > 5s)
      step.duration = scaled(step.duration, draw.around_one(0.2));
  }
  const double pace = draw.around_one(0.1);
  for (sim::Duration& walk : truth.site.walks) walk = scaled(walk, pace);
}

bool works(const Scenario& scenario, const World& world) {
  for (std::size_t i = 0; i < world.modules.size(); ++i) {
    if (world.modules[i].memory.address != *scenario.site.modules[i].intended) return false;
  }
  return std::none_of(world.devices.begin(), world.devices.end(),
                      [](const DeviceState& d) { return d.mode == Mode::setup; });
}

class CaseMaker {
 public:
  CaseMaker(const Families& families, std::uint64_t seed, std::size_t slips)
      : families_(families), seed_(seed), slips_(slips) {}

  DiagnosisCase make() {
    for (std::uint32_t attempt = 0;; ++attempt) {
      Draw draw{seed_, attempt};
      auto told = ScriptMaker{SiteMaker{families_, draw}.make(), draw}.make();
      if (!told) continue;
      mark_steps(*told);
      looks_ = Looking{*told}.all();
      as_told_ = run_watched(*told, looks_);
      if (!works(*told, as_told_.world)) continue;
      Scenario truth = *told;
      truth.seed = draw.word();
      loosen(truth, draw);
      if (!works(truth, run_watched(truth, looks_).world)) continue;
      // A site is hard to come by; several mischiefs are tried on it.
      for (int tries = 0; tries < 40; ++tries) {
        if (auto made = spoil(*told, truth, draw)) return std::move(*made);
      }
    }
  }

 private:
  std::optional<DiagnosisCase> spoil(const Scenario& told, const Scenario& sound, Draw& draw) {
    DiagnosisCase made;
    made.seed = seed_;
    std::vector<Mishap> kinds;
    std::vector<Watched> alone;
    made.truth = sound;
    // Each is made from its own draws, so that it can be made again without the other.
    std::vector<Draw> draws;
    for (std::size_t i = 0; i < slips_; ++i) {
      kinds.push_back(Mischief::draw_kind(draw));
      draws.emplace_back(draw.word(), 0u);
      Draw own = draws.back();
      const auto said = Mischief{told, made.truth, own}.make(kinds.back());
      if (!said) return std::nullopt;
      made.mischief.push_back(*said);
    }
    Watched truth = run_watched(made.truth, looks_);
    if (!differs(told, as_told_, truth)) return std::nullopt;
    if (slips_ > 1) {
      for (std::size_t i = 0; i < slips_; ++i) {
        Scenario only_this = sound;
        Draw own = draws[i];
        if (!Mischief{told, only_this, own}.make(kinds[i])) return std::nullopt;
        alone.push_back(run_watched(only_this, looks_));
        if (!differs(told, as_told_, alone.back()) || !differs(told, alone.back(), truth))
          return std::nullopt;
      }
    } else {
      alone.push_back(as_told_);
    }
    made.report.believed = told;
    for (std::uint32_t i = 0; i < told.people[0].script.size(); ++i) {
      const Step& step = told.people[0].script[i];
      if (step.kind == StepKind::wait && step.duration > 5s) made.report.loose.push_back(i);
    }
    for (int tries = 0; tries < 10; ++tries) {
      if (!mention(made.report, truth, alone, draw)) continue;
      made.world = std::move(truth.world);
      return made;
    }
    return std::nullopt;
  }

  [[nodiscard]] bool differs(const Scenario& told, const Watched& a, const Watched& b) const {
    return signature(told.site, a.world) != signature(told.site, b.world);
  }

  /// What is said on the telephone; false when nothing of it shows what is wrong.
  bool mention(Report& report, const Watched& truth, const std::vector<Watched>& without, Draw& draw) const {
    report.seen.clear();
    std::vector<unsigned> shown(without.size(), 0);
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      const Look& look = looks_[i];
      if (!truth.shown[i] || (look.striking && *truth.shown[i] != "steady")) continue;
      if (draw.one_in(3)) continue;
      const bool wrong = draw.one_in(50);
      Seen seen;
      seen.device = look.device;
      seen.fact = look.fact;
      seen.after_step = look.after_step;
      seen.what = wrong ? otherwise(*truth.shown[i], look.fact, draw) : *truth.shown[i];
      report.seen.push_back(std::move(seen));
      for (std::size_t w = 0; w < without.size(); ++w) {
        if (!wrong && truth.shown[i] != without[w].shown[i] && truth.shown[i] != as_told_.shown[i])
          ++shown[w];
      }
    }
    return std::all_of(shown.begin(), shown.end(), [](unsigned each) { return each >= least_symptoms; });
  }

  static std::string otherwise(const std::string& really, Fact fact, Draw& draw) {
    if (fact == Fact::load) return really == "lit" ? "dark" : "lit";
    static const std::vector<std::string> patterns{"dark", "blink", "breathe", "steady", "blip"};
    while (true) {
      const std::string& other = draw.of(patterns);
      if (other != really) return other;
    }
  }

  const Families& families_;
  std::uint64_t seed_;
  std::size_t slips_;
  std::vector<Look> looks_;
  Watched as_told_;
};

}  // namespace

std::vector<std::uint32_t> signature(const Site& site, const World& world) {
  std::vector<std::uint32_t> all;
  const auto spoken_to = [&](const Address& address) {
    return std::any_of(world.plates.begin(), world.plates.end(), [&](const PlateState& plate) {
      return plate.site == address.site && plate.zone == address.zone;
    });
  };
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const DeviceState& device = world.devices[i];
    all.push_back(static_cast<std::uint32_t>(device.mode) | static_cast<std::uint32_t>(device.powered) << 8 |
                  static_cast<std::uint32_t>(device.stuck) << 16);
  }
  for (const PlateState& plate : world.plates)
    all.push_back(plate.site | static_cast<std::uint32_t>(plate.zone) << 8);
  for (const ModuleState& module : world.modules) {
    const Address& address = module.memory.address;
    std::uint32_t known = address.site | static_cast<std::uint32_t>(address.zone) << 8 |
                          static_cast<std::uint32_t>(address.channel) << 16;
    if (module.memory.addressed() && !spoken_to(address)) known = 0xffffff;
    all.push_back(known | static_cast<std::uint32_t>(module.memory.power_up) << 24);
  }
  for (const sim::Medium::Impairment& impairment : world.medium.impairments()) {
    if (impairment.state == sim::LinkState::sound) continue;
    // A short silences the whole line: nothing on it tells where the short is.
    const bool shorted = impairment.state == sim::LinkState::shorted;
    all.push_back((shorted ? 0xffff : impairment.link) | static_cast<std::uint32_t>(impairment.state) << 24);
  }
  return all;
}

DiagnosisCase make_case(const Families& families, std::uint64_t seed, std::size_t slips) {
  return CaseMaker{families, seed, slips}.make();
}

}  // namespace drybus::bench
