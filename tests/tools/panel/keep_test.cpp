// A bench that outlives its program.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>
#include <fstream>

#include "sim/digest.h"
#include "tests/support/files.h"
#include "tests/support/panel_bench.h"
#include "tools/base/unusable.h"
#include "tools/panel/keeper.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

constexpr const char* scenario = "training/setup-split.yaml";

std::string digest_of(Bench& bench, BranchId id) {
  return bench.save(id).digest;
}

std::string digest_of(const model::World& world) {
  sim::Digest digest;
  add_to(digest, world);
  return digest.value().hex();
}

/// A class at work: two branches, a demonstration at its first question, one pupil with the controls.
ViewerId work(Panel& panel, ViewerId trainer) {
  const auto say = [&](ViewerId who, const std::string& message, RealTime real) {
    REQUIRE(panel.receive(who, message, real));
  };
  say(trainer, R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})", 1s);
  say(trainer, R"({"do":"play"})", 1s);
  panel.at_real(6s);
  say(trainer, R"({"do":"pause"})", 6s);
  say(trainer, R"({"do":"branch","name":"Another try"})", 7s);
  say(trainer, R"({"do":"press_for","device":"P1","buttons":["up"],"for_s":0.2})", 7s);
  say(trainer, R"({"do":"play"})", 7s);
  panel.at_real(9s);
  say(trainer, R"({"do":"demo"})", 9s);
  say(trainer, R"({"do":"speed","speed":1000})", 9s);
  panel.at_real(10s);
  say(trainer, R"({"do":"curtain","drawn":true})", 10s);
  const ViewerId pupil = panel.join(10s, {{}, Role::pupil});
  say(pupil, R"({"do":"name","name":"Ida"})", 10s);
  say(trainer, fmt::format(R"({{"do":"give_controls","to":{}}})", pupil), 11s);
  return pupil;
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("a bench that was kept goes on as it stood, branch by branch, with its people") {
    Panel before{shipped(scenario), {}, RoomKind::led};
    const ViewerId trainer = before.join(0s, {{}, Role::trainer});
    const ViewerId pupil = work(before, trainer);
    REQUIRE(before.bench().courses().size() == 3);
    const KeptBench kept = parse_kept(kept_text(before.kept()), "bench.json");
    Panel after{shipped(scenario), {}, RoomKind::led};
    after.resume(kept, 0s);
    REQUIRE(after.bench().courses().size() == 3);
    for (std::size_t i = 0; i < 3; ++i) {
      const Course& was = before.bench().courses()[i];
      const Course& is = after.bench().courses()[i];
      CAPTURE(was.name);
      CHECK(is.id == was.id);
      CHECK(is.name == was.name);
      CHECK(is.parent == was.parent);
      CHECK(is.run->now() == was.run->now());
      CHECK(is.run->reached() == was.run->reached());
      CHECK(digest_of(is.run->world()) == digest_of(was.run->world()));
    }
    CHECK(after.bench().chosen().id == before.bench().chosen().id);
    CHECK(after.bench().speed() == before.bench().speed());
    CHECK_FALSE(after.bench().playing());
    // The demonstration stands before its question again.
    REQUIRE(before.bench().pause_reached().has_value());
    REQUIRE(after.bench().pause_reached().has_value());
    CHECK(after.bench().pause_reached()->at == before.bench().pause_reached()->at);
    CHECK(after.room().curtain() == Curtain::drawn);
    // Whoever comes back has name and controls; who does not has given them back.
    const std::string key = before.room().viewer(pupil).key;
    CHECK(after.join(3s, {key, Role::pupil}) == pupil);
    CHECK(after.room().viewer(pupil).name == "Ida");
    CHECK(after.room().holds(pupil));
    after.at_real(20s);
    CHECK(after.room().viewers().size() == 2);  // the trainer's seat waits
    CHECK(after.join(60s, {before.room().viewer(trainer).key, Role::trainer}) == trainer);
    CHECK(after.join(61s, {{}, Role::pupil}) > pupil);
  }

  TEST_CASE("what is saved from a kept bench is what would have been saved before") {
    Bench before{shipped(scenario)};
    before.press_for(0, model::only(0), 2700ms);
    before.play();
    before.at_real(5s);
    before.pause();
    const std::string digest = digest_of(before, before.chosen().id);
    Bench after{shipped(scenario)};
    resume(after, kept_of(before));
    CHECK(digest_of(after, after.chosen().id) == digest);
  }

  TEST_CASE("a folder keeps one scenario's bench, and says what it cannot take") {
    const Folder folder;
    const LoadedScenario loaded = shipped(scenario);
    CHECK_FALSE(read_kept(folder.path() / "new", loaded).has_value());
    Workshop panel{shipped(scenario), {}};
    panel.join(0s);
    Keeper keeper{{.folder = folder.path() / "new"}, {"t", "l", "o"}, {}};
    keeper.look(panel, 2s);
    keeper.look(panel, 3s);
    const auto kept = read_kept(folder.path() / "new", loaded);
    REQUIRE(kept.has_value());
    CHECK(kept->links.trainer_key == "l");
    CHECK(kept->seats.size() == 1);
    CHECK_THROWS_WITH_AS(
        static_cast<void>(read_kept(folder.path() / "new", shipped("training/shared-address.yaml"))),
        doctest::Contains("the bench of another scenario"), Unusable);
    for (const char* text : {"", "{", "[]", "{\"drybus-bench\":2}", "{\"drybus-bench\":1,\"scenario\":3}"}) {
      CAPTURE(text);
      std::ofstream{folder.path() / "new" / "bench.json"} << text;
      CHECK_THROWS_WITH_AS(static_cast<void>(read_kept(folder.path() / "new", loaded)),
                           doctest::Contains("no bench that 'drybus panel --keep' wrote"), Unusable);
    }
    std::ofstream{folder.path() / "file"} << "x";
    CHECK_THROWS_AS(static_cast<void>(read_kept(folder.path() / "file", loaded)), Unusable);
  }

  TEST_CASE("a disk that takes no more is told to who leads, once, and the panel goes on") {
    const Folder folder;
    Workshop panel{shipped(scenario), {.led = true}};
    const ViewerId trainer = panel.join(0s, {{}, Role::trainer});
    panel.join(0s, {{}, Role::pupil});
    static_cast<void>(panel.take_letters());
    Keeper keeper{{.folder = folder.path() / "gone" / "deeper"}, {}, {}};  // nothing can be written there
    const auto notices = [&] {
      std::size_t count = 0;
      for (const Letter& letter : panel.take_letters()) {
        if (letter.text->find("\"notice\"") == std::string::npos) continue;
        CHECK(letter.to == trainer);
        ++count;
      }
      return count;
    };
    keeper.look(panel, 2s);
    CHECK(notices() == 1);
    keeper.look(panel, 4s);
    CHECK(notices() == 0);
    std::filesystem::create_directories(folder.path() / "gone" / "deeper");
    keeper.look(panel, 6s);
    CHECK(notices() == 1);  // it is kept again
    keeper.look(panel, 8s);
    CHECK(std::filesystem::exists(folder.path() / "gone" / "deeper" / "bench.json"));
    keeper.look(panel, 10s);  // nothing new
    CHECK(notices() == 0);
  }
}
