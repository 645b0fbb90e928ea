// What a report has beside a scenario: observations taken out of the script, and times that are only about right.
#pragma once

#include <vector>

#include "model/diagnosis/report.h"
#include "tools/script/complaints.h"
#include "tools/script/step_reader.h"

namespace drybus::tools {

/// Nobody tells or sees more than this on the telephone; larger sites and stories are refused.
inline constexpr std::size_t max_told_steps = 2'000;
inline constexpr std::size_t max_seen = 1'000;
inline constexpr std::size_t max_told_devices = 250;

struct ReportParts {
  std::vector<model::Step> script;  ///< the installer's, without looks
  std::vector<model::Seen> seen;
  std::vector<std::uint32_t> loose;
};

/// Complains of observations of one thing at one moment that cannot both be true.
ReportParts parts_of(const model::Scenario& read, const ToldSteps& told,
                     const std::vector<StepReader::SeenNow>& now, Complaints& complaints);

}  // namespace drybus::tools
