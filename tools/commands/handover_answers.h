// What came of a round: typed in, line by line, and told on as a report where something was not as it should be.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "tools/script/writer.h"
#include "tools/view/handover_report.h"

namespace drybus::tools {

/// What was seen in place of what should be: by check of the round's scenario.
struct RoundAnswer {
  bool ticked = false;
  std::map<std::uint32_t, std::string> otherwise;  ///< "lit", "dark", "40 %", or a lamp's pattern
};

struct RoundAnswers {
  std::map<std::uint32_t, RoundAnswer> by_number;  ///< of the lines that were done
  std::uint32_t lines = 0;                         ///< that have a number
  [[nodiscard]] bool all_ticked() const;
};

/// Lines such as "3: yes", "4: M2 dark, M3 40%", "5: no" (where one thing is looked at), "1-9: yes", or "all: yes" for all that is not
/// answered above; what stands
/// behind a # is a remark. Throws Unusable with file and line for anything else.
RoundAnswers read_round_answers(const std::string& path, const HandoverReport& report);

std::string answers_text(const RoundAnswers& answers, const HandoverReport& report);

/// The built site, the round as far as it was done, and what was seen on it, as a report. `round` is the round's scenario.
std::string answered_report(const RoundAnswers& answers, const HandoverReport& report, LoadedScenario round,
                            const WriteOptions& options);

}  // namespace drybus::tools
