#include "model/call/told.h"

#include <algorithm>
#include <optional>
#include <string_view>

#include "model/diagnosis/unchanged.h"
#include "model/planning/ways_into_setup.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// Until a load has faded.
constexpr sim::Duration looked_after = 2s;

Step wait_for(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

Step press(DeviceId device, Buttons buttons) {
  return push_step(StepKind::press, device, buttons, HumanTimes{}.press);
}

std::optional<Button> button_for(const PlateFamily& family, Command command) {
  for (std::size_t button = 0; button < family.buttons.size(); ++button) {
    if (family.press[button].gives(command)) return static_cast<Button>(button);
  }
  return std::nullopt;
}

/// Which presses of a story switch a module's load on or off, or should.
class Presses {
 public:
  Presses(const Report& report, DeviceId module)
      : site_(report.believed.site), module_(site_.modules[site_.module_index(module)]) {
    std::vector<bool> in_setup(site_.plates.size(), false);
    const auto& script = report.believed.people.front().script;
    for (std::uint32_t i = 0; i < script.size(); ++i) {
      const Step& step = script[i];
      if (step.kind == StepKind::power && !step.on) in_setup.assign(in_setup.size(), false);
      if ((step.kind != StepKind::press && step.kind != StepKind::hold) || !site_.is_plate(step.device))
        continue;
      const PlateFamily& family = site_.plate_family(step.device);
      if (in_setup[step.device]) {
        if (step.buttons == only(family.leave)) in_setup[step.device] = false;
      } else if (step.buttons == family.setup_gesture && step.duration >= family.setup_hold) {
        in_setup[step.device] = true;
      } else if (switches(step) && is_for_it(step.device)) {
        found.push_back(i);
      }
    }
  }

  [[nodiscard]] bool is_for_it(DeviceId plate) const {
    const PlateSpec& spec = site_.plates[plate];
    if (spec.neighbour) return false;
    return !module_.intended || (spec.site == module_.intended->site && spec.zone == module_.intended->zone);
  }

  std::vector<std::uint32_t> found;

 private:
  [[nodiscard]] bool switches(const Step& step) const {
    const PlateFamily& family = site_.plate_family(step.device);
    for (std::size_t button = 0; button < family.buttons.size(); ++button) {
      if (step.buttons != only(static_cast<Button>(button))) continue;
      const Binding& binding = family.press[button];
      return binding.gives(Command::on) || binding.gives(Command::off);
    }
    return false;
  }

  const Site& site_;
  const ModuleSpec& module_;
};

bool is_lit(const Seen& seen) {
  return seen.what != "dark" && seen.what != "0 %";
}

/// "lit" or "dark": how a load stayed all the time. Where nobody said which, it is as it was, whichever that is.
std::string stayed(const Report& report, DeviceId module) {
  for (const Seen& seen : report.seen) {
    if (seen.device == module && seen.fact == Fact::load) return is_lit(seen) ? "lit" : "dark";
  }
  return std::string{as_it_was};
}

/// Puts it on and off with a plate of its own; last so as the other loads are said to be now.
std::vector<std::uint32_t> try_it(Report& report, DeviceId module, const Presses& presses) {
  const Site& site = report.believed.site;
  DeviceId plate = 0;
  while (plate < site.plates.size() && !presses.is_for_it(plate)) ++plate;
  if (plate == site.plates.size()) plate = 0;
  if (site.plates.empty()) return {};
  const auto on = button_for(site.plate_family(plate), Command::on);
  const auto off = button_for(site.plate_family(plate), Command::off);
  if (!on || !off) return {};
  bool last_on = stayed(report, module) != "lit";
  for (const Seen& seen : report.seen) {
    if (seen.device != module && seen.fact == Fact::load && !seen.after_step) last_on = is_lit(seen);
  }
  std::vector<std::uint32_t> tried;
  auto& script = report.believed.people.front().script;
  for (const Button button : {last_on ? *off : *on, last_on ? *on : *off}) {
    tried.push_back(static_cast<std::uint32_t>(script.size()));
    script.push_back(press(plate, only(button)));
    script.push_back(wait_for(looked_after));
  }
  return tried;
}

}  // namespace

std::vector<Step> addressed_steps(const Site& site, DeviceId plate, std::span<const DeviceId> modules) {
  const PlateFamily& family = site.plate_family(plate);
  std::vector<Step> steps{
      push_step(StepKind::hold, plate, family.setup_gesture, family.setup_hold + held_on)};
  int stands_at = first_channel(family);
  int next_free = 1;
  const auto step_to = [&](int channel) {
    for (; stands_at < channel; ++stands_at) steps.push_back(press(plate, only(family.next)));
    for (; stands_at > channel; --stands_at) steps.push_back(press(plate, only(family.previous)));
  };
  for (const DeviceId module : modules) {
    const auto& intended = site.modules[site.module_index(module)].intended;
    const int channel = intended ? intended->channel : next_free;
    next_free = channel + 1;
    if (asks(site, module)) {
      // The plate answers with the channel after the one at which it stands, and stands there.
      step_to(channel - 1);
      add_setup_steps(site, module, held_on, steps);
      stands_at = channel;
      continue;
    }
    add_setup_steps(site, module, held_on, steps);
    step_to(channel);
    steps.push_back(press(plate, only(family.assign)));
    if (confirmed_within(site, module) > sim::Duration::zero()) steps.push_back(press(module, only(0)));
  }
  steps.push_back(press(plate, only(family.leave)));
  return steps;
}

void add_never(Report& report, const NeverSeen& never) {
  const Presses presses{report, never.module};
  const std::vector<std::uint32_t> looks =
      presses.found.empty() ? try_it(report, never.module, presses) : presses.found;
  const auto& script = report.believed.people.front().script;
  const std::string load = stayed(report, never.module);
  for (const std::uint32_t press : looks) {
    Seen seen{never.module,  never.fact, never.fact == Fact::load ? load : std::string{"dark"},
              press,         false,      never.mark,
              never.believed};
    // A load fades; a blip is over by then.
    if (never.fact == Fact::load && press + 1 < script.size() && script[press + 1].kind == StepKind::wait)
      seen.after_step = press + 1;
    if (*seen.after_step + 1 == script.size()) seen.after_step.reset();
    add_complaint(report, seen);
  }
}

void add_complaint(Report& report, const Seen& complaint) {
  for (Seen& seen : report.seen) {
    if (seen.device != complaint.device || seen.fact != complaint.fact || seen.what != complaint.what ||
        seen.after_step != complaint.after_step)
      continue;
    seen.believed = seen.believed || complaint.believed;
    return;
  }
  report.seen.push_back(complaint);
}

}  // namespace drybus::model
