// A question of a guided repair: one look, in one place, by one person, that is answered with yes or no; and which of
// them is worth most.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/call/answer.h"
#include "model/diagnosis/diagnosis.h"
#include "model/words/wording.h"

namespace drybus::model {

struct Question {
  Asked about = Asked::check;
  std::string action;       ///< what to do: "In the hall, press up on Hall plate"; a part of `text`
  std::string text;         ///< as a call's file has it, and as it is compared with what was asked before
  std::string told;         ///< the same, in the words spoken
  std::vector<Step> steps;  ///< what the caller does for it
  std::string caution;      ///< where a load that is not to be switched may be switched by it
  /// What yes means, seen when step `after_step` of these was over; of one device and fact, but in a proof.
  std::vector<Seen> yes;
  /// What no may mean instead, in the words of `see`, the most probable first. Empty where that has to be asked.
  std::vector<std::string> no;
  std::optional<SwitchReading> numbers;  ///< yes: the switches show these
  double minutes = 0;                    ///< effort, walking included
  double bits = 0;                       ///< what it is expected to tell
};

/// Puts what is done and the whole text in.
void put_into(Question& question, const Wording& action, const Wording& text);

struct AskingOptions {
  double enough = 0.98;  ///< explanations with one cure that have so much together need no more checks
  std::size_t most_checks = 30;
};

/// The check that tells most for each minute of effort about which cure is needed; nothing when that is sure enough, or
/// nothing that can be asked tells more. `answers`: those so far. What was asked is not asked again, and what somebody
/// could not do is left alone.
std::optional<Question> next_question(const Report& report, const Diagnosis& diagnosis,
                                      std::span<const CallAnswer> answers, const AskingOptions& options = {});

/// Something that was said and that no explanation leads to: is it so? Nothing when everything is explained, or was
/// asked about already.
std::optional<Question> look_again(const Report& report, const Diagnosis& diagnosis,
                                   std::span<const CallAnswer> answers);

}  // namespace drybus::model
