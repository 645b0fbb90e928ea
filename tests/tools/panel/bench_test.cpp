// The live bench: what was done there replays as it was shown, whatever way it came about.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <random>

#include "model/world/facts.h"
#include "tests/support/panel_bench.h"
#include "tests/support/script_text.h"
#include "tests/support/seeds.h"
#include "tools/load/load.h"
#include "tools/panel/exact_seconds.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

std::string fact(const Bench& bench, const std::string& device, model::Fact fact) {
  const model::Scenario& scenario = bench.run().scenario();
  return model::fact_text(scenario, bench.run().world(), *scenario.site.find_device(device), fact);
}

std::vector<std::string> finding_ids(const Branch& branch) {
  std::vector<std::string> ids;
  for (const model::Observation& o : branch.observations()) ids.emplace_back(to_string(o.id));
  return ids;
}

void replays(Bench& bench, BranchId id) {
  const SavedScenario saved = bench.save(id);
  const model::RunResult result = run_saved(saved);
  INFO(saved.text);
  CHECK(result.digest.hex() == saved.digest);
  CHECK(result.passed());
  CHECK(result.world.now == saved.ended);
}

void replays_all(Bench& bench) {
  std::vector<BranchId> ids;
  for (const Course& course : bench.courses()) ids.push_back(course.id);
  for (const BranchId id : ids) replays(bench, id);
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE(
      "an address set at the bench in real time is stored, and the saved scenario gives the same digest") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"play"})").waits(500ms);
    hand.does(R"({"do":"press","device":"P1","buttons":["set"]})").waits(2700ms).does(R"({"do":"release"})");
    hand.waits(100ms);
    CHECK(fact(bench, "P1", model::Fact::indicator) == "blink");
    hand.does(R"({"do":"press","device":"M1","buttons":["local"]})")
        .waits(3700ms)
        .does(R"({"do":"release"})");
    hand.waits(200ms);
    CHECK(fact(bench, "M1", model::Fact::mode) == "setup");
    for (const char* button : {"up", "accept"}) {
      hand.does(fmt::format(R"({{"do":"press","device":"P1","buttons":["{}"]}})", button));
      hand.waits(120ms).does(R"({"do":"release"})").waits(300ms);
    }
    CHECK(fact(bench, "M1", model::Fact::address) == "23/3/1");
    CHECK(bench.run().now() == sim::start_of_run + 8040ms);
    replays(bench, 1);
    CHECK(bench.save(1).ended == bench.run().now() + sim::Duration{1});
  }

  TEST_CASE("a press that is let go is as long as it was held, to the nanosecond") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"play"})").waits(1s).does(R"({"do":"press","device":"P1","buttons":["up"]})");
    CHECK(bench.holding());
    CHECK(bench.run().world().devices[0].contacts == 2);
    hand.waits(1234567ns).waits(432109876ns).does(R"({"do":"release"})");
    CHECK_FALSE(bench.holding());
    CHECK(bench.run().steps()[0].duration == 433'344'442ns);
    hand.waits(1ns);
    CHECK(bench.run().world().devices[0].contacts == 0);
  }

  TEST_CASE("a press while the clock stands becomes a short press of the scenario's") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press","device":"P1","buttons":["off"]})").does(R"({"do":"release"})");
    CHECK(bench.run().steps()[0].duration == 200ms);
    CHECK(bench.run().world().devices[0].contacts != 0);
    hand.does(R"({"do":"play"})").waits(201ms);
    CHECK(bench.run().world().devices[0].contacts == 0);
    replays(bench, 1);
  }

  TEST_CASE("two fingers that land together are one gesture") {
    Bench bench{shipped("training/same-number-next-door.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"play"})").waits(1s);
    hand.does(R"({"do":"press","device":"P1","buttons":["mark"]})").waits(60ms);
    hand.does(R"({"do":"press","device":"P1","buttons":["scene"]})")
        .waits(2300ms)
        .does(R"({"do":"release"})");
    hand.waits(100ms);
    CHECK(bench.run().steps().size() == 1);
    CHECK(fact(bench, "P1", model::Fact::mode) == "setup");
    replays(bench, 1);
  }

  TEST_CASE("a finger that comes much later has to wait for the first") {
    Bench bench{shipped("training/same-number-next-door.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"play"})").does(R"({"do":"press","device":"P1","buttons":["mark"]})").waits(200ms);
    CHECK(hand.is_refused(R"({"do":"press","device":"P1","buttons":["scene"]})") == "busy");
  }

  TEST_CASE("the installer walks to what is pressed elsewhere, and things asked for meanwhile come after") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"M1","buttons":["local"],"for_s":3.7})");
    hand.does(R"({"do":"walk","place":"shop"})");
    CHECK(bench.run().installer().place == model::no_place);
    hand.does(R"({"do":"play"})").does(R"({"do":"speed","speed":100})").waits(1050ms);
    CHECK(fact(bench, "M1", model::Fact::mode) == "setup");
    hand.waits(2s);
    CHECK(bench.run().installer().place == 0);
    replays(bench, 1);
  }

  TEST_CASE("going back and doing something else makes a branch, and both stay as they are") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})");
    hand.does(R"({"do":"seek","at_s":10})").does(R"({"do":"jump"})");
    CHECK(fact(bench, "P1", model::Fact::mode) == "normal");
    const auto ended = bench.run().now();
    hand.does(R"({"do":"seek","at_s":60})");
    CHECK(fact(bench, "P1", model::Fact::mode) == "setup");
    CHECK(bench.courses().size() == 1);
    hand.does(R"({"do":"press_for","device":"P1","buttons":["two"],"for_s":0.2})")
        .does(R"({"do":"seek","at_s":61})");
    REQUIRE(bench.courses().size() == 2);
    CHECK(bench.chosen().parent == 1);
    CHECK(fact(bench, "P1", model::Fact::mode) == "normal");
    CHECK(bench.course(1).run->reached() == ended);
    hand.does(R"({"do":"choose","branch":1})");
    CHECK(fact(bench, "P1", model::Fact::mode) == "setup");
    hand.does(fmt::format(R"({{"do":"seek","at_s":{}}})", exact_seconds(ended)));
    CHECK(fact(bench, "P1", model::Fact::mode) == "normal");
    replays_all(bench);
  }

  TEST_CASE("stepping back is the same moment again") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"demo","pause_at":["note"]})").does(R"({"do":"speed","speed":10000})").waits(1s);
    const auto& run = bench.run();
    const auto end = run.now();
    const auto digest = model::digest_of(run.record(), run.world()).hex();
    for (const double back_to : {200.0, 0.0, 5.25, 107.0}) {
      hand.does(fmt::format(R"({{"do":"seek","at_s":{}}})", back_to));
      CHECK(exact_seconds(run.now()) == back_to);
      CHECK(run.reached() == end);
      hand.does(fmt::format(R"({{"do":"seek","at_s":{}}})", exact_seconds(end)));
      CHECK(model::digest_of(run.record(), run.world()).hex() == digest);
    }
  }

  TEST_CASE("a demonstration runs as the scenario does, and pauses at its teaching points") {
    for (const std::string path : {"training/setup-split.yaml", "training/same-number-next-door.yaml",
                                   "training/shared-address.yaml"}) {
      CAPTURE(path);
      const LoadedScenario loaded = shipped(path);
      Bench bench{loaded};
      Hand hand{bench};
      hand.does(R"({"do":"speed","speed":10000})")
          .does(R"({"do":"demo","pause_at":["note","see","finding"]})");
      std::size_t notes = 0;
      std::size_t looks = 0;
      std::vector<std::string> findings;
      bool ended = false;
      for (int i = 0; i < 100 && !ended; ++i) {
        hand.waits(1s);
        REQUIRE(bench.pause_reached());
        CHECK_FALSE(bench.playing());
        for (const TeachingPoint& point : bench.pause_reached()->points) {
          if (point.kind == TeachingPoint::Kind::note) ++notes;
          if (point.kind == TeachingPoint::Kind::look) ++looks;
          if (point.kind == TeachingPoint::Kind::look) CHECK(point.passed == true);
          if (point.kind == TeachingPoint::Kind::finding) CHECK_FALSE(point.remedy.empty());
          if (point.kind == TeachingPoint::Kind::end) ended = true;
        }
        if (!ended) hand.does(R"({"do":"play"})");
      }
      CHECK(ended);
      CHECK(notes == 1);
      CHECK(looks >= 2);
      const model::RunResult result = model::run(loaded.scenario);
      CHECK(model::digest_of(bench.run().record(), bench.run().world()).hex() == result.digest.hex());
      replays_all(bench);
    }
  }

  TEST_CASE("what is done in the middle of a demonstration is done beside it") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"demo"})").waits(1s);
    REQUIRE(bench.pause_reached());
    const auto at = bench.run().now();
    const auto demonstration = bench.chosen().id;
    const auto shown = fact(bench, "P1", model::Fact::mode) + fact(bench, "M1", model::Fact::mode);
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})");
    CHECK(bench.chosen().id != demonstration);
    CHECK(bench.chosen().from == at);
    CHECK(fact(bench, "P1", model::Fact::mode) + fact(bench, "M1", model::Fact::mode) == shown);
    CHECK(bench.course(demonstration).run->steps().size() == bench.loaded().scenario.people[0].script.size());
    hand.does(R"({"do":"play"})").waits(1s);
    replays_all(bench);
  }

  TEST_CASE("a look is kept as what was seen, and the saved scenario holds to it") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})")
        .does(R"({"do":"seek","at_s":6})");
    hand.does(R"({"do":"look","device":"P1"})");
    const SavedScenario saved = bench.save(1);
    CHECK(saved.text.find("see: {P1.indicator: blink}") != std::string::npos);
    const model::RunResult result = run_saved(saved);
    CHECK(result.checks.size() == 2);  // and the findings at the end
    CHECK(result.passed());
    Bench elsewhere{shipped("training/setup-split.yaml")};
    CHECK(Hand{elsewhere}.is_refused(R"({"do":"look","device":"M1"})") == "not_now");
  }

  TEST_CASE("the findings of a bench are those of its saved scenario") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})");
    hand.does(R"({"do":"press_for","device":"M1","buttons":["local"],"for_s":3.7})");
    hand.does(R"({"do":"seek","at_s":120})").does(R"({"do":"jump"})");
    const auto ids = finding_ids(bench.run());
    CHECK(std::find(ids.begin(), ids.end(), "setup-split") != ids.end());
    std::vector<std::string> saved;
    for (const model::Finding& f : run_saved(bench.save(1)).findings) saved.emplace_back(to_string(f.id));
    CHECK(saved == ids);
  }

  TEST_CASE("a press that nobody has let go of is saved as far as it has come") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"play"})").does(R"({"do":"press","device":"P1","buttons":["set"]})").waits(7s);
    CHECK(fact(bench, "P1", model::Fact::mode) == "setup");
    replays(bench, 1);
    CHECK(bench.holding());
  }

  TEST_CASE("wires, power, stuck buttons and deaf devices are part of the branch") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"link","link":"P1-M2","state":"open"})");
    hand.does(R"({"do":"link","link":"M2-M1","state":"noisy","bit_errors":0.001})");
    hand.does(R"({"do":"stuck","device":"P1","button":"up","stuck":true})");
    hand.does(R"({"do":"deaf","device":"M2","telegrams":2})");
    hand.does(R"({"do":"power","device":"M2","on":false})").does(R"({"do":"seek","at_s":50})");
    hand.does(R"({"do":"power","on":true})").does(R"({"do":"switches","device":"P1","zone":5})");
    hand.does(R"({"do":"note","text":"and now? # : \"quoted\" - and so on"})")
        .does(R"({"do":"seek","at_s":90})");
    CHECK(fact(bench, "P1", model::Fact::zone) == "5");
    CHECK(bench.run().world().medium.link_state(0) == sim::LinkState::open);
    replays(bench, 1);
  }

  TEST_CASE("a supply is thrown over by hands that are faster than the news of their last deed") {
    Bench bench{shipped("training/supply-counted-out.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"seek","at_s":5})");
    for (int i = 0; i < 6; ++i) {
      hand.does(R"({"do":"power","device":"M1"})");
    }
    CHECK(fact(bench, "M1", model::Fact::mode) == "setup");
    CHECK(hand.is_refused(R"({"do":"power"})") == "message");
    replays(bench, 1);
  }

  TEST_CASE("whatever is done at random, with branches and steps back, replays to the same digest") {
    for (const std::uint64_t seed : test::seeds(25)) {
      INFO(test::replay(seed, "*whatever is done at random*"));
      std::mt19937_64 random{seed};
      const auto below = [&](std::uint64_t n) { return random() % n; };
      const std::vector<std::string> paths = {
          "training/setup-split.yaml", "training/same-number-next-door.yaml", "training/shared-address.yaml",
          "training/out-of-reach.yaml", "regression/two-things-at-once.yaml"};
      Bench bench{shipped(paths[below(paths.size())])};
      const model::Site& site = bench.loaded().scenario.site;
      RealTime real{};
      for (int i = 0; i < 60; ++i) {
        const auto device = static_cast<model::DeviceId>(below(site.device_count()));
        const std::string name = site.name(device);
        const std::string button = site.is_plate(device)
                                       ? site.family.plate.buttons[below(site.family.plate.buttons.size())]
                                       : site.family.module.button;
        const double now = exact_seconds(bench.run().now());
        std::string message;
        switch (below(20)) {
          case 0:
            message = R"({"do":"play"})";
            break;
          case 1:
            message = R"({"do":"pause"})";
            break;
          case 2:
            message = R"({"do":"step"})";
            break;
          case 3:
            message = R"({"do":"jump"})";
            break;
          case 4:
            message =
                fmt::format(R"({{"do":"seek","at_s":{}}})", now * static_cast<double>(below(100)) / 100);
            break;
          case 5:
            message = fmt::format(R"({{"do":"seek","at_s":{}}})", now + static_cast<double>(below(100)));
            break;
          case 6:
            message = R"({"do":"branch"})";
            break;
          case 7:
            message = fmt::format(R"({{"do":"choose","branch":{}}})", 1 + below(6));
            break;
          case 8:
            message = R"({"do":"demo","pause_at":["see"]})";
            break;
          case 9:
            message = fmt::format(R"({{"do":"power","device":"{}","on":{}}})", name, below(2) == 1);
            break;
          case 10:
            message = R"({"do":"look"})";
            break;
          case 11:
            message =
                fmt::format(R"({{"do":"walk","place":"{}"}})", site.places[below(site.places.size())].name);
            break;
          case 12:
          case 13:
            message = R"({"do":"release"})";
            break;
          case 14:
          case 15:
            message = fmt::format(R"({{"do":"press_for","device":"{}","buttons":["{}"],"for_s":5.5}})", name,
                                  button);
            break;
          default:
            message = fmt::format(R"({{"do":"press","device":"{}","buttons":["{}"]}})", name, button);
            break;
        }
        INFO(message);
        take_message(bench, message);
        real += std::chrono::milliseconds{below(4) * below(2000)};
        bench.at_real(real);
      }
      replays_all(bench);
    }
  }

  TEST_CASE("the past that a branch begins with is the past of the one it left") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})")
        .does(R"({"do":"seek","at_s":33.3})");
    const auto before = model::digest_of(bench.run().record(), bench.run().world()).hex();
    hand.does(R"({"do":"branch","name":"beside"})");
    CHECK(bench.chosen().name == "beside");
    CHECK(model::digest_of(bench.run().record(), bench.run().world()).hex() == before);
  }

  TEST_CASE("branches are bounded, and the last one stays") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    CHECK(hand.is_refused(R"({"do":"remove","branch":1})") == "not_now");
    while (bench.courses().size() < Bench::most_branches) hand.does(R"({"do":"branch"})");
    CHECK(hand.is_refused(R"({"do":"branch"})") == "limit");
    CHECK(hand.is_refused(R"({"do":"choose","branch":99})") == "unknown");
    hand.does(R"({"do":"remove","branch":1})").does(R"({"do":"branch"})");
    hand.does(fmt::format(R"({{"do":"rename","branch":{},"name":"Ours"}})", bench.chosen().id));
    CHECK(bench.chosen().name == "Ours");
  }

  TEST_CASE("the installer takes no more than they can remember") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    const std::string press = R"({"do":"press_for","device":"P1","buttons":["up"],"for_s":1})";
    for (std::size_t i = 0; i < Bench::most_waiting + 1; ++i) hand.does(press);
    CHECK(hand.is_refused(press) == "busy");
    hand.does(R"({"do":"seek","at_s":3})").does(press);
    replays(bench, 1);
  }

  TEST_CASE("a run at the bench ends after its longest time") {
    Bench bench{shipped("training/shared-address.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"speed","speed":10000})").does(R"({"do":"play"})").waits(1h);
    CHECK(bench.run().now() == sim::start_of_run + Bench::longest);
    CHECK_FALSE(bench.playing());
    CHECK(hand.is_refused(R"({"do":"play"})") == "limit");
    CHECK(hand.is_refused(R"({"do":"press","device":"P1","buttons":["up"]})") == "limit");
  }

  TEST_CASE("a view of another branch leaves all as it was") {
    Bench bench{shipped("training/setup-split.yaml")};
    Hand hand{bench};
    hand.does(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})")
        .does(R"({"do":"seek","at_s":100})");
    hand.does(R"({"do":"branch"})").does(R"({"do":"seek","at_s":150})");
    const auto now = bench.run().now();
    const Answer answer = take_message(bench, R"({"do":"view","branch":1,"at_s":5.3,"ref":"v"})");
    REQUIRE(answer.reply);
    CHECK(answer.reply->at("state").at("now_s").as_double() == 5.3);
    CHECK(answer.reply->at("state").at("devices").at("P1").at("indicator").at("pattern").as_string() ==
          "blink");
    CHECK(bench.chosen().id == 2);
    CHECK(bench.run().now() == now);
    CHECK(exact_seconds(bench.course(1).run->now()) == 100.0);
  }
}
