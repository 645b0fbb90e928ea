// A guided repair as it stands: what was answered so far says what to ask or to dictate next.
//
// Everything is read off the report and its answers, so that a call can be put down and taken up again, goes back a
// step, and comes to the same question wherever it is opened.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "model/call/question.h"
#include "model/recovery/report.h"

namespace drybus::model {

/// A step of the cure as it is dictated.
struct GuidedStep {
  std::string
      text;  ///< "Hold the local button of Attic spots (M2) until its lamp blinks: 3.5 s."; as files have it
  std::string told;   ///< the same, in the words spoken
  std::string shows;  ///< "the lamp of Attic spots blinks"; empty: nothing that is the same whatever is true
  std::string caution;  ///< where somebody opens something
  std::vector<Step> steps;
  std::optional<Seen> seen;  ///< what `shows` says; `after_step` is the last of `steps`
};

/// The cure in steps, each with what the caller can see from where they stand. `told`: its lines in the words spoken; those of
/// the cure are as files have them.
std::vector<GuidedStep> guided_steps(const Report& report, const Diagnosis& diagnosis,
                                     const std::vector<std::uint32_t>& explanations, const Cure& cure,
                                     const std::vector<CureLine>& told);

/// What to press and to see so that every module is known to be right: off and on, room by room; then every channel.
std::vector<Question> proof_of(const Report& report, const Aim& aim);

/// Where a call stands.
struct CallState {
  enum class Stage : std::uint8_t {
    check,    ///< `question`: a check, or whether what was said is so
    cure,     ///< `steps[step]`
    proof,    ///< `question`
    proved,   ///< all is right
    no_cure,  ///< `reasons`
  };
  Stage stage = Stage::check;
  /// Of the call with all answers but those of a cure that went as it should. While checks are being made it is the
  /// one before the last check, narrowed by the answer, as long as that was expected; before a cure all is gone through.
  Diagnosis diagnosis;
  std::optional<Question> question;
  std::vector<GuidedStep> steps;  ///< of the cure
  std::size_t step = 0;
  bool afresh = false;         ///< no explanation has a cure: everything is done afresh
  std::size_t proof_step = 0;  ///< which question of the proof it is
  std::size_t proof_steps = 0;
  std::vector<std::string> not_looked_at;  ///< questions of the proof that nobody could answer
  std::vector<std::string> reasons;
};

using Diagnose = std::function<Diagnosis(const Report&)>;

/// Guides one call. What was found is kept while nothing new is known.
class Guide {
 public:
  explicit Guide(Diagnose diagnose) : diagnose_(std::move(diagnose)) {}

  /// The state of the call. `told`: without the answers, and the same every time.
  CallState state(const Report& told, std::span<const CallAnswer> answers);

 private:
  struct Known {
    Report report;                    ///< with the answers that count as evidence
    std::vector<CallAnswer> answers;  ///< those
    Diagnosis diagnosis;
    std::optional<Question> question;  ///< the next check; nothing when no more are worth it
    std::optional<ReportCure> cure;    ///< as it is written
    std::optional<ReportCure> told;    ///< the same in the words spoken
  };

  Known& known_of(const Report& told, std::span<const CallAnswer> evidence);
  void begin_with(const Report& told, std::span<const CallAnswer> evidence);
  void take_in_next(const Report& told, std::span<const CallAnswer> evidence);
  void cure_it(Known& known, CallState& state);
  void go_through(const Known& known, const Cure& cure, const Cure& told,
                  const std::vector<std::uint32_t>& explanations, CallState& state);
  void prove(const Cure& cure, const World& sound, CallState& state);

  Diagnose diagnose_;
  std::optional<Known> known_;
  const Report* told_ = nullptr;       ///< without any
  Report everything_;                  ///< with all answers
  std::span<const CallAnswer> since_;  ///< answers that are no news, at the end
};

}  // namespace drybus::model
