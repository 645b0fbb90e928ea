// The script at the panel stopped for its question when the installer had begun the cure already: what comes at the same
// moment as a note was carried out with it, and the look that tells the answer as well.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "model/record/trace.h"
#include "tests/support/panel_bench.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/state_json.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

std::vector<std::string> training() {
  std::vector<std::string> paths;
  for (const auto& entry : std::filesystem::directory_iterator{DRYBUS_SOURCE_DIR "/scenarios/training"}) {
    paths.push_back("training/" + entry.path().filename().string());
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

bool stands_at(const Bench& bench, TeachingPoint::Kind kind) {
  const auto& points = bench.pause_reached()->points;
  return std::any_of(points.begin(), points.end(),
                     [&](const TeachingPoint& point) { return point.kind == kind; });
}

/// The number of notes at which the demonstration stopped.
std::size_t play_through(Bench& bench, Hand& hand, const std::string& points) {
  hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"demo","pause_at":)" + points + "}");
  std::size_t notes = 0;
  for (int i = 0; i < 200; ++i) {
    hand.waits(1s);
    REQUIRE(bench.pause_reached());
    if (stands_at(bench, TeachingPoint::Kind::end)) return notes;
    const Branch& run = bench.run();
    if (stands_at(bench, TeachingPoint::Kind::note)) {
      ++notes;
      CHECK(run.steps()[run.steps_begun() - 1].kind == model::StepKind::note);
      for (const auto& device : run.world().devices) CHECK(device.contacts == device.stuck);
    }
    hand.does(R"({"do":"play"})");
  }
  FAIL("the script never ends");
  return notes;
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("the script stops at a note before the next step, and then runs on as if it had not stopped") {
    for (const std::string& path : training()) {
      CAPTURE(path);
      const LoadedScenario loaded = shipped(path);
      const auto& script = loaded.scenario.people[0].script;
      const auto notes = std::count_if(script.begin(), script.end(), [](const model::Step& step) {
        return step.kind == model::StepKind::note;
      });
      const std::string digest = model::run(loaded.scenario).digest.hex();
      for (const std::string points :
           {R"(["note","finding"])", R"(["note","see","finding"])", R"(["note"])"}) {
        CAPTURE(points);
        Bench bench{loaded};
        Hand hand{bench};
        CHECK(play_through(bench, hand, points) == static_cast<std::size_t>(notes));
        CHECK(model::digest_of(bench.run().record(), bench.run().world()).hex() == digest);
        // And once more from the start, on the same branch.
        CHECK(play_through(bench, hand, points) == static_cast<std::size_t>(notes));
        CHECK(model::digest_of(bench.run().record(), bench.run().world()).hex() == digest);
      }
    }
  }

  TEST_CASE(
      "where the script has stopped, one event on is the next step, and a jump in time leaves no step out") {
    const LoadedScenario loaded = shipped("training/setup-split.yaml");
    for (const std::string go_on : {R"({"do":"step"})", R"({"do":"seek","at_s":300})", R"({"do":"jump"})"}) {
      CAPTURE(go_on);
      Bench bench{loaded};
      Hand hand{bench};
      hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"demo","pause_at":["note"]})").waits(1s);
      REQUIRE(bench.pause_reached());
      CHECK(bench.run().is_held());
      const std::size_t begun = bench.run().steps_begun();
      hand.does(go_on);
      CHECK(bench.run().steps_begun() > begun);
      CHECK_FALSE(bench.run().is_held());
      hand.does(R"({"do":"seek","at_s":600})");
      CHECK(bench.run().steps_begun() == loaded.scenario.people[0].script.size());
      hand.does(R"({"do":"seek","at_s":0})").does(R"({"do":"play"})").waits(1s);
      CHECK(bench.run().is_held());  // the second time as well
    }
  }

  TEST_CASE("who goes back to a question stands before its answer again") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"demo","pause_at":["note"]})").waits(1s);
    REQUIRE(bench.run().is_held());
    const double asked_at = exact_seconds(bench.run().now());
    const std::size_t begun = bench.run().steps_begun();
    hand.does(R"({"do":"seek","at_s":600})");
    for (const char* from : {"0", "100", "600"}) {
      hand.does(fmt::format(R"({{"do":"seek","at_s":{}}})", from));
      CHECK_FALSE(bench.pause_reached());
      hand.does(fmt::format(R"({{"do":"seek","at_s":{}}})", asked_at));
      CHECK(bench.run().is_held());
      CHECK(bench.run().steps_begun() == begun);
      REQUIRE(bench.pause_reached());
      CHECK(stands_at(bench, TeachingPoint::Kind::note));
    }
    hand.does(R"({"do":"play"})").waits(60s);
    CHECK(bench.run().steps_begun() == bench.run().steps().size());
  }

  TEST_CASE("the answer to what the script has stopped for is not told before it is asked for") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"demo","pause_at":["finding"]})").waits(1s);
    REQUIRE(bench.pause_reached());
    const auto is_told_of = [&] {
      const boost::json::object state = state_json(bench);
      const auto& findings = state.at("findings").as_array();
      return std::any_of(findings.begin(), findings.end(), [](const boost::json::value& finding) {
        return finding.at("id").as_string() == "setup-split";
      });
    };
    const auto told = [&] { return boost::json::serialize(state_json(bench)); };
    CHECK(told().find("setup-split@") == std::string::npos);
    CHECK_FALSE(is_told_of());
    CHECK(state_json(bench).at("pause").at("has_answer").as_bool());
    const std::string answer = bench.pause_reached()->points[0].answer;
    REQUIRE_FALSE(answer.empty());
    CHECK(told().find(answer) == std::string::npos);
    hand.does(R"({"do":"answer"})");
    CHECK(told().find(answer) != std::string::npos);
    CHECK(is_told_of());
    hand.does(R"({"do":"play"})");
    CHECK(hand.is_refused(R"({"do":"answer"})") == "not_now");
    CHECK(is_told_of());
  }
}
