// A guided repair with a caller who does what is asked and says what is seen, in a world that is known: it ends with
// everything right, and what is asked is one look that such a caller can take.
#include "model/call/guide.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <set>

#include "model/diagnosis/capture_fit.h"
#include "model/recovery/aim.h"
#include "model/recovery/rehearsal.h"
#include "tests/support/catalogue.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

Report load(const std::string& file) {
  return tools::load_report(DRYBUS_SOURCE_DIR "/scenarios/reports/" + file).call;
}

/// A site on which things stand as in one explanation of a report, with somebody who looks.
class Caller {
 public:
  Caller(const Report& report, const Account& truth)
      : scenario_(scenario_of(report, truth)), world_(*truth.world) {}

  CallAnswer answer(const CallState& state) {
    return state.stage == CallState::Stage::cure ? carry_out(state.steps[state.step]) : look(*state.question);
  }
  [[nodiscard]] const Scenario& scenario() const { return scenario_; }
  [[nodiscard]] const World& world() const { return world_; }

 private:
  CallAnswer look(const Question& question) {
    CallAnswer answer{question.about, question.text, "yes", question.steps, question.yes, {}, 0};
    const Rehearsal after = rehearse(scenario_, world_, question.steps, true);
    world_ = after.world;
    if (question.numbers) {
      const PlateState& plate = world_.plates[question.numbers->plate];
      answer.read = {{question.numbers->plate, plate.site, plate.zone, {}}};
      if (plate.site != question.numbers->site || plate.zone != question.numbers->zone) answer.answer = "no";
      return answer;
    }
    for (const Seen& wanted : question.yes) {
      // Who is asked to press something and to watch sees the blip that comes then.
      const std::string shown =
          question.about == Asked::check && wanted.fact == Fact::indicator
              ? std::string{to_string(after.answered[*wanted.after_step][wanted.device])}
              : shows(after, wanted);
      if (shown == wanted.what) continue;
      answer.answer = "no";
      answer.seen = {wanted};
      answer.seen.front().what = shown;
    }
    return answer;
  }

  CallAnswer carry_out(const GuidedStep& step) {
    CallAnswer answer{Asked::cure, step.text, "done", step.steps, {}, {}, 0};
    const Rehearsal after = rehearse(scenario_, world_, step.steps, true);
    world_ = after.world;
    if (!step.seen) return answer;
    answer.seen = {*step.seen};
    answer.seen.front().what = shows(after, *step.seen);
    if (answer.seen.front().what != step.seen->what) answer.answer = "not so";
    return answer;
  }

  [[nodiscard]] std::string shows(const Rehearsal& after, const Seen& seen) const {
    if (seen.fact == Fact::indicator)
      return std::string{to_string(after.shown[*seen.after_step][seen.device])};
    return after.world.loads[scenario_.site.module_index(seen.device)].to > 0 ? "lit" : "dark";
  }

  Scenario scenario_;
  World world_;
};

struct Played {
  std::vector<CallAnswer> answers;
  CallState last;
};

Played play(const Report& report, Caller& caller, std::size_t most = 80) {
  const Catalogue catalogue = tests::shipped_catalogue();
  Guide guide{[&](const Report& each) { return diagnose(each, catalogue); }};
  Played played;
  while (played.answers.size() < most) {
    played.last = guide.state(report, played.answers);
    if (played.last.stage == CallState::Stage::proved || played.last.stage == CallState::Stage::no_cure)
      break;
    played.answers.push_back(caller.answer(played.last));
  }
  return played;
}

void check_that_it_ends_well(const std::string& file, std::size_t which) {
  CAPTURE(file);
  CAPTURE(which);
  const Report report = load(file);
  const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
  REQUIRE(which < diagnosis.explanations.size());
  Caller caller{report, diagnosis.explanations[which].ways.front()};
  const Played played = play(report, caller);
  CHECK(played.last.stage == CallState::Stage::proved);
  const Possibility now{&caller.scenario(), caller.world(), 1};
  const auto left = amiss(caller.scenario(), aim_of(report.believed, std::span{&now, 1}), caller.world());
  CAPTURE(left.empty() ? std::string{} : left.front());
  CHECK(left.empty());
  std::set<std::string> checks;
  for (const CallAnswer& answer : played.answers) {
    if (answer.about == Asked::check) CHECK_MESSAGE(checks.insert(answer.question).second, answer.question);
  }
}

TEST_CASE("a call that is taken up again comes to the same question, whatever was kept of it meanwhile") {
  const Catalogue catalogue = tests::shipped_catalogue();
  const auto diagnosing = [&](const Report& each) { return diagnose(each, catalogue); };
  const Report report = load("the-fourth-just-sits-there.yaml");
  const Diagnosis diagnosis = diagnose(report, catalogue);
  REQUIRE(diagnosis.explanations.size() > 2);
  Caller caller{report, diagnosis.explanations[2].ways.front()};
  Guide kept{diagnosing};
  std::vector<CallAnswer> answers;
  std::size_t checks = 0;
  for (bool checking = true; checking && checks < 10;) {
    const CallState state = kept.state(report, answers);
    const CallState afresh = Guide{diagnosing}.state(report, answers);
    CHECK(afresh.stage == state.stage);
    CHECK((afresh.question ? afresh.question->text : "") == (state.question ? state.question->text : ""));
    checking = state.stage == CallState::Stage::check;
    if (!checking) break;
    ++checks;
    answers.push_back(caller.answer(state));
  }
  CHECK(checks > 1);
}

TEST_CASE("a guided repair ends with everything right, whichever of the likely explanations is true") {
  for (const auto& entry : std::filesystem::directory_iterator{DRYBUS_SOURCE_DIR "/scenarios/reports"}) {
    if (entry.path().extension() != ".yaml") continue;
    const std::string file = entry.path().filename().string();
    const Diagnosis diagnosis = diagnose(load(file), tests::shipped_catalogue());
    for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
      if (diagnosis.explanations[i].probability >= 0.03) check_that_it_ends_well(file, i);
    }
  }
}

TEST_CASE("a check is a question of yes and no, about one device, in the words of labels") {
  const Report report = load("the-fourth-just-sits-there.yaml");
  const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
  const auto question = next_question(report, diagnosis, {});
  REQUIRE(question);
  CHECK(question->yes.size() == 1);
  CHECK(question->text.find('?') != std::string::npos);
  CHECK(question->text.find("M4") == std::string::npos);
  CHECK(question->bits > 0);
  // What was asked is not asked again, and what somebody cannot do is left alone.
  const std::vector<CallAnswer> cannot = {{Asked::check, question->text, "cannot", {}, {}, {}, 0}};
  const auto another = next_question(report, diagnosis, cannot);
  if (another) CHECK(another->action != question->action);
}

TEST_CASE("what a caller says now is pinned to its moment when the story goes on") {
  Report report = load("gave-up-in-the-attic.yaml");
  const std::size_t steps = report.believed.people.front().script.size();
  Step wait;
  wait.duration = std::chrono::seconds{5};
  const CallAnswer answer{
      Asked::check, "?", "yes", {wait}, {{0, Fact::indicator, "dark", 0u, false, {}, false}}, {}, 0};
  const Report longer = with_answers(report, std::span{&answer, 1});
  CHECK(longer.believed.people.front().script.size() == steps + 1);
  CHECK_FALSE(longer.seen.back().after_step);
  for (std::size_t i = 0; i + 1 < longer.seen.size(); ++i) CHECK(longer.seen[i].after_step);
}

TEST_CASE("what the told procedure leaves undone by itself has a sentence of its own") {
  const auto told = [](const std::string& script) {
    auto reading = tools::read_report_text(
        "drybus-report: 1\nfamily: wired-keypad\n"
        "site: {plates: {P1: {switches: 7/3}}, modules: {M1: {intended: 7/3/1}, M2: {intended: 7/3/2}}}\n" +
            script + "seen: {M1: off, M2: on}\n",
        DRYBUS_SOURCE_DIR "/scenarios/reports/x.yaml");
    REQUIRE(reading.ok());
    std::string text;
    for (const RankedExplanation& each :
         diagnose(reading.value().report, tests::shipped_catalogue()).explanations) {
      if (each.ways.front().causes.empty()) text = each.text;
    }
    return text;
  };
  CHECK(told("script:\n  - addressed: {with: P1, modules: M1}\n  - press: P1 down\n  - wait: 2s\n") ==
        "All went as told, and as told nobody put M2 in setup: it has no address.");
  CHECK(told("script:\n  - addressed: {with: P1, modules: M1}\n  - {hold: M2 local, for: 4s}\n  - press: P1 "
             "down\n"
             "  - wait: 2s\n") ==
        "All went as told, and as told accept was pressed before M2 was put in setup: it has no address.");
}

TEST_CASE("a capture of a part says nothing of what was sent before and after it") {
  Report report = load("gave-up-in-the-attic.yaml");
  const auto telegram = [](std::uint8_t channel) {
    Telegram each;
    each.kind = TelegramKind::identify;
    each.channel = channel;
    return each;
  };
  report.capture = {{{}, telegram(2)}, {{}, telegram(3)}};
  const std::vector<Telegram> as_told = {telegram(1), telegram(2), telegram(3), telegram(4)};
  const std::vector<Telegram> without_the_first = {telegram(2), telegram(3), telegram(4)};
  const std::vector<Telegram> with_a_gap = {telegram(1), telegram(2), telegram(4), telegram(3)};
  // As a whole, to have left out a telegram that was not captured fits better.
  CHECK(capture_fit(report, as_told) < capture_fit(report, without_the_first));
  report.capture_in_part = true;
  CHECK(capture_fit(report, as_told) == 0);
  CHECK(capture_fit(report, as_told) == capture_fit(report, without_the_first));
  CHECK(capture_fit(report, with_a_gap) < 0);
  CHECK(capture_fit(report, {}) < capture_fit(report, with_a_gap));
}

}  // namespace
