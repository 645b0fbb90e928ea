// What counts as right is asked of the world; a pupil's way through the questions is a value.
#include <doctest/doctest.h>

#include "model/lesson/pupil.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using drybus::tests::Script;
using drybus::tests::small_scenario;
using namespace std::chrono_literals;

Check check(const Scenario& scenario, const std::string& device, Fact fact, const std::string& wanted) {
  Check made;
  made.device = *scenario.site.find_device(device);
  made.fact = fact;
  made.wanted = {wanted};
  return made;
}

Step note(const std::string& text) {
  Step step;
  step.kind = StepKind::note;
  step.text = text;
  return step;
}

/// P1 and M1 go in setup, somebody asks, and M1 takes the address at the very same moment as the question.
Lesson one_question() {
  Lesson lesson;
  lesson.scenario = small_scenario(2);
  Script script{lesson.scenario};
  script.hold("P1", tests::set, 5200ms).hold("M1", 0, 4200ms).press("P1", tests::up);
  auto& steps = lesson.scenario.people[0].script;
  steps.push_back(note("And now?"));
  script.press("P1", tests::accept).wait(1s);
  LessonQuestion question;
  question.stop = {LessonStop::Kind::note, 3, {}};
  question.kind = QuestionKind::device;
  question.quality.facts = {{Fact::mode, "setup"}};
  question.hints = {"Look at the lamps."};
  lesson.questions.push_back(question);
  return lesson;
}

TEST_CASE("the story stands before whatever comes after the note, even at the same moment") {
  const Lesson lesson = one_question();
  const Standing standing = standings_of(lesson).front();
  const DeviceId module = *lesson.scenario.site.find_device("M1");
  CHECK(standing.world.devices[module].mode == Mode::setup);
  CHECK_FALSE(standing.world.modules[0].memory.addressed());
  LessonStop end;
  end.kind = LessonStop::Kind::end;
  CHECK(stand_at(lesson.scenario, end).world.modules[0].memory.addressed());
}

TEST_CASE("right is what the world says, device by device") {
  const Lesson lesson = one_question();
  const auto standings = standings_of(lesson);
  CHECK(right_answers(lesson, lesson.questions[0], standings[0]) == std::vector<std::string>{"P1", "M1"});
  LessonAnswer answer;
  answer.device = *lesson.scenario.site.find_device("M1");
  CHECK(is_right(lesson, lesson.questions[0], standings[0], answer));
  answer.device = *lesson.scenario.site.find_device("M2");
  CHECK_FALSE(is_right(lesson, lesson.questions[0], standings[0], answer));
}

TEST_CASE("a number is right as far off as it may be, and no further") {
  Lesson lesson = one_question();
  LessonQuestion& question = lesson.questions[0];
  question.kind = QuestionKind::number;
  question.measure.kind = Measure::Kind::count;
  question.measure.quality = question.quality;
  const auto standings = standings_of(lesson);
  LessonAnswer answer;
  answer.number = 2;
  CHECK(is_right(lesson, question, standings[0], answer));
  answer.number = 3;
  CHECK_FALSE(is_right(lesson, question, standings[0], answer));
  question.measure.tolerance = 1;
  CHECK(is_right(lesson, question, standings[0], answer));
}

TEST_CASE("the time left of a device that is not in setup is no number") {
  Lesson lesson = one_question();
  LessonQuestion& question = lesson.questions[0];
  question.kind = QuestionKind::number;
  question.measure.kind = Measure::Kind::time_left;
  question.measure.device = *lesson.scenario.site.find_device("M2");
  const auto standings = standings_of(lesson);
  CHECK(trouble_with(lesson, question, standings[0]));
  question.measure.device = *lesson.scenario.site.find_device("M1");
  CHECK_FALSE(trouble_with(lesson, question, standings[0]));
}

TEST_CASE("pressed oneself: any way that leads there in time is right") {
  Lesson lesson = one_question();
  LessonQuestion& question = lesson.questions[0];
  question.kind = QuestionKind::press;
  question.goal = {check(lesson.scenario, "M1", Fact::mode, "normal")};
  question.within = 1min;
  const auto standings = standings_of(lesson);
  CHECK_FALSE(trouble_with(lesson, question, standings[0]));  // the story's own way
  LessonAnswer answer;
  answer.steps = {push_step(StepKind::press, *lesson.scenario.site.find_device("M1"), 1, 200ms)};
  CHECK(is_right(lesson, question, standings[0], answer));  // another one: a press of its own ends its setup
  question.within = 100ms;
  CHECK_FALSE(is_right(lesson, question, standings[0], answer));
}

TEST_CASE("a goal that is reached already, or by no way, is trouble") {
  Lesson lesson = one_question();
  LessonQuestion& question = lesson.questions[0];
  question.kind = QuestionKind::press;
  question.within = 1min;
  question.goal = {check(lesson.scenario, "M1", Fact::mode, "setup")};
  const auto standings = standings_of(lesson);
  CHECK(trouble_with(lesson, question, standings[0]));
  question.goal = {check(lesson.scenario, "M2", Fact::mode, "setup")};
  CHECK(trouble_with(lesson, question, standings[0]));
}

TEST_CASE("a question that nothing or everything answers is trouble") {
  Lesson lesson = one_question();
  LessonQuestion& question = lesson.questions[0];
  const auto standings = standings_of(lesson);
  CHECK_FALSE(trouble_with(lesson, question, standings[0]));
  question.quality.facts = {{Fact::address, "9/9/1"}};
  CHECK(trouble_with(lesson, question, standings[0]));
  question.kind = QuestionKind::choice;
  question.options = {{"so", {check(lesson.scenario, "M1", Fact::mode, "setup")}},
                      {"or so", {check(lesson.scenario, "P1", Fact::mode, "setup")}}};
  CHECK(trouble_with(lesson, question, standings[0]));
}

TEST_CASE("two tries, and then the answer is told; hints are counted") {
  Lesson lesson = one_question();
  lesson.questions.push_back(lesson.questions[0]);
  const auto standings = standings_of(lesson);
  Pupil pupil;
  LessonAnswer wrong;
  wrong.device = *lesson.scenario.site.find_device("M2");
  CHECK(take_hint(pupil, lesson) == 0);
  CHECK_FALSE(take_hint(pupil, lesson));
  CHECK(take_answer(pupil, lesson, standings[0], wrong) == Verdict::again);
  CHECK(take_answer(pupil, lesson, standings[0], wrong) == Verdict::told);
  CHECK(pupil.question() == 1);
  CHECK(pupil.over[0] == LessonMark{false, 2, 1});
  LessonAnswer right;
  right.device = *lesson.scenario.site.find_device("P1");
  CHECK(take_answer(pupil, lesson, standings[1], right) == Verdict::right);
  CHECK(count_right(pupil) == 1);
}

}  // namespace
