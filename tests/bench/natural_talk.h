// Whole conversations about natural calls: somebody who does what is asked, sees what really shows, and errs now and then.
#pragma once

#include <functional>
#include <string>

#include "model/diagnosis/catalogue.h"
#include "tests/bench/natural_calls.h"

namespace drybus::bench {

struct TalkScore {
  std::size_t rank = 0;  ///< of the first explanation that is right, from 1; 0: none is
  bool one_of_them =
      false;               ///< one of the first three names something that really went wrong, or all is right
  double explored = 0;     ///< as the first answer says
  std::size_t checks = 0;  ///< that were asked before the first cure
  double minutes = 0;      ///< of these
  double said_sure = 0;    ///< after them: the probability of the first explanation
  bool surely_right = false;    ///< and that is right
  bool first_cure = false;      ///< all is right after what was dictated first, as it was dictated
  bool no_cure = false;         ///< nothing was dictated
  bool broken = false;          ///< an electrician is needed
  bool electrician = false;     ///< and is sent by the first cure
  std::size_t steps = 0;        ///< lines of the first cure
  std::size_t steps_known = 0;  ///< lines of the cure from the known truth
  std::size_t spoilt = 0;       ///< modules that were right before the first cure and are not after it
  bool right_end = false;       ///< the conversation ended with a proof, and all is right
  std::size_t answers = 0;      ///< in the whole conversation
  double seconds = 0;           ///< of one core, for all answers
  double worst_answer_s = 0;
};

/// `words`: told the call and the conversation, word for word; may be empty.
TalkScore score_talk(const NaturalCall& call, const model::Catalogue& catalogue,
                     const std::function<void(const std::string&)>& words = {});

}  // namespace drybus::bench
