// What a caller answered in a guided repair, as evidence: every answer goes on with the story that was told.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/diagnosis/report.h"

namespace drybus::model {

/// What an answer is about.
BOOST_DEFINE_FIXED_ENUM_CLASS(Asked, std::uint8_t,
                              check,  ///< something to do and to look at, so that causes can be told apart
                              again,  ///< what was said to be seen, and fits nothing: is it so?
                              cure,   ///< a step of the cure, and what should be seen then
                              proof   ///< something to do and to look at, that shows that all is right
)

/// "check"
std::string_view to_string(Asked asked);

struct CallAnswer {
  Asked about = Asked::check;
  std::string question;     ///< as it was asked
  std::string answer;       ///< "yes", "no", "something else", "cannot"; of a cure "done", "not so"
  std::vector<Step> steps;  ///< what was done for it, by the installer
  /// What was seen; `after_step` counts within `steps`, and nothing means when all of them were done.
  std::vector<Seen> seen;
  std::vector<SwitchReading> read;
  std::uint32_t line = 0;  ///< of the file, from 1
};

/// The report with the answers in it: what was seen when it was told is pinned there, and the story goes on.
Report with_answers(const Report& told, std::span<const CallAnswer> answers);

/// What somebody read off a plate's switches is believed: it has shown that since they were last set. Of what it showed from
/// the start Report::believed keeps a check: the numbers read, and those told before where they were others.
void take_in(const SwitchReading& reading, Report& report);

}  // namespace drybus::model
