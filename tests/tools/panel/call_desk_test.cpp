// A call on its page, without sockets: what is said is in the file at once, and the terminal reads it.
#include "tools/panel/call/call_desk.h"

#include <doctest/doctest.h>
#include <fmt/format.h>
#include <unistd.h>

#include <boost/json.hpp>
#include <filesystem>
#include <fstream>
#include <random>
#include <regex>
#include <set>

#include "tests/support/program.h"
#include "tools/call/begun.h"
#include "tools/load/load.h"
#include "tools/panel/call/page_files.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
namespace json = boost::json;

bool has(const json::value& text, const std::string& part) {
  return text.is_string() && json::value_to<std::string>(text).find(part) != std::string::npos;
}

class Desk {
 public:
  explicit Desk(const std::string& name, const std::string& text = "") : path_(path_of(name)) {
    std::filesystem::remove(path_);
    if (!text.empty()) std::ofstream{path_} << text;
    desk_ = std::make_unique<CallDesk>(CallFile{path_});
    viewer_ = desk_->join({});
    take();
  }

  /// What the server answers to a message: null when it is done, else why not.
  json::value ask(json::object message) {
    message["ref"] = 1;
    CHECK(desk_->receive(viewer_, json::serialize(message)));
    json::value why = nullptr;
    for (const json::object& each : take()) {
      if (each.at("type") == "refused") why = each.at("why");
    }
    return why;
  }
  json::value say(const std::string& line) { return ask({{"do", "say"}, {"line", line}}); }

  /// Thinks, and gives the call as the page has it.
  const json::object& call() {
    if (auto task = desk_->take_task()) {
      model::Guide guide{[](const model::Report& report) {
        static const model::Catalogue catalogue = load_catalogue(DRYBUS_SOURCE_DIR "/scenarios/x.yaml");
        return model::diagnose(report, catalogue);
      }};
      desk_->take({task->revision, guide.state(task->told, task->answers), {}});
    }
    take();
    return call_;
  }
  [[nodiscard]] const json::value& revision() const { return call_.at("revision"); }
  json::value answer(json::object more) {
    more["do"] = "answer";
    more["revision"] = call().at("revision");
    return ask(std::move(more));
  }

  [[nodiscard]] std::string file() const {
    std::ifstream in{path_};
    return {std::istreambuf_iterator<char>{in}, {}};
  }
  [[nodiscard]] const std::string& path() const { return path_; }
  CallDesk& desk() { return *desk_; }

  static std::string path_of(const std::string& name) {
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("drybus-call-desk-{}", getpid());
    std::filesystem::create_directories(folder);
    return (folder / (name + ".yaml")).string();
  }

 private:
  std::vector<json::object> take() {
    std::vector<json::object> all;
    for (const Letter& letter : desk_->take_letters()) {
      all.push_back(json::parse(*letter.text).as_object());
      if (all.back().at("type") == "call") call_ = all.back();
    }
    return all;
  }

  std::string path_;
  std::unique_ptr<CallDesk> desk_;
  ViewerId viewer_ = 0;
  json::object call_;
};

const std::string meeting_room =
    "drybus-report: 1\ntitle: A meeting room\nfamily: wired-keypad\n"
    "site: {plates: {P1: {label: Door plate, switches: 12/2}}, modules: [Table, Wall, Screen, Entrance]}\n"
    "script: []\n";

TEST_CASE("all that the page of a call is made of is served, also what its files take in themselves") {
  std::vector<std::string> open{"/call.js", "/words.json"};
  std::set<std::string> served;
  while (!open.empty()) {
    const std::string path = open.back();
    open.pop_back();
    if (!served.insert(path).second) continue;
    CAPTURE(path);
    const PageFile* file = call_page_file_at(path);
    REQUIRE(file != nullptr);
    const std::string text{file->content};
    const std::regex taken{R"(from '\./([a-z_]+\.js)')"};
    for (std::sregex_iterator at{text.begin(), text.end(), taken}, end; at != end; ++at)
      open.push_back("/" + (*at)[1].str());
  }
  CHECK(served.size() > 12);
}

TEST_CASE("what is said on the page of a call is in its file at once, and goes back step by step") {
  Desk desk{"said", meeting_room};
  CHECK(desk.call().at("stage") == "listening");
  CHECK(desk.say("press door plate down").is_null());
  CHECK(desk.file().find("  - {press: \"door plate down\"}\n") != std::string::npos);
  CHECK(desk.say("Entrance is on").is_null());
  CHECK(desk.call().at("stage") == "check");
  CHECK(desk.call().at("explanations").as_array().size() > 1);
  const json::value why = desk.say("Entrnce is on");
  CHECK(has(why, "Entrnce"));
  CHECK(desk.call().at("told").as_array().size() == 2);
  CHECK(desk.ask({{"do", "mark"}, {"entry", 1}, {"unsure", true}, {"revision", desk.call().at("revision")}})
            .is_null());
  CHECK(desk.call().at("told").at(1).at("unsure").as_bool());
  CHECK(desk.ask({{"do", "back"}}).is_null());
  CHECK_FALSE(desk.call().at("told").at(1).at("unsure").as_bool());
  CHECK(desk.ask({{"do", "back"}}).is_null());
  CHECK(desk.ask({{"do", "back"}}).is_null());
  CHECK(desk.file() == meeting_room);
  CHECK(desk.ask({{"do", "back"}}).as_string() == "There is nothing to go back to.");
}

TEST_CASE(
    "an answer on the page is what the terminal would have written, and the terminal goes on from there") {
  Desk desk{"answered", meeting_room};
  for (const char* line : {"press Door plate down", "wait 2s", "Entrance is on", "Table is off"})
    CHECK(desk.say(line).is_null());
  const std::string told = desk.file();
  REQUIRE(desk.call().at("stage") == "check");
  const std::string question = json::value_to<std::string>(desk.call().at("question"));
  CHECK(desk.answer({{"answer", "yes"}}).is_null());
  const std::string by_page = desk.file();

  // The same file and answer at the terminal.
  const std::string copy = desk.path() + ".copy.yaml";
  std::ofstream{copy} << told;
  std::ofstream{copy + ".txt"} << "yes\n";
  const auto terminal = drybus_program(fmt::format("call {0} --answers {0}.txt --format json", copy));
  CHECK(terminal.exit_code == 0);
  std::ifstream in{copy};
  const std::string by_terminal{std::istreambuf_iterator<char>{in}, {}};
  CHECK(by_page == by_terminal);
  CHECK(by_page.find(question) != std::string::npos);
  const json::object next = json::parse(terminal.out).as_object();
  CHECK(next.at("stage") == desk.call().at("stage"));
  CHECK(next.at("question") == desk.call().at("question"));

  CHECK(desk.ask({{"do", "back"}}).is_null());
  CHECK(desk.file() == told + "answers:\n");
}

TEST_CASE("what was not asked for is evidence, and what belongs to the call is refused then") {
  Desk desk{"remarked", meeting_room};
  for (const char* line : {"press Door plate down", "wait 2s", "Entrance is on"})
    CHECK(desk.say(line).is_null());
  CHECK(desk.answer({{"answer", "cannot"}}).is_null());
  CHECK(desk.say("Screen blinks").is_null());
  CHECK(desk.file().find("Seen meanwhile") != std::string::npos);
  CHECK(desk.call().at("answered").as_array().size() == 2);
  CHECK_FALSE(desk.say("Screen never reacts").is_null());
  CHECK_FALSE(
      desk.ask({{"do", "take_out"}, {"entry", 0}, {"revision", desk.call().at("revision")}}).is_null());
}

TEST_CASE(
    "an answer that comes too late, is none, or lacks what is seen is refused, and nothing is written") {
  Desk desk{"late", meeting_room};
  for (const char* line : {"press Door plate down", "wait 2s", "Entrance is on"})
    CHECK(desk.say(line).is_null());
  const std::string before = desk.file();
  CHECK_FALSE(desk.ask({{"do", "answer"}, {"answer", "yes"}, {"revision", 1}}).is_null());
  CHECK_FALSE(desk.answer({{"answer", "perhaps"}}).is_null());
  CHECK_FALSE(desk.answer({{"answer", "something else"}, {"offer", 77}}).is_null());
  CHECK_FALSE(desk.answer({{"answer", "something else"}, {"saw", "nothing at all"}}).is_null());
  CHECK(desk.file() == before);
  CHECK(desk.answer({{"answer", "something else"}, {"offer", 0}}).is_null());
}

TEST_CASE("who only looks on writes nothing; nonsense is told from what cannot be done") {
  Desk desk{"onlooker", meeting_room};
  CallDesk& at = desk.desk();
  const ViewerId looker = at.join({"", Role::onlooker});
  CHECK(at.receive(looker, R"({"do":"say","line":"Table is on"})"));
  CHECK(desk.file() == meeting_room);
  CHECK_FALSE(at.receive(1, "{"));
  CHECK_FALSE(at.receive(1, R"({"do":"dance"})"));
  CHECK_FALSE(at.receive(1, R"({"do":"say","line":7})"));
  CHECK(desk.file() == meeting_room);
}

TEST_CASE("somebody who goes on with the file elsewhere is noticed, and nothing of theirs is lost") {
  Desk desk{"elsewhere", meeting_room};
  const std::string theirs = meeting_room + "never: Wall reacts\n";
  std::ofstream{desk.path()} << theirs;
  CHECK(has(desk.say("Table is on"), "Somebody else went on"));
  CHECK(desk.file() == theirs);
  CHECK(desk.call().at("told").as_array().size() == 1);
  CHECK(desk.say("Table is on").is_null());
}

TEST_CASE("a call from nothing asks for the site as the terminal does, and then is written freely") {
  Desk desk{"from-nothing"};
  CHECK(desk.call().at("stage") == "intake");
  CHECK(has(desk.call().at("prompt"), "What is it about"));
  CHECK(desk.say("A kitchen").is_null());
  CHECK(desk.say("nobodys-family").is_string());
  for (const char* line : {"wired-keypad", "kitchen, larder", "Kitchen plate, kitchen, 12/7", ".",
                           "Worktop, Table", "Shelf", "yes"})
    CHECK(desk.say(line).is_null());
  CHECK(desk.call().at("stage") == "listening");
  CHECK(desk.call().at("before") == "all");
  CHECK(desk.say("Shelf never reacts").is_null());
  CHECK(drybus_program("diagnose " + desk.path()).exit_code == 0);
}

TEST_CASE("whether everybody had their address is said before anything is told") {
  const LoadedSite site = load_site(DRYBUS_SOURCE_DIR "/scenarios/training/first-steps.yaml");
  LoadedScenario loaded;
  loaded.scenario.title = "first steps";
  loaded.scenario.site = site.site;
  loaded.family_ref = site.family_ref;
  loaded.family_file = site.family_file;
  loaded.spots = site.spots;
  Desk begun{"begun", begun_with(loaded, Before::addressed, Desk::path_of("begun"))};
  CHECK(begun.call().at("before") == "all");
  CHECK(begun.ask({{"do", "before"}, {"addressed", false}}).is_null());
  CHECK(begun.call().at("before") == "none");
  CHECK(begun.file().find("stored") == std::string::npos);
  CHECK(begun.ask({{"do", "before"}, {"addressed", true}}).is_null());
  CHECK(begun.file().find("stored") != std::string::npos);
  CHECK(begun.say("power off").is_null());
  CHECK_FALSE(begun.ask({{"do", "before"}, {"addressed", false}}).is_null());
}

TEST_CASE("whatever is said, the file can be read afterwards, and going back leads to where it began") {
  const std::vector<std::string> words = {
      "press",     "hold",      "Door plate", "table", "Entrance", "M2",    "P1",       "local",  "up",
      "set",       "for 4s",    "for",        "wait",  "about",    "2 min", "never",    "reacts", "blips",
      "complaint", "perhaps",   "saw",        "is",    "on",       "off",   "blinks",   "lamp",   "dark",
      "steady",    "addressed", ",",          "with",  "power",    "go to", "switches", "show",   "12/2",
      "99/99",     "at 40 %",   "\"",         "'",     ": ",       " #",    "{",        "}",      "[",
      "]",         "- ",        "|",          "&a",    "*a",       "%",     "\\",       "é",      "?"};
  const std::vector<std::string> sentences = {"press Door plate up",
                                              "hold M2 local for 4s",
                                              "wait about 2 min",
                                              "Entrance never reacts",
                                              "Table is on",
                                              "perhaps the lamp of Wall is steady",
                                              "addressed Table, Wall with Door plate",
                                              "power off",
                                              "Screen blinks",
                                              "complaint Entrance is off",
                                              "complaint Wall never blips",
                                              "Door plate switches show 12/2",
                                              "M3 is at 40 %"};
  std::mt19937 draw{20};  // the same draws with every library
  Desk desk{"anything", meeting_room};
  std::size_t taken = 0;
  for (int count = 0; count < 600 && taken < 150; ++count) {
    std::string line = sentences[draw() % sentences.size()];
    if (draw() % 2 == 0) line.insert(draw() % (line.size() + 1), words[draw() % words.size()]);
    json::object message{{"do", "say"}, {"line", line}};
    if (draw() % 8 == 0) message["before"] = draw() % 12;
    if (draw() % 12 == 0)
      message = {
          {"do", draw() % 2 ? "take_out" : "mark"}, {"entry", draw() % 12}, {"revision", desk.revision()}};
    if (message.at("do") == "mark") message["unsure"] = draw() % 2 == 0;
    CAPTURE(json::serialize(message));
    taken += desk.ask(std::move(message)).is_null();
    const auto reading = read_report_text(desk.file(), desk.path());
    REQUIRE_MESSAGE(reading.ok(), to_text(reading.problems()));
  }
  CHECK(taken > 40);
  for (std::size_t back = 0; back < taken; ++back) {
    CAPTURE(back);
    REQUIRE(desk.ask({{"do", "back"}}).is_null());
  }
  CHECK(desk.file() == meeting_room);
}

TEST_CASE("the page of a call has its own files, and of the bench's those that it shares") {
  REQUIRE(call_page_file_at("/") != nullptr);
  CHECK(call_page_file_at("/")->content.find("call.js") != std::string_view::npos);
  CHECK(call_page_file_at("/element.js") == page_file_at("/element.js"));
  CHECK(call_page_file_at("/panel.js") == nullptr);
  CHECK(call_page_file_at("/../call.js") == nullptr);
}

}  // namespace
