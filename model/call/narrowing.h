// What the answer to a check leaves of a diagnosis that predicted it.
#pragma once

#include <optional>

#include "model/call/answer.h"
#include "model/diagnosis/diagnosis.h"

namespace drybus::model {

/// Probabilities after an answer, with the world of every way carried on past it. `report`: what was told and answered
/// before. Nothing when hardly anything that counts leads to such an answer, or when more was done or read than looked at:
/// then what is known has to be gone through afresh.
std::optional<Diagnosis> narrowed(const Report& report, const Diagnosis& diagnosis, const CallAnswer& answer);

}  // namespace drybus::model
