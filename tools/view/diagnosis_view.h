// A diagnosis for people and for programs.
#pragma once

#include <boost/json.hpp>
#include <optional>
#include <string>

#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/next_check.h"

namespace drybus::tools {

struct DiagnosisView {
  const model::Report& report;
  const model::Diagnosis& diagnosis;
  const std::optional<model::NextCheck>& next;
  std::size_t top = 5;  ///< explanations that are told in full
};

/// What a support engineer can read aloud.
std::string diagnosis_text(const DiagnosisView& view);
boost::json::object diagnosis_json(const DiagnosisView& view);

/// The ranked list alone, a line each, as it stands between two checks of a dialogue.
std::string ranking_text(const model::Diagnosis& diagnosis, std::size_t top);

/// The question of a check and its outcomes, numbered from 1, each with what it would mean.
std::string question_text(const model::NextCheck& next);

}  // namespace drybus::tools
