#include "model/planning/cover_work.h"

namespace drybus::model {

std::vector<Step> isolation_steps(bool restored) {
  Step power;
  power.kind = StepKind::power;
  power.on = restored;
  return {power, wait_step(restored ? restoring_takes : isolating_takes)};
}

}  // namespace drybus::model
