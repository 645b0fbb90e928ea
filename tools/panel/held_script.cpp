// The part of the bench that stops a demonstration where the class is asked something, before anything of the answer, and that
// hurries over what nobody needs to watch.
#include <limits>

#include "model/words/words.h"
#include "tools/panel/bench.h"

namespace drybus::tools {

using model::tr;

using model::Step;
using model::StepKind;

/// A step at which the class is asked something.
bool Bench::is_stop(const Step& step) const {
  return (points_.notes && step.kind == StepKind::note) || (points_.looks && step.kind == StepKind::see);
}

/// The installer is held after the next question from that step on: what comes at the same moment may be the answer.
std::optional<std::size_t> Bench::hold_from(std::size_t step) const {
  const std::vector<Step>& script = loaded_.scenario.people[0].script;
  for (; step < script.size(); ++step) {
    if (is_stop(script[step])) return step + 1;
  }
  return std::nullopt;
}

/// The installer goes on until the next question; whether there is none at this very moment.
bool Bench::take_up_script() {
  if (chosen().kind != BranchKind::demonstration) return true;
  const std::size_t entries = run().record().size();
  chosen().run->hold_before(hold_from(run().steps_begun()));
  look_for_teaching_points(entries);
  return !pause_;
}

void Bench::set_hurry(bool hurries) {
  hurries_ = hurries;
  anchor();
}

/// To where the installer of a demonstration walks or waits, if that is worth a hurry. Around a time-out it is not: the class
/// shall see the lamp go dark.
std::optional<sim::Instant> Bench::idle_until() const {
  constexpr sim::Duration around = std::chrono::seconds{1};
  constexpr sim::Duration worth_it = std::chrono::seconds{4};
  if (!playing_ || !hurries_ || chosen().kind != BranchKind::demonstration) return std::nullopt;
  const Branch& branch = run();
  const model::PersonState& installer = branch.installer();
  const SeenPerson& seen = branch.onlooker().person(0);
  sim::Instant end{};
  if (installer.place == model::no_place) {
    end = seen.set_off + branch.scenario().site.walk(seen.from, seen.to);
  } else if (branch.installer_at_work() && branch.steps()[installer.step].kind == StepKind::wait) {
    end = seen.acting_since + branch.steps()[installer.step].duration;
  } else {
    return std::nullopt;
  }
  if (const auto time_out = next_time_out()) end = std::min(end, time_out->at - around);
  if (end - branch.now() < worth_it) return std::nullopt;
  return end;
}

/// Goes at the pace of what is ahead.
void Bench::set_pace() {
  constexpr double seconds_for_a_stretch = 3;
  const auto before = hurry_to_;
  if (hurry_to_ && run().now() < *hurry_to_ && playing_) return;  // in the middle of a stretch
  hurry_to_ = idle_until();
  if (!before && !hurry_to_) return;
  double pace = speed_;
  if (hurry_to_) pace = std::max(pace, sim::seconds(*hurry_to_ - run().now()) / seconds_for_a_stretch);
  pacer_.start(real_, run().now(), std::min(pace, most_speed));
}

void Bench::answer() {
  if (!pause_) throw Refused{RefusalCode::not_now, tr("Nothing is being asked.")};
  pause_->answered = true;
}

std::vector<std::string> Bench::findings_asked_for() const {
  std::vector<std::string> keys;
  if (!pause_ || pause_->answered) return keys;
  for (const TeachingPoint& point : pause_->points) {
    if (!point.key.empty()) keys.push_back(point.key);
  }
  return keys;
}

/// At the moment of a question the script stands there again, and what else belongs to that moment is to come.
void Bench::stand_before_answer(sim::Instant at) {
  run_to(at - sim::Duration{1});
  const std::size_t entries = run().record().size();
  chosen().run->hold_before(hold_from(run().steps_begun()));
  chosen().run->run_until(at, std::numeric_limits<std::size_t>::max());  // a moment, not a leap
  start_anew();
  if (!run().is_held()) return;
  look_for_teaching_points(entries);
  playing_ = false;
}

}  // namespace drybus::tools
