// What a first cure is for: repairs go in stages of least effort, with looks after each.
#pragma once

#include "model/diagnosis/diagnosis.h"

namespace drybus::model {

/// The explanations in the same order, with only those ways that a first cure is for. Where something is more likely sound
/// than broken nobody is sent for to mend it, and what is unlikely is left for the looks that follow. An explanation of
/// which no way is left counts for nothing.
Diagnosis first_stage(const Report& report, const Diagnosis& diagnosis);

}  // namespace drybus::model
