#include "model/planning/route_script.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/planning/ways_into_setup.h"
#include "model/run/run.h"

namespace drybus::model {

namespace {

class ScriptWriter {
 public:
  ScriptWriter(const RouteProblem& problem, const Route& route)
      : problem_(problem), route_(route), times_(problem) {
    script_.scenario.site = problem.site;
    script_.scenario.times = problem.times;
    script_.scenario.people.push_back({"installer", 0, {}});
  }

  RouteScript write() {
    set_plates();
    for (std::size_t i = 0; i < route_.visits.size(); ++i) alone(i);
    together();
    program_scenes();
    Person& installer = script_.scenario.people[0];
    installer.place = problem_.start.value_or(first_place(problem_.site, installer.script));
    expect_all();
    return std::move(script_);
  }

 private:
  [[nodiscard]] const Site& site() const { return problem_.site; }
  [[nodiscard]] const PlateFamily& family_of(DeviceId plate) const {
    return problem_.site.plate_family(plate);
  }
  [[nodiscard]] std::vector<Step>& steps() { return script_.scenario.people[0].script; }

  // --- steps ---

  void tap(DeviceId plate, Button button) {
    steps().push_back(push_step(StepKind::press, plate, only(button), problem_.times.press));
  }
  [[nodiscard]] Step module_press(DeviceId module) const {
    return push_step(StepKind::press, module, only(0), problem_.times.press);
  }
  [[nodiscard]] Step walk_to(DeviceId device) const {
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = site().place(device);
    return walk;
  }

  void look(DeviceId device, Pattern pattern) {
    check(StepKind::see, {Fact::indicator, device, {std::string{to_string(pattern)}}, true, {}});
  }
  void check(StepKind kind, Check wanted) {
    Step step;
    step.kind = kind;
    step.checks.push_back(static_cast<std::uint32_t>(script_.scenario.checks.size()));
    script_.scenario.checks.push_back(std::move(wanted));
    steps().push_back(std::move(step));
  }

  void enter_plate(DeviceId plate) {
    steps().push_back(plate_gesture(plate));
    look(plate, Pattern::blink);
    channel_ = times_.first_channel(plate);
  }
  [[nodiscard]] Step plate_gesture(DeviceId plate) const {
    return push_step(StepKind::hold, plate, family_of(plate).setup_gesture,
                     family_of(plate).setup_hold + hold_margin);
  }
  /// A module that asks is out of setup again before anybody can look.
  void enter_module(DeviceId module) {
    add_setup_steps(site(), module, hold_margin, steps());
    if (!asks(site(), module)) look(module, Pattern::blink);
  }
  void step_to(DeviceId plate, std::uint8_t channel) {
    for (; channel_ < channel; ++channel_) tap(plate, family_of(plate).next);
    for (; channel_ > channel; --channel_) tap(plate, family_of(plate).previous);
  }

  /// In the order of the site, for the board comes first anyway.
  void set_plates() {
    if (problem_.to_set.empty()) return;
    const auto supply = [this](bool restored) {
      for (const Step& step : isolation_steps(restored)) steps().push_back(step);
    };
    supply(false);
    for (const PlateToSet& found : problem_.to_set) {
      PlateSpec& plate = script_.scenario.site.plates[found.plate];
      Step step;
      step.kind = StepKind::switches;
      step.device = found.plate;
      step.site = plate.site;
      step.zone = plate.zone;
      plate.site = found.site;
      plate.zone = found.zone;
      steps().push_back(step);
      steps().push_back(wait_step(setting_takes));
    }
    supply(true);
    script_.cover_work = static_cast<std::uint32_t>(steps().size());
  }

  // --- legs ---

  [[nodiscard]] bool leaves_after(std::size_t index) const {
    return index + 1 == route_.visits.size() || route_.visits[index + 1].order != VisitOrder::go_on;
  }

  void alone(std::size_t index) {
    const Visit& visit = route_.visits[index];
    const RouteStop& stop = problem_.stops[visit.stop];
    RouteLeg leg{RouteLeg::Kind::alone,
                 visit,
                 visit.order != VisitOrder::go_on,
                 leaves_after(index),
                 static_cast<std::uint32_t>(steps().size()),
                 0};
    if (visit.order == VisitOrder::plate_first) enter_plate(visit.plate);
    if (times_.asks(visit.stop)) {
      step_to(visit.plate, times_.stands_for(visit.stop));
      enter_module(stop.module);
      channel_ = stop.channel;
    } else {
      enter_module(stop.module);
      if (visit.order == VisitOrder::module_first) enter_plate(visit.plate);
      step_to(visit.plate, stop.channel);
      tap(visit.plate, family_of(visit.plate).assign);
    }
    if (times_.confirms(visit.stop)) confirm(stop.module);
    if (leg.leaves) tap(visit.plate, family_of(visit.plate).leave);
    end(leg);
  }

  void confirm(DeviceId module) {
    steps().push_back(walk_to(module));
    look(module, Pattern::steady);
    steps().push_back(module_press(module));
  }

  void end(RouteLeg& leg) {
    leg.steps = static_cast<std::uint32_t>(steps().size()) - leg.first_step;
    script_.legs.push_back(leg);
  }

  /// Both agree on the hour; the second person goes to the module in good time.
  void together() {
    if (route_.apart.empty()) return;
    script_.scenario.people.push_back({"second person", no_place, {}});
    Person& second = script_.scenario.people[1];
    second.place = problem_.site.place(problem_.stops[route_.apart[0]].module);
    sim::Instant second_free = sim::start_of_run;
    PlaceId second_stands = second.place;
    for (const std::size_t index : route_.apart) {
      const RouteStop& stop = problem_.stops[index];
      const PlaceId there = problem_.site.place(stop.module);
      const sim::Instant second_ready = second_free + problem_.site.walk(second_stands, there);
      second.script.push_back(walk_to(stop.module));
      second_free = meet(stop, index, second_ready);
      second_stands = there;
    }
  }

  /// One leg for two; tells when the second person is free again.
  sim::Instant meet(const RouteStop& stop, std::size_t index, sim::Instant second_ready) {
    const DeviceId plate = stop.plates.front();
    RouteLeg leg{RouteLeg::Kind::together,
                 {index, plate, VisitOrder::plate_first},
                 true,
                 true,
                 static_cast<std::uint32_t>(steps().size()),
                 0};
    steps().push_back(walk_to(plate));
    Step gesture = plate_gesture(plate);
    gesture.at = std::max(ends(), second_ready);
    steps().push_back(gesture);
    look(plate, Pattern::blink);
    channel_ = times_.first_channel(plate);
    step_to(plate, times_.stands_for(index));
    std::vector<Step>& theirs = script_.scenario.people[1].script;
    const sim::Instant called = ends();
    const std::size_t first = theirs.size();
    add_setup_steps(problem_.site, stop.module, hold_margin, theirs);
    theirs[first].at = called;
    const sim::Instant in_setup = called + times_.way(index);
    constexpr sim::Duration calling = std::chrono::seconds{1};
    if (!times_.asks(index)) press_at(plate, family_of(plate).assign, in_setup + calling);
    sim::Instant done = in_setup;
    if (times_.confirms(index)) {
      Step confirming = module_press(stop.module);
      confirming.at = ends() + calling;
      theirs.push_back(confirming);
      done = *confirming.at + times_.tap();
    }
    if (done + calling > ends()) {
      press_at(plate, family_of(plate).leave, done + calling);
    } else {
      tap(plate, family_of(plate).leave);
    }
    end(leg);
    return done;
  }

  void press_at(DeviceId plate, Button button, sim::Instant at) {
    Step press = push_step(StepKind::press, plate, only(button), problem_.times.press);
    press.at = at;
    steps().push_back(press);
  }

  [[nodiscard]] sim::Instant ends() const {
    Person installer = script_.scenario.people[0];
    installer.place = problem_.start.value_or(first_place(problem_.site, installer.script));
    return timetable(problem_.site, problem_.times, installer).ends;
  }

  /// What the site wants of scenes and the modules have not.
  void program_scenes() {
    std::vector<unsigned> wanted;
    for (const ModuleSpec& module : problem_.site.modules)
      wanted.push_back(scenes_to_store(module, module.memory));
    script_.scenes = scene_work(problem_.site, problem_.times, wanted);
    script_.scenes_from = static_cast<std::uint32_t>(steps().size());
    steps().insert(steps().end(), script_.scenes.steps.begin(), script_.scenes.steps.end());
  }

  void expect_all() {
    Step wait;
    wait.kind = StepKind::wait;
    wait.duration = std::chrono::seconds{2};
    steps().push_back(wait);
    for (const ModuleSpec& module : problem_.site.modules) {
      if (module.neighbour || !module.intended) continue;
      const DeviceId id = *problem_.site.find_device(module.name);
      check(StepKind::expect, {Fact::address, id, {to_string(*module.intended)}, false, {}});
    }
    check(StepKind::expect, {Fact::findings, no_device, findings_on_the_way(), false, {}});
  }

  /// What is out of step before anything is addressed, or while one module still holds what another is to have, and is over
  /// in the end.
  [[nodiscard]] std::vector<std::string> findings_on_the_way() const {
    sim::Instant set = sim::start_of_run;
    if (!problem_.to_set.empty()) {
      Person setting = script_.scenario.people[0];
      setting.script.resize(script_.cover_work);
      set = timetable(problem_.site, problem_.times, setting).ends;
    }
    std::set<std::string> ids;
    RunOptions options;
    options.plain = true;
    for (const Finding& finding : run(script_.scenario, options).findings) {
      const bool of_addresses = finding.id == FindingId::shared_address ||
                                finding.id == FindingId::orphan_address ||
                                finding.id == FindingId::wrong_address;
      if (finding.until && (finding.at <= set || of_addresses)) ids.emplace(to_string(finding.id));
      // Told beside the route: nobody can store it with these keys.
      if (finding.id == FindingId::scene_wrong && !script_.scenes.cannot.empty())
        ids.emplace(to_string(finding.id));
    }
    return {ids.begin(), ids.end()};
  }

  const RouteProblem& problem_;
  const Route& route_;
  RouteTimes times_;
  RouteScript script_;
  std::uint8_t channel_ = 0;
};

}  // namespace

RouteScript route_script(const RouteProblem& problem, const Route& route) {
  return ScriptWriter{problem, route}.write();
}

std::vector<std::pair<DeviceId, unsigned>> passes(const std::vector<RouteLeg>& legs) {
  std::vector<std::pair<DeviceId, unsigned>> counted;
  for (const RouteLeg& leg : legs) {
    if (!leg.enters || leg.kind == RouteLeg::Kind::together) continue;
    const auto known = std::find_if(counted.begin(), counted.end(),
                                    [&leg](const auto& each) { return each.first == leg.visit.plate; });
    if (known == counted.end()) {
      counted.emplace_back(leg.visit.plate, 1u);
    } else {
      ++known->second;
    }
  }
  return counted;
}

}  // namespace drybus::model
