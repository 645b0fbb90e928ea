// Lessons as a trainer uses them: checked, read, answered; what cannot be asked is refused with its line.
#include <doctest/doctest.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
namespace fs = std::filesystem;
namespace json = boost::json;

std::vector<std::string> shipped() {
  std::vector<std::string> lessons;
  for (const auto& entry : fs::directory_iterator(DRYBUS_SOURCE_DIR "/scenarios/lessons"))
    lessons.push_back(entry.path().string());
  std::sort(lessons.begin(), lessons.end());
  return lessons;
}

/// A lesson about the wrong address with these questions.
std::string lesson(const Folder& folder, const std::string& questions) {
  return folder.write("lesson.yaml",
                      "drybus-lesson: 1\ntitle: A lesson\nabout: Of one story.\nscenario: " DRYBUS_SOURCE_DIR
                      "/scenarios/training/wrong-address.yaml\nquestions:\n" +
                          questions);
}

Ran taught(const std::string& questions) {
  const Folder folder;
  return drybus_program("teach " + lesson(folder, questions));
}

TEST_CASE("every lesson that ships is about a story and can be answered") {
  const auto lessons = shipped();
  REQUIRE(lessons.size() >= 8);
  for (const std::string& path : lessons) {
    const Ran ran = drybus_program("teach " + path);
    CAPTURE(path);
    CAPTURE(ran.err);
    CHECK(ran.exit_code == 0);
    CHECK(has(ran.out, "every answer can be reached"));
  }
}

TEST_CASE("what drybus teach calls right is judged right") {
  for (const std::string& path : shipped()) {
    CAPTURE(path);
    const Ran told = drybus_program("teach " + path + " --format json");
    REQUIRE(told.exit_code == 0);
    const Folder folder;
    std::string answers;
    bool by_words = true;
    const json::value plan = json::parse(told.out);
    for (const json::value& question : plan.at("questions").as_array()) {
      const std::string right{question.at("right").as_array().front().as_string()};
      by_words = by_words && question.at("kind").as_string() != "press";
      answers += right.substr(0, right.find(", or at most")) + "\n";
      if (!by_words) break;
    }
    // What is pressed oneself is told step by step, in words of the story: see the next case.
    if (!by_words) answers = answers.substr(0, answers.rfind('\n', answers.size() - 2) + 1);
    const Ran judged =
        drybus_program("teach " + path + " --format json --answers " + folder.write("a.txt", answers));
    CAPTURE(judged.err);
    const json::value marks = json::parse(judged.out);
    CHECK(marks.at("right").to_number<std::size_t>() == marks.at("marks").as_array().size());
  }
}

TEST_CASE("answers are judged by the world, and how it went is written as CSV") {
  const Folder folder;
  const std::string path = DRYBUS_SOURCE_DIR "/scenarios/lessons/one-step-too-far.yaml";
  const std::string csv = folder.file("marks.csv");
  const std::string answers =
      folder.write("a.txt",
                   "# channel\nhint\n2\n23/6/1\n23/6/2\n"
                   "hold M1 local for 3.7s; press P1 down; press P1 accept; press P1 two\n");
  const Ran ran = drybus_program("teach " + path + " --answers " + answers + " --csv " + csv);
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(has(ran.out, "3 of 3 right"));
  CHECK(has(ran.out, "at try 2"));
  CHECK(has(content_of(csv), "yes,1,1\r\n"));
  const Ran wrong = drybus_program("teach " + path + " --answers " + folder.write("b.txt", "1\n1\nM1\n"));
  CHECK(wrong.exit_code == 2);  // the second question has no answer M1
  CHECK(has(wrong.err, "b.txt:3"));
  const Ran short_of = drybus_program("teach " + path + " --answers " + folder.write("c.txt", "2\n"));
  CHECK(short_of.exit_code == 1);
  CHECK(has(short_of.out, "2 not answered"));
}

TEST_CASE("an answer that cannot be reached is refused with its line") {
  const Ran device = taught("  - stop: note 1\n    ask: Who?\n    device: {address: 23/6/5}\n");
  CHECK(device.exit_code == 2);
  CHECK(has(device.err, "lesson.yaml:6:5: no answer is right at this stop"));
  const Ran press = taught("  - stop: note 1\n    ask: Press.\n    press: {M1.address: 23/6/7}\n");
  CHECK(has(press.err, "lesson.yaml:6:5: what the story does from here on does not lead there"));
  const Ran way =
      taught("  - stop: end\n    ask: Press.\n    press: {M1.address: 23/6/7}\n    way: [press: P1 up]\n");
  CHECK(has(way.err, "the way does not lead there"));
  const Ran all = taught("  - stop: end\n    ask: Who?\n    device: {mode: normal}\n");
  CHECK(has(all.err, "every answer is right"));
  const Ran order = taught(
      "  - stop: end\n    ask: Who?\n    device: {address: 23/6/1}\n  - stop: start\n    ask: Who?\n"
      "    device: {address: none}\n");
  CHECK(has(order.err, "lesson.yaml:9:5: this question comes before the one above it"));
}

TEST_CASE("a mistake in a lesson is told with its place and the nearest right word") {
  CHECK(has(taught("  - stop: noot 1\n    ask: Who?\n    device: {mode: setup}\n").err, "lesson.yaml:6:11"));
  CHECK(has(taught("  - stop: note 2\n    ask: Who?\n    device: {mode: setup}\n").err,
            "the script has 1 note"));
  CHECK(has(taught("  - stop: note 1\n    ask: Who?\n    devise: {mode: setup}\n").err,
            "did you mean 'device'?"));
  CHECK(has(taught("  - stop: note 1\n    ask: Who?\n    device: {mode: setpu}\n").err,
            "did you mean 'setup'?"));
  CHECK(has(taught("  - stop: note 1\n    ask: Who?\n").err, "does not say what counts as right"));
  CHECK(has(taught("  - stop: 3s\n    ask: Press.\n    press: {M1.address: 23/6/1}\n").err,
            "whoever presses takes over"));
  CHECK(has(drybus_program("teach " DRYBUS_SOURCE_DIR "/scenarios/training/zone-zero.yaml").err,
            "this is a scenario"));
}

TEST_CASE("a lesson may carry its story") {
  const Folder folder;
  const std::string path = folder.write("own.yaml",
                                        "drybus-lesson: 1\ntitle: Own\nabout: With its story.\nscenario:\n  "
                                        "drybus: 1\n  family: " DRYBUS_SOURCE_DIR
                                        "/scenarios/families/wired-keypad.yaml\n  site:\n    plates: {P1: "
                                        "{switches: 23/4}}\n    modules: {M1: {}}\n"
                                        "  script:\n    - press: P1 up\n    - note: Now?\nquestions:\n  - "
                                        "stop: note 1\n    ask: Which has no address?\n"
                                        "    device: {address: none}\n");
  const Ran ran = drybus_program("teach " + path);
  CAPTURE(ran.err);
  CHECK(has(ran.err + ran.out, ran.exit_code == 0 ? "right: M1" : "switches"));
}

TEST_CASE("a pupil's sheet asks, has room to write, and tells nothing; the answer sheet tells all") {
  const Folder folder;
  const std::string sheet = folder.file("sheet.html"), answers = folder.file("answers.html");
  const std::string lesson = "teach " DRYBUS_SOURCE_DIR "/scenarios/lessons/who-gave-up-first.yaml";
  const Ran ran = drybus_program(lesson + " --sheet " + sheet + " --answer-sheet " + answers);
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code == 0);
  CHECK(has(ran.out, "every answer can be reached"));
  const std::string pupils = content_of(sheet), trainers = content_of(answers);
  for (const char* text : {"What did the plate take the press of up for?", "lights on", "Name"})
    CHECK_MESSAGE(has(pupils, text), text);
  // By its number a pupil's sheet finds its answers.
  const std::size_t number = pupils.find("sheet ");
  REQUIRE(number != std::string::npos);
  CHECK(has(trainers, pupils.substr(number, std::string_view{"sheet 4166e3"}.size())));
  // Neither the title, nor a mode, a telegram or an address in memory, nor what was pressed after the last question.
  for (const char* text : {"Who gave up first", "time-out 240 s", "setup-split", "assign 23/4/1",
                           "no address", ">accept<", "5:01.0", "Hint:", "class=\"option right\""}) {
    CHECK_MESSAGE(!has(pupils, text), text);
    CHECK_MESSAGE((has(trainers, text) || std::string_view{text} == "5:01.0"), text);
  }
  CHECK(has(trainers, "Answers: Who gave up first?"));
  CHECK(has(trainers, "One way: hold P1 set for 2.7 s"));
}

TEST_CASE("sheets on paper that there is not, or over the lesson, are refused before anything is written") {
  const Folder folder;
  const std::string lesson = "teach " DRYBUS_SOURCE_DIR "/scenarios/lessons/who-gave-up-first.yaml";
  const std::string sheet = folder.file("sheet.html");
  const Ran paper = drybus_program(lesson + " --paper leter --sheet " + sheet);
  CHECK(paper.exit_code == 2);
  CHECK(has(paper.err, "Did you mean 'letter'?"));
  CHECK(!fs::exists(sheet));
  CHECK(drybus_program(lesson + " --sheet /nowhere/at/all.pdf").exit_code == 2);
  CHECK(drybus_program(lesson + " --sheet " + sheet + " --answer-sheet " + sheet).exit_code == 2);
  CHECK(!fs::exists(sheet));
}

}  // namespace
