// What a report has beside a scenario: observations taken out of the script, and times that are only about right.
#pragma once

#include <vector>

#include "model/call/answer.h"
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
  std::vector<std::uint32_t> unsure_steps;
};

/// Two statements of one thing at one moment that cannot both be true are two statements: which of them is wrong is
/// for the diagnosis. Complains of more than a diagnosis can go through.
ReportParts parts_of(const model::Scenario& read, const ToldSteps& told,
                     const std::vector<StepReader::SeenNow>& now, Complaints& complaints);

/// A thing that is seen now.
model::Seen seen_now(const StepReader::SeenNow& now);

/// The answers of a guided repair, as the file has them. `steps` reads what was done and seen for each.
std::vector<model::CallAnswer> read_answers(const Node& node, StepReader& steps, model::Scenario& read,
                                            ToldSteps& told, Complaints& complaints);

}  // namespace drybus::tools
