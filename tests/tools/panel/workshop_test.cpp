// Many benches in one program: who sits where, what reaches whom, what is kept.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/panel_bench.h"
#include "tools/base/unusable.h"
#include "tools/panel/keep_workshop.h"
#include "tools/panel/keeper.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

namespace json = boost::json;

Task story() {
  return {shipped("training/setup-split.yaml")};
}

std::shared_ptr<const LoadedLesson> lesson() {
  static const auto loaded = std::make_shared<const LoadedLesson>(
      read_lesson(DRYBUS_SOURCE_DIR "/scenarios/lessons/one-step-too-far.yaml").value());
  return loaded;
}

/// A class and what was said in it.
struct Class {
  explicit Class(Task task = story(), WorkshopOptions options = {.led = true, .each = true})
      : workshop(std::move(task), std::move(options)) {}

  ViewerId join(Role role, const std::string& key = {}) { return workshop.join(real, {key, role}); }
  /// "" or why not.
  std::string says(ViewerId who, const std::string& text) {
    static_cast<void>(hear());
    workshop.receive(who, text, real);
    for (const auto& [to, message] : hear()) {
      if (to == who && message.at("type") == "refused") return std::string{message.at("why").as_string()};
    }
    return {};
  }
  std::vector<std::pair<ViewerId, json::object>> hear() {
    std::vector<std::pair<ViewerId, json::object>> all;
    for (const Letter& letter : workshop.take_letters()) {
      REQUIRE(letter.to.has_value());
      all.emplace_back(*letter.to, json::parse(*letter.text).as_object());
    }
    return all;
  }
  /// The last message of a type that somebody got.
  std::optional<json::object> last(ViewerId who, std::string_view type) {
    std::optional<json::object> found;
    for (auto& [to, message] : hear()) {
      if (to == who && message.at("type").as_string() == type) found = std::move(message);
    }
    return found;
  }
  void wait(RealTime time) {
    for (const RealTime end = real + time; real < end;) {
      real += 500ms;
      workshop.at_real(real);
    }
  }
  std::string mode(BenchId bench) {
    return std::string{to_string(workshop.bench(bench).bench().run().world().devices[0].mode)};
  }

  Workshop workshop;
  RealTime real = 1s;
};

constexpr const char* into_setup = R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})";

json::object bench_in(const json::object& overview, BenchId bench) {
  for (const json::value& each : overview.at("benches").as_array()) {
    if (each.at("bench").to_number<BenchId>() == bench) return each.as_object();
  }
  FAIL("no such bench");
  return {};
}

/// A site of `rooms` rooms with twenty modules in each.
LoadedScenario large_site(std::size_t rooms) {
  std::string text = "drybus: 1\ntitle: Large\nfamily: wired-keypad\nseed: 1\nsite:\n  places:\n";
  std::string modules;
  std::string line = "P1";
  for (std::size_t room = 0; room < rooms; ++room) {
    text += fmt::format("    room {}: {{}}\n", room);
    for (std::size_t i = 0; i < 20; ++i) {
      modules += fmt::format("    M{}: {{place: room {}}}\n", room * 20 + i, room);
      line += fmt::format(", M{}", room * 20 + i);
    }
  }
  text += "  plates:\n    P1: {place: room 0, switches: {site: 23, zone: 4}}\n  modules:\n" + modules +
          "  bus: {line: [" + line + "]}\nscript:\n  - wait: 1s\n";
  ReadOptions options;
  auto reading = read_scenario_text(text, DRYBUS_SOURCE_DIR "/scenarios/training/large.yaml");
  if (!reading.ok()) FAIL(to_text(reading.problems()));
  return std::move(reading.value());
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("each pupil has a bench of their own, and nothing of one reaches another") {
    Class room;
    const ViewerId trainer = room.join(Role::trainer);
    const ViewerId ida = room.join(Role::pupil);
    const ViewerId ben = room.join(Role::pupil);
    CHECK(room.workshop.benches() == std::vector<BenchId>{class_bench, ida, ben});
    CHECK(room.says(ida, into_setup).empty());
    CHECK(room.says(ida, R"({"do":"play"})").empty());
    static_cast<void>(room.hear());
    room.wait(5s);
    CHECK(room.mode(ida) == "setup");
    CHECK(room.mode(ben) == "normal");
    CHECK(room.mode(class_bench) == "normal");
    bool heard = false;
    for (const auto& [to, message] : room.hear()) {
      if (message.at("type") != "changed") continue;
      CHECK(to == ida);
      heard = true;
    }
    CHECK(heard);
    CHECK(room.says(ida, R"({"do":"each","on":false})") == "That is the trainer's.");
    CHECK(room.says(trainer, R"({"do":"each","on":false})").empty());
    CHECK(room.says(ida, into_setup) == "The controls are the trainer's. Ask for them.");
    CHECK(room.says(trainer, R"({"do":"each","on":true})").empty());
    CHECK(room.mode(ida) == "setup");  // what was begun lies there still
  }

  TEST_CASE("over a shoulder, and on the wall: letters come from the bench that somebody looks at") {
    Class room;
    const ViewerId trainer = room.join(Role::trainer);
    const ViewerId wall = room.join(Role::onlooker);
    const ViewerId ida = room.join(Role::pupil);
    CHECK(room.says(ida, R"({"do":"name","name":"Ida"})").empty());
    static_cast<void>(
        room.workshop.receive(trainer, fmt::format(R"({{"do":"look_at","bench":{}}})", ida), room.real));
    const auto where = room.last(trainer, "where");
    REQUIRE(where.has_value());
    CHECK(where->at("name") == "Ida");
    CHECK(room.says(trainer, into_setup) == "This is a pupil's bench. Take the controls first.");
    CHECK(room.says(trainer, R"({"do":"ask_controls"})").empty());
    CHECK(room.says(ida, into_setup) == "The trainer has the controls for a moment. Ask for them.");
    CHECK(room.says(trainer, R"({"do":"give_back_controls"})").empty());
    CHECK(room.says(ida, into_setup).empty());
    CHECK(room.says(trainer, R"({"do":"look_at","bench":77})") == "There is no bench 77.");
    CHECK(room.says(trainer, fmt::format(R"({{"do":"wall","bench":{}}})", ida)).empty());
    CHECK(room.says(ida, R"({"do":"play"})").empty());
    static_cast<void>(room.hear());
    room.wait(1s);
    std::set<ViewerId> told;
    for (const auto& [to, message] : room.hear()) {
      if (message.at("type") == "changed") told.insert(to);
    }
    CHECK(told == std::set<ViewerId>{trainer, wall, ida});
    CHECK(room.says(wall, into_setup) == "Onlookers cannot do that.");
    const ViewerId late = room.join(Role::onlooker);
    CHECK(room.last(late, "where")->at("name") == "Ida");
    room.workshop.leave(trainer, room.real);
    room.wait(1s);
    CHECK(room.workshop.bench(ida).room().holds(ida));
    CHECK(room.workshop.bench(ida).room().find(trainer) == nullptr);
  }

  TEST_CASE("the overview tells who may be stuck, at which question, and a pupil comes back to their bench") {
    Class room{Task{lesson()->story, lesson()}};
    const ViewerId trainer = room.join(Role::trainer);
    static_cast<void>(room.hear());
    const ViewerId ida = room.workshop.join(room.real, {{}, Role::pupil});
    const auto hello = room.last(ida, "hello");
    REQUIRE(hello.has_value());
    const std::string key{hello->at("you").at("key").as_string()};
    room.wait(60s);
    CHECK(room.says(ida, R"({"do":"lesson","ask":"answer","text":"7"})").empty());
    static_cast<void>(room.hear());
    room.wait(stuck_after - 2s);
    CHECK_FALSE(room.last(trainer, "class").has_value());  // nothing new
    room.wait(4s);
    const auto overview = room.last(trainer, "class");
    REQUIRE(overview.has_value());
    const json::object bench = bench_in(*overview, ida);
    CHECK(bench.at("stuck").as_bool());
    CHECK(bench.at("question") == 1);
    CHECK(bench.at("tries") == 1);
    CHECK(bench.at("deed") == "question 1: wrong");
    CHECK(bench.at("deed_ago_s").to_number<double>() >= 90);
    room.workshop.leave(ida, room.real);
    room.wait(120s);
    CHECK(room.join(Role::pupil, key) == ida);
    const auto again = room.last(ida, "hello");
    REQUIRE(again.has_value());
    CHECK(room.workshop.bench(ida).questions()->pupil().now.tries == 1);
    CHECK(room.join(Role::pupil, key) != ida);  // a key opens once
  }

  TEST_CASE(
      "a lesson keeps its curtain and its story until the questions are over, but not from the trainer") {
    Class room{Task{lesson()->story, lesson()}};
    const ViewerId trainer = room.join(Role::trainer);
    const ViewerId ida = room.join(Role::pupil);
    CHECK(room.workshop.bench(ida).room().curtain() == Curtain::drawn);
    CHECK(room.says(ida, R"({"do":"curtain","drawn":false})") ==
          "The curtain opens when the questions are over.");
    CHECK(room.says(ida, R"({"do":"save"})") == "It can be saved when the questions are over.");
    CHECK(room.says(ida, R"({"do":"seek","at_s":86400})") ==
          "The story goes on when the question is answered.");
    CHECK(room.says(ida, R"({"do":"demo","pause_at":["finding"]})").empty());
    CHECK(room.says(ida, R"({"do":"speed","speed":10000})").empty());
    room.wait(10s);
    const Bench& bench = room.workshop.bench(ida).bench();
    CHECK_FALSE(bench.playing());
    CHECK(bench.run().now() <= lesson()->standings[0].world.now);
    CHECK(room.says(trainer, R"({"do":"curtain","drawn":false})").empty());
    CHECK(room.says(trainer, R"({"do":"seek","at_s":600})").empty());
  }

  TEST_CASE("results have names only if somebody asks for them, and no formulas") {
    model::Pupil went;
    went.over = {{true, 2, 1}};
    const std::vector<Result> results{{7, "=1+1", "A \"lesson\"", {"Which?", "Why?"}, went}};
    CHECK(results_csv(results, false) ==
          "pupil,lesson,number,question,right,tries,hints\r\n"
          "7,\"A \"\"lesson\"\"\",1,\"Which?\",yes,2,1\r\n"
          "7,\"A \"\"lesson\"\"\",2,\"Why?\",,0,0\r\n");
    CHECK(results_csv(results, true).find("7,\"'=1+1\",") != std::string::npos);
  }

  TEST_CASE("benches, answers and who sat there are kept over the end of the program") {
    const Folder folder;
    std::string key;
    ViewerId ida = 0;
    {
      Class room{Task{lesson()->story, lesson()}};
      room.join(Role::trainer);
      static_cast<void>(room.hear());
      ida = room.join(Role::pupil);
      key = std::string{room.last(ida, "hello")->at("you").at("key").as_string()};
      CHECK(room.says(ida, R"({"do":"lesson","ask":"answer","text":"7"})").empty());
      Keeper keeper{{.folder = folder.path(), .results = folder.path() / "results.csv"}, {}, {}};
      keeper.write_last(room.workshop);
    }
    CHECK(std::filesystem::exists(folder.path() / "results.csv"));
    const auto kept = read_kept_class(folder.path());
    REQUIRE(kept.has_value());
    CHECK(kept->each);
    const auto own = read_kept_own(folder.path(), lesson()->story);
    REQUIRE(own.size() == 1);
    Class again{Task{lesson()->story, lesson()}};
    again.workshop.resume(*kept, read_kept(folder.path(), lesson()->story), own, 0s);
    CHECK(again.join(Role::pupil, key) == ida);
    CHECK(again.workshop.bench(ida).questions()->pupil().now.tries == 1);
    CHECK(again.workshop.bench(ida).room().holds(ida));
    const ViewerId next = again.join(Role::pupil);
    CHECK(next > ida);
    CHECK(read_kept_own(folder.path(), shipped("training/setup-split.yaml")).empty());
    for (const char* text : {"", "[]", R"({"drybus-class":2})", R"({"drybus-class":1,"open":3})"}) {
      CAPTURE(text);
      CHECK_THROWS_WITH_AS(static_cast<void>(parse_kept_class(text, "class.json")),
                           doctest::Contains("no class that 'drybus panel --keep' wrote"), Unusable);
    }
  }

  TEST_CASE(
      "from the list a lesson is opened for the class, and what was answered before stays in the results") {
    WorkshopOptions options{.led = true, .choosing = true};
    options.shelf = {
        "lessons",
        {{"a", "A lesson", "About it.", 3, 2, {}}, {"b", "A broken one", {}, 0, 0, "b: no such thing"}},
        [](const Offer&) {
          return Task{lesson()->story, lesson()};
        }};
    Class room{story(), options};
    const ViewerId trainer = room.join(Role::trainer);
    CHECK(room.last(trainer, "shelf")->at("offers").as_array().size() == 2);
    const ViewerId ida = room.join(Role::pupil);
    const auto heard = room.hear();
    for (const auto& [to, message] : heard) {
      CHECK(message.at("type") == "shelf");
      if (to == ida) CHECK(message.at("offers").as_array().empty());
    }
    CHECK(room.says(ida, into_setup) == "Nothing is open yet.");
    CHECK(room.says(ida, R"({"do":"open","offer":1})") == "That is the trainer's.");
    CHECK(room.says(trainer, R"({"do":"open","offer":2})") == "b: no such thing");
    CHECK(room.says(trainer, R"({"do":"open","offer":3})") != "");
    static_cast<void>(room.workshop.receive(trainer, R"({"do":"open","offer":1,"each":true})", room.real));
    CHECK(room.last(ida, "hello").has_value());
    CHECK(room.says(ida, R"({"do":"lesson","ask":"answer","text":"7"})").empty());
    CHECK(room.says(trainer, R"({"do":"shelf"})").empty());
    CHECK(room.says(ida, R"({"do":"lesson","ask":"question"})") == "Nothing is open yet.");
    CHECK(room.says(trainer, R"({"do":"open","offer":1,"each":true})").empty());
    CHECK(room.workshop.results().size() == 1);
    CHECK(room.workshop.bench(ida).questions()->pupil() == model::Pupil{});
  }

  TEST_CASE("of many who come and go only benches at which something was done are kept") {
    Class room;
    room.join(Role::trainer);
    const ViewerId ida = room.join(Role::pupil);
    CHECK(room.says(ida, into_setup).empty());
    room.workshop.leave(ida, room.real);
    for (std::size_t i = 0; i < most_own_benches + 20; ++i) {
      const Newcomer who{{}, Role::pupil};
      REQUIRE(room.workshop.has_room_for(who));
      room.workshop.leave(room.workshop.join(room.real, who), room.real);
    }
    CHECK(room.workshop.benches().size() == most_own_benches + 1);
    CHECK_NOTHROW(static_cast<void>(room.workshop.bench(ida)));
    for (const BenchId bench : room.workshop.benches()) {
      if (bench == class_bench || bench == ida) continue;
      room.workshop.join(room.real,
                         {std::string{room.workshop.bench(bench).room().viewer(bench).key}, Role::pupil});
    }
    CHECK_FALSE(room.workshop.has_room_for({{}, Role::pupil}));
    CHECK(room.workshop.has_room_for({{}, Role::onlooker}));
  }

  TEST_CASE("a large site is told in parts, and news only of the rooms that are looked at") {
    Panel panel{large_site(30)};
    const ViewerId near = panel.join(1s);
    const ViewerId far = panel.join(1s);
    const auto letters_to = [&](ViewerId who) {
      std::vector<json::object> all;
      for (const Letter& letter : panel.take_letters()) {
        if (letter.to == who) all.push_back(json::parse(*letter.text).as_object());
      }
      return all;
    };
    const auto greeting = letters_to(near);
    CHECK(greeting.at(0).at("in_parts").as_bool());
    CHECK(greeting.at(0).at("modules").as_array().empty());
    CHECK(greeting.at(0).at("places").as_array().size() == 30);
    CHECK(greeting.at(0).at("places").at(3).at("modules") == 20);
    CHECK(greeting.at(1).at("devices").as_object().size() == 21);  // where the installer stands
    panel.receive(far, R"({"do":"rooms","rooms":["room 7"],"ref":1})", 2s);
    const auto parts = letters_to(far);
    REQUIRE_FALSE(parts.empty());
    CHECK(parts.back().at("type") == "part");
    CHECK(parts.back().at("devices").as_object().size() == 41);
    panel.receive(near, R"({"do":"press_for","device":"P1","buttons":["up"],"for_s":0.2})", 3s);
    panel.receive(near, R"({"do":"power","device":"M145","on":false})", 3s);
    panel.receive(near, R"({"do":"play"})", 3s);
    static_cast<void>(panel.take_letters());
    panel.at_real(6s);
    std::map<ViewerId, std::set<std::string>> told;
    for (const Letter& letter : panel.take_letters()) {
      const json::object message = json::parse(*letter.text).as_object();
      if (message.at("type") != "changed" || !message.contains("devices")) continue;
      for (const auto& [name, device] : message.at("devices").as_object()) told[*letter.to].emplace(name);
    }
    CHECK(told[near].contains("M1"));
    CHECK_FALSE(told[near].contains("M145"));
    CHECK(told[far].contains("M145"));
    CHECK_FALSE(told[far].contains("M200"));
    panel.receive(far, R"({"do":"rooms","rooms":["cellar"],"ref":2})", 7s);
    CHECK(letters_to(far).back().at("why") == "There is no place 'cellar'.");
  }
}
