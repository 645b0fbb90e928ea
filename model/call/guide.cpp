#include "model/call/guide.h"

#include <algorithm>

#include "model/call/complaint_again.h"
#include "model/call/first_stage.h"
#include "model/call/narrowing.h"
#include "model/recovery/rehearsal.h"
#include "model/world/load_caution.h"

namespace drybus::model {

namespace {

/// Answers that go on with what was dictated, and are no news: steps that went as they should, looks of the proof that
/// were as they should be, and those that nobody could make.
bool is_no_news(const CallAnswer& answer) {
  if (answer.about == Asked::cure) return answer.answer == "done";
  return answer.about == Asked::proof && (answer.answer == "yes" || answer.answer == "cannot");
}

bool same_answer(const CallAnswer& a, const CallAnswer& b) {
  const auto same_seen = [](const Seen& x, const Seen& y) {
    return x.device == y.device && x.fact == y.fact && x.what == y.what && x.after_step == y.after_step;
  };
  const auto same_read = [](const SwitchReading& x, const SwitchReading& y) {
    return x.plate == y.plate && x.site == y.site && x.zone == y.zone;
  };
  return a.about == b.about && a.question == b.question && a.answer == b.answer &&
         std::equal(a.seen.begin(), a.seen.end(), b.seen.begin(), b.seen.end(), same_seen) &&
         std::equal(a.read.begin(), a.read.end(), b.read.begin(), b.read.end(), same_read);
}

/// As things stand when the cure has worked.
World sound_world(const Report& report, const Diagnosis& diagnosis, const Cure& cure,
                  const std::vector<std::uint32_t>& explanations) {
  const Account& way = diagnosis.explanations[explanations.front()].ways.front();
  return rehearse(scenario_of(report, way), *way.world, cure.steps, false).world;
}

ReportCure cure_of(const Report& report, const Diagnosis& diagnosis) {
  ReportCure found = recover(report, first_stage(report, diagnosis));
  // What is left over has no cure: then of all of them.
  return found.cure.end == Cure::End::no_cure ? recover(report, diagnosis) : found;
}

}  // namespace

CallState Guide::state(const Report& told, std::span<const CallAnswer> answers) {
  std::size_t evidence = answers.size();
  while (evidence > 0 && is_no_news(answers[evidence - 1])) --evidence;
  since_ = answers.subspan(evidence);
  told_ = &told;
  everything_ = with_answers(told, answers);
  Known& known = known_of(told, answers.first(evidence));
  CallState state;
  state.diagnosis = known.diagnosis;
  // Once a cure has begun nobody asks about causes, unless something is not as it should be.
  if (since_.empty()) state.question = known.question;
  if (!state.question) cure_it(known, state);
  if (state.question) state.question->caution = load_caution(told.believed.site, state.question->steps);
  return state;
}

/// What is known depends on the answers alone, not on when somebody asked for it: a call that is taken up again goes
/// through them one by one, from the last that changed everything.
Guide::Known& Guide::known_of(const Report& told, std::span<const CallAnswer> evidence) {
  const bool goes_on =
      known_ && known_->answers.size() <= evidence.size() &&
      std::equal(known_->answers.begin(), known_->answers.end(), evidence.begin(), same_answer);
  if (!goes_on) {
    std::size_t first = evidence.size();
    while (first > 0 && evidence[first - 1].about == Asked::check) --first;
    begin_with(told, evidence.first(first));
  }
  while (known_->answers.size() < evidence.size()) take_in_next(told, evidence);
  return *known_;
}

void Guide::begin_with(const Report& told, std::span<const CallAnswer> evidence) {
  known_ = Known{with_answers(told, evidence), {evidence.begin(), evidence.end()}, {}, {}, {}, {}};
  known_->diagnosis = diagnose_(known_->report);
  known_->question = next_question(known_->report, known_->diagnosis, known_->answers);
}

void Guide::take_in_next(const Report& told, std::span<const CallAnswer> evidence) {
  const std::size_t next = known_->answers.size();
  if (evidence[next].about != Asked::check) {
    // The answers to what was dictated come with the first of them that is news.
    std::size_t count = next + 1;
    while (count < evidence.size() && is_no_news(evidence[count - 1])) ++count;
    return begin_with(told, evidence.first(count));
  }
  auto after = narrowed(known_->report, known_->diagnosis, evidence[next]);
  if (!after) return begin_with(told, evidence.first(next + 1));
  Known narrower{with_answers(told, evidence.first(next + 1)), {}, std::move(*after), {}, {}, {}};
  narrower.answers.assign(evidence.begin(), evidence.begin() + static_cast<std::ptrdiff_t>(next + 1));
  narrower.question = next_question(narrower.report, narrower.diagnosis, narrower.answers);
  // Nobody goes by what was left aside at the beginning: before a cure all that is known is gone through.
  if (!narrower.question) return begin_with(told, evidence.first(next + 1));
  known_ = std::move(narrower);
}

void Guide::cure_it(Known& known, CallState& state) {
  if (!known.cure) {
    known.told = cure_of(known.report, known.diagnosis);
    if (words_spoken() == nullptr) {
      known.cure = known.told;
    } else {
      // The same again, for the file: what is found does not depend on the words.
      const Speaking as_written{nullptr};
      known.cure = cure_of(known.report, known.diagnosis);
    }
  }
  const ReportCure& found = *known.cure;
  if (found.cure.end != Cure::End::no_cure)
    return go_through(known, found.cure, known.told->cure, found.explanations, state);
  if (since_.empty()) state.question = look_again(known.report, known.diagnosis, known.answers);
  if (state.question) return;
  if (found.otherwise.end != Cure::End::found) {
    state.stage = CallState::Stage::no_cure;
    state.reasons = known.told->cure.reasons;
    return;
  }
  state.afresh = true;
  std::vector<std::uint32_t> all;
  for (std::uint32_t i = 0; i < known.diagnosis.explanations.size(); ++i) all.push_back(i);
  go_through(known, found.otherwise, known.told->otherwise, all, state);
}

void Guide::go_through(const Known& known, const Cure& cure, const Cure& told,
                       const std::vector<std::uint32_t>& explanations, CallState& state) {
  state.steps = guided_steps(known.report, known.diagnosis, explanations, cure, told.lines);
  state.step = static_cast<std::size_t>(std::count_if(
      since_.begin(), since_.end(), [](const CallAnswer& answer) { return answer.about == Asked::cure; }));
  if (state.step < state.steps.size()) {
    state.stage = CallState::Stage::cure;
    return;
  }
  prove(cure, sound_world(known.report, known.diagnosis, cure, explanations), state);
}

void Guide::prove(const Cure& cure, const World& sound, CallState& state) {
  std::vector<Question> proof = proof_of(everything_, cure.aim);
  for (Question& again : complaints_again(*told_, sound, proof)) proof.push_back(std::move(again));
  state.proof_steps = proof.size();
  for (const CallAnswer& answer : since_) {
    if (answer.about != Asked::proof) continue;
    if (answer.answer == "cannot") {
      const bool known = state.proof_step < proof.size() && proof[state.proof_step].text == answer.question;
      state.not_looked_at.push_back(known ? proof[state.proof_step].told : answer.question);
    }
    ++state.proof_step;
  }
  if (state.proof_step >= proof.size()) {
    state.stage = CallState::Stage::proved;
    return;
  }
  state.stage = CallState::Stage::proof;
  state.question = std::move(proof[state.proof_step]);
}

}  // namespace drybus::model
