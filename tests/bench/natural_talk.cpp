#include "tests/bench/natural_talk.h"

#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <optional>

#include "model/call/guide.h"
#include "model/record/describe.h"
#include "model/recovery/aim.h"
#include "model/recovery/rehearsal.h"
#include "tests/bench/diagnosis_score.h"

namespace drybus::bench {

using namespace model;

namespace {

/// Nobody stays on the telephone for more than this.
constexpr std::size_t most_answers = 150;
/// One answer to a check in so many is wrong.
constexpr std::uint64_t one_wrong_in = 50;
constexpr std::size_t first_few = 3;

double core_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

bool is_electricians(const Step& step, const std::vector<Step>& before) {
  if (step.kind == StepKind::fault) return true;
  // Power that comes back after it was taken away for work with covers off is no repair.
  return step.kind == StepKind::power && step.on &&
         std::none_of(before.begin(), before.end(), [&](const Step& other) {
           return other.kind == StepKind::power && !other.on &&
                  (other.device == step.device || other.device == no_device);
         });
}

class Talking {
 public:
  using Words = std::function<void(const std::string&)>;

  Talking(const NaturalCall& call, const Catalogue& catalogue, const Words& words)
      : call_(call),
        words_(words),
        world_(call.world),
        draw_(call.seed, 0x7a1c),
        guide_([this, &catalogue](const Report& report) { return diagnose(report, catalogue); }) {}

  TalkScore score() {
    score_.broken = !repairs(call_.report.believed, std::vector{now()}).empty();
    if (words_) tell_call();
    while (answers_.size() < most_answers) {
      const double began = core_seconds();
      const CallState state = guide_.state(call_.report, answers_);
      note_time(core_seconds() - began);
      if (answers_.empty()) score_ranking(state.diagnosis);
      const bool checking = state.stage == CallState::Stage::check;
      if (!checking && !cured_) score_cure(state);
      if (state.stage == CallState::Stage::proved || state.stage == CallState::Stage::no_cure) {
        score_.right_end = state.stage == CallState::Stage::proved && is_right(world_);
        break;
      }
      if (checking && !cured_) {
        ++score_.checks;
        score_.minutes += state.question->minutes;
      }
      if (words_) tell_state(state);
      answers_.push_back(state.stage == CallState::Stage::cure ? carry_out(state.steps[state.step])
                                                               : look(*state.question));
      if (words_) tell_answer();
    }
    score_.answers = answers_.size();
    return score_;
  }

 private:
  [[nodiscard]] const Site& site() const { return call_.truth.site; }
  [[nodiscard]] Possibility now() const { return {&call_.truth, world_, 1}; }

  // --- word for word ---

  void tell_call() const {
    const Scenario& told = call_.report.believed;
    for (const NaturalCause& cause : call_.causes) words_("TRUTH " + cause.named.text);
    for (const Step& step : told.people[0].script)
      words_(fmt::format("told {:3} {}", step.mark.line, describe(told, step)));
    for (const Seen& seen : call_.report.seen) {
      words_(fmt::format("said {}{}{}{}", describe(told.site, seen),
                         seen.after_step ? fmt::format(" after step {}", *seen.after_step + 1) : " now",
                         seen.unsure ? " (unsure)" : "", seen.believed ? " (complaint)" : ""));
    }
  }
  void tell_state(const CallState& state) const {
    for (std::size_t i = 0; i < std::min<std::size_t>(5, state.diagnosis.explanations.size()); ++i) {
      const RankedExplanation& each = state.diagnosis.explanations[i];
      words_(fmt::format("  {:.4f} {} {} ({} ways, against {})", each.probability, is_true(each) ? "*" : " ",
                         each.text, each.ways.size(), each.contradicted.size()));
    }
    words_(fmt::format("  {:.4f} none of these, explored {:.3f}, {} runs", state.diagnosis.unexplained,
                       state.diagnosis.explored, state.diagnosis.runs));
    words_(
        state.stage == CallState::Stage::cure
            ? fmt::format("STEP {}/{} {}", state.step + 1, state.steps.size(), state.steps[state.step].text)
            : "ASK " + state.question->text);
  }
  void tell_answer() const {
    std::string text = "-> " + answers_.back().answer;
    for (const Seen& seen : answers_.back().seen) text += "; " + describe(site(), seen);
    words_(text);
  }

  void note_time(double seconds) {
    score_.seconds += seconds;
    score_.worst_answer_s = std::max(score_.worst_answer_s, seconds);
  }

  // --- what is said of the causes ---

  [[nodiscard]] bool is_true(const RankedExplanation& explanation) const {
    const std::vector<std::uint32_t> truth = signature(call_.report.believed.site, world_);
    std::vector<TrueCause> named;
    for (const NaturalCause& cause : call_.causes) {
      if (cause.catalogued) named.push_back(cause.named);
    }
    return std::any_of(explanation.ways.begin(), explanation.ways.end(), [&](const Account& way) {
      return (named.size() == call_.causes.size() && names_all(way.causes, named)) ||
             signature(call_.report.believed.site, *way.world) == truth;
    });
  }
  [[nodiscard]] bool names_one(const RankedExplanation& explanation) const {
    return std::any_of(call_.causes.begin(), call_.causes.end(), [&](const NaturalCause& cause) {
      return cause.catalogued &&
             std::any_of(explanation.ways.begin(), explanation.ways.end(), [&](const Account& way) {
               return std::any_of(way.causes.begin(), way.causes.end(),
                                  [&](const PlacedCause& placed) { return names(placed, cause.named); });
             });
    });
  }

  void score_ranking(const Diagnosis& diagnosis) {
    score_.explored = diagnosis.explored;
    for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
      const bool right = is_true(diagnosis.explanations[i]);
      if (right && score_.rank == 0) score_.rank = i + 1;
      if (i < first_few && (right || names_one(diagnosis.explanations[i]))) score_.one_of_them = true;
    }
  }

  // --- the first cure ---

  [[nodiscard]] std::vector<std::string> left(const World& world) const {
    const Possibility possible{&call_.truth, world, 1};
    return amiss(call_.truth, aim_of(call_.report.believed, std::span{&possible, 1}), world);
  }
  [[nodiscard]] bool is_right(const World& world) const { return left(world).empty(); }

  [[nodiscard]] std::size_t spoilt_by(const World& after) const {
    std::size_t count = 0;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const Address& intended = *call_.report.believed.site.modules[i].intended;
      if (world_.modules[i].memory.address == intended && after.modules[i].memory.address != intended)
        ++count;
    }
    return count;
  }

  void score_cure(const CallState& state) {
    cured_ = true;
    if (!state.diagnosis.explanations.empty()) {
      score_.said_sure = state.diagnosis.explanations.front().probability;
      score_.surely_right = is_true(state.diagnosis.explanations.front());
    }
    score_.no_cure = state.stage == CallState::Stage::no_cure;
    std::vector<Step> steps;
    for (const GuidedStep& step : state.steps) {
      for (const Step& each : step.steps) {
        if (is_electricians(each, steps)) score_.electrician = true;
        steps.push_back(each);
      }
    }
    const World after = rehearse(call_.truth, world_, steps, false).world;
    score_.first_cure = !score_.no_cure && is_right(after);
    if (words_) {
      for (const std::string& each : left(after)) words_("AFTER THE FIRST CURE " + each);
    }
    score_.spoilt = spoilt_by(after);
    score_.steps = state.steps.size();
    const Cure known =
        recover(call_.report.believed, std::vector{now()}, RecoverOptions{.of_this_moment = false});
    for (const CureLine& line : known.lines) score_.steps_known += line.steps > 0 ? 1 : 0;
  }

  // --- answering ---

  [[nodiscard]] std::string shows(const Rehearsal& after, const Seen& seen) const {
    if (seen.fact == Fact::indicator)
      return std::string{to_string(after.shown[*seen.after_step][seen.device])};
    return after.world.loads[site().module_index(seen.device)].at(after.world.now) > 0 ? "lit" : "dark";
  }

  CallAnswer look(const Question& question) {
    CallAnswer answer{question.about, question.text, "yes", question.steps, question.yes, {}, 0};
    const Rehearsal after = rehearse(call_.truth, world_, question.steps, true);
    world_ = after.world;
    if (question.numbers) {
      const PlateState& plate = world_.plates[question.numbers->plate];
      answer.read = {{question.numbers->plate, plate.site, plate.zone, {}}};
      if (plate.site != question.numbers->site || plate.zone != question.numbers->zone) answer.answer = "no";
      return answer;
    }
    std::vector<Seen> otherwise;
    for (const Seen& wanted : question.yes) {
      // Who is asked to press something and to watch sees the blip that comes then.
      const std::string shown =
          question.about == Asked::check && wanted.fact == Fact::indicator
              ? std::string{to_string(after.answered[*wanted.after_step][wanted.device])}
              : shows(after, wanted);
      if (shown == wanted.what) continue;
      otherwise.push_back(wanted);
      otherwise.back().what = shown;
    }
    if (question.about == Asked::check && draw_.one_in(one_wrong_in))
      return wrongly(question, otherwise, answer);
    if (otherwise.empty()) return answer;
    answer.answer = "no";
    answer.seen = {otherwise.front()};
    return answer;
  }

  /// Says yes for no, or no for yes.
  CallAnswer wrongly(const Question& question, const std::vector<Seen>& otherwise, CallAnswer answer) {
    if (!otherwise.empty() || question.yes.empty()) return answer;
    answer.answer = "no";
    answer.seen = {question.yes.front()};
    const std::string& right = question.yes.front().what;
    if (!question.no.empty()) {
      answer.seen.front().what = question.no.front();
    } else {
      answer.seen.front().what =
          right == "lit" || question.yes.front().fact == Fact::indicator ? "dark" : "lit";
      if (answer.seen.front().what == right) answer.seen.front().what = "blip";
    }
    return answer;
  }

  CallAnswer carry_out(const GuidedStep& step) {
    CallAnswer answer{Asked::cure, step.text, "done", step.steps, {}, {}, 0};
    const Rehearsal after = rehearse(call_.truth, world_, step.steps, true);
    world_ = after.world;
    if (!step.seen) return answer;
    answer.seen = {*step.seen};
    answer.seen.front().what = shows(after, *step.seen);
    if (answer.seen.front().what != step.seen->what) answer.answer = "not so";
    return answer;
  }

  const NaturalCall& call_;
  const Words& words_;
  World world_;
  Draw draw_;
  Guide guide_;
  std::vector<CallAnswer> answers_;
  bool cured_ = false;
  TalkScore score_;
};

}  // namespace

TalkScore score_talk(const NaturalCall& call, const Catalogue& catalogue,
                     const std::function<void(const std::string&)>& words) {
  return Talking{call, catalogue, words}.score();
}

}  // namespace drybus::bench
