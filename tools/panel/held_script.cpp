// The part of the bench that stops a demonstration where the class is asked something, before anything of the answer.
#include <limits>

#include "tools/panel/bench.h"

namespace drybus::tools {

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

void Bench::answer() {
  if (!pause_) throw Refused{RefusalCode::not_now, "Nothing is being asked."};
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
