#include "model/planning/cover_work.h"

namespace drybus::model {

Step wait_step(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

std::vector<Step> isolation_steps(bool restored) {
  Step power;
  power.kind = StepKind::power;
  power.on = restored;
  return {power, wait_step(restored ? restoring_takes : isolating_takes)};
}

}  // namespace drybus::model
