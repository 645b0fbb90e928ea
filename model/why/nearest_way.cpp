#include "model/why/nearest_way.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/family/address.h"
#include "model/people/setup_steps.h"
#include "model/record/describe.h"
#include "model/record/way_into_setup.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/partners.h"

namespace drybus::model {

namespace {

sim::Duration slowest_walk(const Scenario& scenario) {
  sim::Duration slowest{};
  for (const sim::Duration walk : scenario.site.walks) slowest = std::max(slowest, walk);
  return slowest;
}

/// Whether the plate gives out that site and zone, and is ours.
bool can_give(const PlateSpec& plate, const Address& address) {
  return !plate.neighbour && plate.site == address.site && plate.zone == address.zone;
}

/// The address that a plate of ours can give, if that is what is asked for.
std::optional<Address> address_to_give(const Scenario& scenario, const WhyQuestion& question,
                                       const std::string& value) {
  const auto wanted = parse_address(value);
  const Site& site = scenario.site;
  if (question.fact != Fact::address || !wanted || site.is_plate(question.device)) return std::nullopt;
  const bool given = std::any_of(site.plates.begin(), site.plates.end(),
                                 [&](const PlateSpec& plate) { return can_give(plate, *wanted); });
  return given ? wanted : std::nullopt;
}

/// Where something was put in, a step may come after its hour: it is done when its turn comes, and says so.
void forget_hours_gone_by(Scenario& scenario) {
  const Timetable times = timetable(scenario.site, scenario.times, scenario.people[0]);
  for (const LateStep& late : times.late) scenario.people[0].script[late.step].at.reset();
}

/// The findings that `earlier` does not have, whenever they began.
std::vector<Finding> without(std::vector<Finding> findings, const std::vector<Finding>& earlier) {
  for (const Finding& each : earlier) {
    const auto same = std::find_if(findings.begin(), findings.end(), [&](const Finding& finding) {
      return finding.id == each.id && finding.devices.front() == each.devices.front();
    });
    if (same != findings.end()) findings.erase(same);
  }
  return findings;
}

/// The search for one answer.
class WaySearch {
 public:
  WaySearch(const Scenario& scenario, const WhyQuestion& question, const std::string& value)
      : scenario_(scenario),
        question_(question),
        value_(value),
        findings_before_(run_of(scenario).findings) {}

  std::optional<NearestWay> find() {
    using Kind = bool (WaySearch::*)(std::size_t);
    for (const Kind kind : {&WaySearch::hold_longer, &WaySearch::wait_less}) {
      if (anywhere(kind)) return std::move(found_);
    }
    if (walk_faster()) return std::move(found_);
    for (const Kind kind : {&WaySearch::do_again, &WaySearch::leave_out, &WaySearch::put_in}) {
      if (anywhere(kind)) return std::move(found_);
    }
    if (put_in(script().size())) return std::move(found_);
    if (address_it()) return std::move(found_);
    if (set_switches()) return std::move(found_);
    if (next_best_) next_best_->tried = tried_;
    return std::move(next_best_);
  }

 private:
  [[nodiscard]] const std::vector<Step>& script() const { return scenario_.people[0].script; }

  [[nodiscard]] RunResult run_of(const Scenario& changed) const {
    RunOptions options;
    options.plain = true;
    if (question_.at) options.until = *question_.at - sim::start_of_run;
    return run(changed, options);
  }

  /// The new findings of a run in which the fact is as wanted; nothing if it is not.
  std::optional<std::vector<Finding>> outcome(const Scenario& changed) {
    ++tried_;
    RunResult result = run_of(changed);
    const bool in_time = question_.at.has_value() || !result.unfinished;
    if (!in_time || !fact_is(changed, result.world, {question_.fact, question_.device, {value_}, false, {}}))
      return std::nullopt;
    return without(std::move(result.findings), findings_before_);
  }

  bool holds(const Scenario& changed) {
    const auto found = outcome(changed);
    return found && found->empty();
  }

  /// A way that puts something else out of step is only the next best.
  bool accept(std::string change, Scenario changed) {
    auto found = outcome(changed);
    if (!found) return false;
    forget_hours_gone_by(changed);
    NearestWay way{std::move(change), std::move(changed), tried_, std::move(*found)};
    if (way.found.empty()) {
      found_ = std::move(way);
      return true;
    }
    if (!next_best_ || way.found.size() < next_best_->found.size()) next_best_ = std::move(way);
    return false;
  }

  [[nodiscard]] sim::Duration gesture_time(DeviceId device, Buttons buttons) const {
    const Site& site = scenario_.site;
    return buttons == site.setup_gesture(device) ? site.setup_hold(device) : sim::Duration::zero();
  }

  [[nodiscard]] std::string told(const Step& step) const {
    const std::string place =
        step.mark.line == 0 ? "" : fmt::format(" ({}:{})", scenario_.files[step.mark.file], step.mark.line);
    return describe(scenario_, step) + place;
  }

  [[nodiscard]] std::string before(std::size_t i) const {
    return i == script().size() ? tr("at the end") : tr("before: {}", told(script()[i]));
  }

  bool anywhere(bool (WaySearch::*kind)(std::size_t)) {
    for (std::size_t i = 0; i < script().size(); ++i) {
      if ((this->*kind)(i)) return true;
    }
    return false;
  }

  bool hold_longer(std::size_t i) {
    const Step& step = script()[i];
    const bool button = step.kind == StepKind::hold || step.kind == StepKind::press;
    if (!button) return false;
    const sim::Duration needed = gesture_time(step.device, step.buttons);
    if (step.kind == StepKind::press || needed == sim::Duration::zero() || step.duration >= needed)
      return false;
    Scenario changed = scenario_;
    changed.people[0].script[i].duration = needed + margin;
    return accept(tr("had they held on for {}: {}", duration_text(needed + margin), told(step)),
                  std::move(changed));
  }

  bool do_again(std::size_t i) {
    const Step& step = script()[i];
    if (step.kind != StepKind::press && step.kind != StepKind::hold) return false;
    Scenario changed = scenario_;
    auto& steps = changed.people[0].script;
    steps.insert(steps.begin() + static_cast<std::ptrdiff_t>(i), step);
    return accept(tr("had they done this once more: {}", told(step)), std::move(changed));
  }

  bool leave_out(std::size_t i) {
    const Step& step = script()[i];
    const bool only_looks =
        step.kind == StepKind::see || step.kind == StepKind::expect || step.kind == StepKind::note;
    if (only_looks && !step.at) return false;
    Scenario changed = scenario_;
    auto& steps = changed.people[0].script;
    steps.erase(steps.begin() + static_cast<std::ptrdiff_t>(i));
    return accept(tr("had they not done this: {}", told(step)), std::move(changed));
  }

  /// The longest of the shorter times that does it, to a tenth of a second. REQUIRES: no time at all does it.
  template <class Make>
  sim::Duration longest(sim::Duration whole, const Make& make) {
    sim::Duration good{};
    sim::Duration bad = whole;
    while (bad - good > resolution) {
      const sim::Duration middle = good + (bad - good) / 2 / resolution * resolution;
      if (middle == good) break;
      (holds(make(middle)) ? good : bad) = middle;
    }
    return good;
  }

  bool wait_less(std::size_t i) {
    const Step& step = script()[i];
    if (step.kind != StepKind::wait) return false;
    const auto waiting = [&](sim::Duration time) {
      Scenario changed = scenario_;
      changed.people[0].script[i].duration = time;
      return changed;
    };
    if (!accept(tr("had they not waited: {}", told(step)), waiting({}))) return false;
    const sim::Duration time = longest(step.duration, waiting);
    return accept(tr("had they waited {} at most: {}", duration_text(time), told(step)), waiting(time));
  }

  bool walk_faster() {
    const sim::Duration slowest = slowest_walk(scenario_);
    const auto walking = [&](sim::Duration time) {
      Scenario changed = scenario_;
      for (sim::Duration& walk : changed.site.walks) walk = std::min(walk, time);
      return changed;
    };
    if (slowest == sim::Duration::zero()) return false;
    if (!accept(tr("had no walk taken any time"), walking({}))) return false;
    const sim::Duration time = longest(slowest, walking);
    return accept(tr("had no walk taken more than {}", duration_text(time)), walking(time));
  }

  /// Before this step: some device's setup gesture, or the plate stepped by one.
  bool put_in(std::size_t i) {
    const Site& site = scenario_.site;
    for (std::size_t d = 0; d < site.device_count(); ++d) {
      const auto device = static_cast<DeviceId>(d);
      if (site.is_neighbour(device)) continue;
      if (!site.is_plate(device) && confirmed_within(site, device) > sim::Duration::zero() &&
          put_in(i, {act(StepKind::press, device, only(0))}))
        return true;
      if (put_in_setup(i, device)) return true;
      if (!site.is_plate(device)) continue;
      for (const Button button : {site.plate_family(device).next, site.plate_family(device).previous,
                                  site.plate_family(device).assign}) {
        if (button != no_button && put_in(i, {act(StepKind::press, device, only(button))})) return true;
      }
    }
    return false;
  }

  bool put_in_setup(std::size_t i, DeviceId device) {
    const Site& site = scenario_.site;
    if (!by_supply(site, device) && site.setup_gesture(device) == 0) return false;
    std::vector<Step> steps;
    add_setup_steps(site, device, margin, steps);
    return by_supply(site, device) ? put_in(i, steps, way_into_setup(site, device)) : put_in(i, steps);
  }

  bool put_in(std::size_t i, const std::vector<Step>& acts) { return put_in(i, acts, all_of(acts)); }

  bool put_in(std::size_t i, const std::vector<Step>& acts, const std::string& words) {
    Scenario changed = scenario_;
    auto& steps = changed.people[0].script;
    steps.insert(steps.begin() + static_cast<std::ptrdiff_t>(i), acts.begin(), acts.end());
    return accept(tr("had they done this as well: {}, {}", words, before(i)), std::move(changed));
  }

  [[nodiscard]] std::string all_of(const std::vector<Step>& acts) const {
    std::string words;
    for (const Step& each : acts) words += (words.empty() ? "" : tr(", then ")) + describe(scenario_, each);
    return words;
  }

  [[nodiscard]] Step act(StepKind kind, DeviceId device, Buttons buttons) const {
    return push_step(kind, device, buttons,
                     kind == StepKind::hold ? gesture_time(device, buttons) + margin : scenario_.times.press);
  }

  /// The whole of addressing a module put in, from a plate that is in setup (the fewer presses the better) or is put there.
  bool address_it() {
    const auto wanted = address_to_give(scenario_, question_, value_);
    if (!wanted) return false;
    const Site& site = scenario_.site;
    for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
      if (!can_give(site.plates[plate], *wanted)) continue;
      for (int steps = 0; steps <= wanted->channel; ++steps) {
        for (std::size_t i = 0; i <= script().size(); ++i) {
          if (address_it(i, plate, steps, false)) return true;
        }
      }
      const int steps = wanted->channel - first_channel(site.plate_family(plate));
      for (std::size_t i = 0; i <= script().size(); ++i) {
        if (address_it(i, plate, std::max(0, steps), true)) return true;
      }
    }
    return false;
  }

  bool address_it(std::size_t i, DeviceId plate, int steps, bool afresh) {
    const Site& site = scenario_.site;
    const PlateFamily& family = site.plate_family(plate);
    const DeviceId module = question_.device;
    std::vector<Step> acts;
    if (afresh) add_setup_steps(site, plate, margin, acts);
    // A module that asks does so at once: the plate stands at its channel by then.
    if (!asks(site, module)) add_setup_steps(site, module, margin, acts);
    if (family.next != no_button)
      acts.insert(acts.end(), static_cast<std::size_t>(steps),
                  act(StepKind::press, plate, only(family.next)));
    if (asks(site, module)) add_setup_steps(site, module, margin, acts);
    if (family.assign != no_button) acts.push_back(act(StepKind::press, plate, only(family.assign)));
    if (confirmed_within(site, module) > sim::Duration::zero())
      acts.push_back(act(StepKind::press, module, only(0)));
    if (afresh) acts.push_back(act(StepKind::press, plate, only(family.leave)));
    Scenario changed = scenario_;
    auto& script_now = changed.people[0].script;
    script_now.insert(script_now.begin() + static_cast<std::ptrdiff_t>(i), acts.begin(), acts.end());
    return accept(tr("had they done this as well: {}; {}", all_of(acts), before(i)), std::move(changed));
  }

  /// A plate's switches are as they were set: otherwise from the beginning.
  bool set_switches() {
    const bool of_switches = question_.fact == Fact::site || question_.fact == Fact::zone;
    if (!of_switches || !scenario_.site.is_plate(question_.device)) return false;
    Scenario changed = scenario_;
    PlateSpec& plate = changed.site.plates[question_.device];
    const auto number = static_cast<std::uint8_t>(std::stoi(value_));
    (question_.fact == Fact::site ? plate.site : plate.zone) = number;
    return accept(tr("had {}'s switches stood at site {}, zone {} from the beginning", plate.name, plate.site,
                     plate.zone),
                  std::move(changed));
  }

  static constexpr sim::Duration margin = std::chrono::milliseconds{500};
  static constexpr sim::Duration resolution = std::chrono::milliseconds{100};

  const Scenario& scenario_;
  const WhyQuestion& question_;
  const std::string& value_;
  std::vector<Finding> findings_before_;
  NearestWay found_;
  std::optional<NearestWay> next_best_;
  std::size_t tried_ = 0;
};

}  // namespace

std::string changes_tried(const Scenario& scenario, const WhyQuestion& question, const std::string& value) {
  std::string text = tr("every hold that was too short for setup held long enough, every wait left out");
  if (slowest_walk(scenario) > sim::Duration::zero()) text += tr(", walks that take no time");
  text +=
      tr(", every press and hold done once more, every step left out, and, before each step and at the end, "
         "what enters setup or a press of next, previous or assign, or one that confirms");
  if (address_to_give(scenario, question, value))
    text += tr(", and all of addressing {}", scenario.site.name(question.device));
  return text;
}

std::string rule_against(const Scenario& scenario, const WhyQuestion& question, const std::string& value) {
  const Site& site = scenario.site;
  const auto wanted = parse_address(value);
  if (question.fact == Fact::level || question.fact == Fact::load)
    return tr("A load takes the level that a press, a scene or the power gives it; others it only passes.");
  if (question.fact != Fact::address || !wanted || site.is_plate(question.device)) return {};
  bool given = false;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (!can_give(site.plates[plate], *wanted)) continue;
    if (is_joined(site, plate, question.device)) return {};
    given = true;
  }
  const std::string& name = site.name(question.device);
  return given ? tr("The plate with site {}, zone {} does not reach {}.", wanted->site, wanted->zone, name)
               : tr("No plate of ours has site {}, zone {}, so nobody can offer {} that.", wanted->site,
                    wanted->zone, name);
}

std::optional<NearestWay> nearest_way(const Scenario& scenario, const WhyQuestion& question,
                                      const std::string& value) {
  return WaySearch{scenario, question, value}.find();
}

}  // namespace drybus::model
