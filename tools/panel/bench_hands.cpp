// What hands do at a bench: presses, looks, switches, faults.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <set>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/installer.h"
#include "tools/panel/bench.h"
#include "tools/panel/exact_seconds.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

using model::tr;

using model::DeviceId;
using model::Step;
using model::StepKind;
using model::What;

namespace {

/// What a person does begins strictly after everything that has been seen to happen.
constexpr sim::Duration next_moment{1};

/// Fingers of one hand that land within this time land together.
constexpr sim::Duration one_hand = std::chrono::milliseconds{120};

/// How long a press may last of which nobody knows yet when it ends.
constexpr sim::Duration open_end = Bench::longest;

model::Check what_shows(const Branch& branch, DeviceId device) {
  model::Check check;
  check.seen = true;
  check.device = device;
  check.fact = model::Fact::indicator;
  check.wanted = {model::fact_text(branch.scenario(), branch.world(), device, check.fact)};
  return check;
}

}  // namespace

// --- what the installer does ---

bool Bench::holding() const {
  return chosen().open_press && run().steps().size() > *chosen().open_press &&
         (run().steps_begun() > *chosen().open_press || run().now() == run().reached());
}

void Bench::act(Step step) {
  refuse_when_full();
  if (holding()) {
    throw Refused{RefusalCode::busy,
                  tr("The installer is holding {}.",
                     model::buttons_text(run().scenario().site, run().steps()[*chosen().open_press].device,
                                         run().steps()[*chosen().open_press].buttons))};
  }
  if (run().steps().size() >= most_steps) {
    throw Refused{RefusalCode::limit, tr("A branch has at most {} steps.", most_steps)};
  }
  if (!has_to_fork() && run().steps().size() - run().steps_begun() >= most_waiting) {
    throw Refused{RefusalCode::busy, tr("The installer has enough to do; let some time go by.")};
  }
  fork_if_needed();
  Branch& branch = *chosen().run;
  pause_.reset();
  if (!branch.installer_idle()) return branch.add_step(step);
  step.at = branch.now() + next_moment;
  branch.add_step(step);
  branch.run_until(*step.at, std::numeric_limits<std::size_t>::max());
}

void Bench::walk(model::PlaceId place) {
  Step step;
  step.kind = StepKind::walk;
  step.place = place;
  act(std::move(step));
}

void Bench::set_switches(DeviceId plate, std::optional<std::uint8_t> site, std::optional<std::uint8_t> zone) {
  Step step;
  step.kind = StepKind::switches;
  step.device = plate;
  step.site = site;
  step.zone = zone;
  act(std::move(step));
}

void Bench::note(const std::string& text) {
  Step step;
  step.kind = StepKind::note;
  step.text = text;
  act(std::move(step));
}

void Bench::set_power(DeviceId device, bool on) {
  Step step;
  step.kind = StepKind::power;
  step.device = device;
  step.on = on;
  act(std::move(step));
}

void Bench::break_something(const model::Fault& fault) {
  Step step;
  step.kind = StepKind::fault;
  step.fault = fault;
  act(std::move(step));
}

void Bench::look(DeviceId device) {
  const model::Site& site = run().scenario().site;
  const model::PlaceId place = run().installer().place;
  if (run().installer_at_work() || (!has_to_fork() && !run().installer_idle())) {
    throw Refused{RefusalCode::busy, tr("The installer is busy; they look when they are free.")};
  }
  if (device != model::no_device && !model::in_sight(site, place, device)) {
    throw Refused{RefusalCode::not_now,
                  tr("{} is in {}, out of sight.", site.name(device), site.places[site.place(device)].name)};
  }
  std::vector<DeviceId> looked_at;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto each = static_cast<DeviceId>(i);
    if (device == model::no_device ? model::in_sight(site, place, each) : each == device)
      looked_at.push_back(each);
  }
  if (looked_at.empty()) throw Refused{RefusalCode::not_now, tr("There is nothing to look at here.")};
  fork_if_needed();
  Step step;
  step.kind = StepKind::see;
  for (const DeviceId each : looked_at)
    step.checks.push_back(chosen().run->add_check(what_shows(run(), each)));
  act(std::move(step));
}

// --- presses ---

/// A hold means to enter setup, or a long press; which of the two a press is shows only when it is over.
StepKind Bench::kind_of_push(const Step& step, sim::Duration lasted) const {
  const model::Site& site = run().scenario().site;
  if (step.buttons == site.setup_gesture(step.device)) {
    return lasted >= site.setup_hold(step.device) / 2 ? StepKind::hold : StepKind::press;
  }
  const bool long_press = site.is_plate(step.device) && lasted >= site.plate_family(step.device).long_press;
  return long_press ? StepKind::hold : StepKind::press;
}

void Bench::press_for(DeviceId device, model::Buttons buttons, sim::Duration duration) {
  Step step = model::push_step(StepKind::press, device, buttons, duration);
  step.kind = kind_of_push(step, duration);
  act(std::move(step));
}

bool Bench::joins_open_press(DeviceId device) const {
  if (!holding() || run().now() < run().reached()) return false;
  const Step& open = run().steps()[*chosen().open_press];
  return open.device == device && run().steps_begun() > *chosen().open_press &&
         run().now() - run().onlooker().person(0).acting_since <= one_hand;
}

// NOLINTNEXTLINE(readability-make-member-function-const): it changes a run of the bench's
void Bench::join_open_press(model::Buttons buttons) {
  const std::size_t index = *chosen().open_press;
  Step step = run().steps()[index];
  step.buttons = static_cast<model::Buttons>(step.buttons | buttons);
  chosen().run->change_step(index, step);
}

void Bench::press(DeviceId device, model::Buttons buttons) {
  if (joins_open_press(device)) return join_open_press(buttons);
  Step step = model::push_step(StepKind::press, device, buttons, open_end);
  // Rather too late a finding than one that is taken back: nobody has misread anything yet.
  const model::DeviceState& state = run().world().devices[device];
  const bool known_in_setup = state.believed_in_setup != 0 && state.mode == model::Mode::setup;
  if (!known_in_setup) step.kind = kind_of_push(step, open_end);
  act(std::move(step));
  courses_[chosen_].open_press = run().steps().size() - 1;
}

/// The finger comes up now; or, where the press has not begun or the clock stands, after a short press.
Step Bench::let_go(const Course& course, bool clock_stands) const {
  const Branch& branch = *course.run;
  const model::Scenario& scenario = branch.scenario();
  Step step = branch.steps()[*course.open_press];
  const bool begun = branch.steps_begun() == *course.open_press + 1 && model::is_holding(branch.installer());
  sim::Duration lasted =
      begun ? branch.now() - branch.onlooker().person(0).acting_since : sim::Duration::zero();
  if (!begun || clock_stands) lasted = std::max(lasted, scenario.times.press);
  // No finger is so quick that the contacts are not read.
  step.duration =
      std::max({lasted, 2 * scenario.site.family.debounce, sim::Duration{std::chrono::milliseconds{1}}});
  step.kind = kind_of_push(step, step.duration);
  return step;
}

void Bench::release() {
  if (!holding()) throw Refused{RefusalCode::not_now, tr("No button is being held.")};
  fork_if_needed();
  const Step step = let_go(chosen(), !playing_);
  chosen().run->change_step(*chosen().open_press, step);
  courses_[chosen_].open_press.reset();
}

}  // namespace drybus::tools
