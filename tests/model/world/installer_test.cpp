// What people do: one thing at a time, on foot, with beliefs of their own.
#include "model/world/installer.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <utility>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr PlaceId hall = 0;
constexpr PlaceId loft = 1;
constexpr PlaceId cellar = 2;

constexpr sim::Instant at(sim::Duration since_the_start) {
  return sim::start_of_run + since_the_start;
}

/// P1 and M1 in the hall, M2 in the loft (40 s up), M3 in the cellar (15 s down); from loft to cellar by way
/// of the hall.
Scenario house() {
  Scenario scenario = small_scenario(3);
  scenario.site.places = {{"hall"}, {"loft"}, {"cellar"}};
  scenario.site.walks = shortest_walks(3, {{hall, loft, 40s}, {hall, cellar, 15s}}, 20s);
  scenario.site.modules[1].place = loft;
  scenario.site.modules[2].place = cellar;
  for (ModuleSpec& module : scenario.site.modules) {
    module.memory.address = *module.intended;
    module.memory.power_up = PowerUp::off;
  }
  return scenario;
}

struct Entries {
  explicit Entries(Scenario of_scenario) : scenario(std::move(of_scenario)), result(run(scenario)) {}

  [[nodiscard]] std::vector<sim::Entry> of(What kind) const {
    std::vector<sim::Entry> found;
    for (const sim::Entry& entry : result.record.entries()) {
      if (what(entry) == kind) found.push_back(entry);
    }
    return found;
  }
  [[nodiscard]] std::vector<sim::Instant> times(What kind) const {
    std::vector<sim::Instant> found;
    for (const sim::Entry& entry : of(kind)) found.push_back(entry.at);
    return found;
  }

  Scenario scenario;
  RunResult result;
};

using Times = std::vector<sim::Instant>;

Script& bounce_last(Scenario& scenario, Script& script, sim::Duration bounce) {
  scenario.people[0].script.back().bounce = bounce;
  return script;
}

}  // namespace

TEST_SUITE("installer") {
  TEST_CASE("a press lasts as long as it says, and a pause follows it") {
    Scenario scenario = house();
    Script{scenario}.press("P1", off, 250ms).press("P1", accept, 100ms).wait(0s);
    const Entries run{scenario};
    const std::vector<sim::Entry> contacts = run.of(What::contact);
    REQUIRE(contacts.size() == 4);
    CHECK(run.times(What::contact) == Times{at(0ms), at(250ms), at(550ms), at(650ms)});
    CHECK(contacts[0].b == 1);
    CHECK(contacts[1].b == 0);
    CHECK(contacts[2].a == accept);
    CHECK(run.times(What::step) == Times{at(0ms), at(550ms), at(950ms)});
  }

  TEST_CASE("the pause is the scenario's") {
    Scenario scenario = house();
    scenario.times.pause = 2s;
    Script{scenario}
        .press("P1", off, 100ms)
        .switches("P1", 23, 4)
        .power("M1", true)
        .wait(3s)
        .press("P1", off, 100ms);
    CHECK(Entries{scenario}.times(What::step) ==
          Times{at(0ms), at(2100ms), at(4100ms), at(6100ms), at(9100ms)});
  }

  TEST_CASE("walking takes the way's time, and a way without a direct one goes by others") {
    Scenario scenario = house();
    Script{scenario}.press("M2").press("M3").press("P1", off);
    const Entries run{scenario};
    // 40 s up; 0.5 s for the press; 55 s to the cellar by way of the hall; 15 s up again.
    CHECK(run.times(What::contact) ==
          Times{at(40s), at(40200ms), at(95500ms), at(95700ms), at(111s), at(111200ms)});
    CHECK(run.times(What::walked) == Times{at(0s), at(40500ms), at(96s)});
    CHECK(run.times(What::arrived) == Times{at(40s), at(95500ms), at(111s)});
  }

  TEST_CASE("where no way is given, a walk takes what the site says otherwise") {
    CHECK(shortest_walks(2, {}, 20s) == std::vector<sim::Duration>{0s, 20s, 20s, 0s});
    CHECK(shortest_walks(3, {{0, 1, 5s}}, 20s) ==
          std::vector<sim::Duration>{0s, 5s, 20s, 5s, 0s, 20s, 20s, 20s, 0s});
  }

  TEST_CASE("of several ways the shortest is taken, in both directions") {
    const std::vector<sim::Duration> walks =
        shortest_walks(3, {{0, 1, 50s}, {0, 2, 10s}, {1, 2, 15s}, {0, 1, 60s}}, 20s);
    CHECK(walks[0 * 3 + 1] == 25s);
    CHECK(walks[1 * 3 + 0] == 25s);
  }

  TEST_CASE("walking to where one stands takes no time") {
    Scenario scenario = house();
    Script{scenario}.walk(hall).walk(hall).press("P1", off);
    const Entries run{scenario};
    CHECK(run.times(What::contact).front() == at(0s));
    CHECK(run.of(What::walked).empty());
  }

  TEST_CASE("waits, looks, faults and power need no walking") {
    Scenario scenario = house();
    Fault fault;
    fault.kind = FaultKind::stuck;
    fault.device = 2;
    fault.button = 0;
    Script script{scenario};
    script.wait(1s).fault(fault).power("M2", false).wait(1s);
    CHECK(Entries{scenario}.of(What::walked).empty());
  }

  TEST_CASE("a step with a time waits for it; one whose time has gone by begins at once") {
    Scenario scenario = house();
    Script{scenario}.at(10s).press("P1", off).at(5s).press("P1", off).at(20s).press("M2");
    const Entries run{scenario};
    CHECK(run.times(What::step) == Times{at(10s), at(10500ms), at(20s)});
    CHECK(run.of(What::contact)[4].at == at(60s));  // at its time one sets off
  }

  TEST_CASE("several people act side by side, each at their own pace") {
    Scenario scenario = house();
    scenario.people.push_back({"colleague", loft, {}});
    Script{scenario}.press("P1", off).wait(1s).press("P1", off);
    Script{scenario, 1}.press("M2").at(1s).press("M2");
    const Entries run{scenario};
    std::vector<std::pair<std::uint16_t, sim::Instant>> steps;
    for (const sim::Entry& entry : run.of(What::step)) steps.emplace_back(entry.who, entry.at);
    CHECK(steps == std::vector<std::pair<std::uint16_t, sim::Instant>>{
                       {0, at(0s)}, {1, at(0s)}, {0, at(500ms)}, {1, at(1s)}, {0, at(1500ms)}});
  }

  TEST_CASE("one sees a device where one stands, and none while one walks") {
    const Scenario scenario = house();
    CHECK(in_sight(scenario.site, hall, 0));
    CHECK(in_sight(scenario.site, hall, 1));
    CHECK_FALSE(in_sight(scenario.site, hall, 2));
    CHECK(in_sight(scenario.site, loft, 2));
    for (DeviceId device = 0; device < 4; ++device) CHECK_FALSE(in_sight(scenario.site, no_place, device));
  }

  TEST_CASE("who walks is nowhere, and afterwards where they went") {
    Scenario scenario = house();
    Script{scenario}.walk(loft).wait(1s);
    World world = initial_world(scenario);
    Simulation simulation{scenario, world};
    simulation.begin();
    simulation.run_until(at(20s));
    CHECK(world.people[0].place == no_place);
    simulation.run_until(at(40s));
    CHECK(world.people[0].place == loft);
  }

  TEST_CASE("a device without power takes no press") {
    Scenario scenario = house();
    Script script{scenario};
    script.power("M1", false).power("P1", false).press("M1").hold("P1", set, 6s).press("P1", off).wait(5s);
    const Entries run{scenario};
    CHECK(run.result.world.loads[0].to == 0);
    CHECK(run.of(What::level).empty());
    CHECK(run.of(What::mode).empty());
    CHECK(run.of(What::queued).empty());
    CHECK(run.of(What::dropped).empty());
  }

  TEST_CASE("a look at what is out of sight fails and says from where") {
    Scenario scenario = house();
    Script script{scenario};
    script.look("M2", Fact::indicator, "dark")
        .walk(loft)
        .look("M2", Fact::indicator, "dark")
        .look("P1", Fact::indicator, "dark");
    const Entries run{scenario};
    REQUIRE(run.result.checks.size() == 3);
    CHECK_FALSE(run.result.checks[0].passed);
    CHECK(run.result.checks[0].actual == "out of sight from hall");
    CHECK(run.result.checks[1].passed);
    CHECK(run.result.checks[1].actual == "dark");
    CHECK_FALSE(run.result.checks[2].passed);
    CHECK(run.result.checks[2].actual == "out of sight from loft");
    CHECK_FALSE(run.result.passed());
  }

  TEST_CASE("what is expected needs no sight") {
    Scenario scenario = house();
    Script script{scenario};
    script.look("M2", Fact::address, "23/4/2");
    scenario.checks.back().seen = false;
    scenario.people[0].script.back().kind = StepKind::expect;
    CHECK(Entries{scenario}.result.passed());
  }

  // --- bounce ---

  TEST_CASE("a contact that bounces opens and closes every millisecond, and then rests closed") {
    Scenario scenario = house();
    Script script{scenario};
    bounce_last(scenario, script.press("P1", off), 5ms).wait(1s);
    const Entries run{scenario};
    CHECK(run.times(What::contact) == Times{at(0ms), at(1ms), at(2ms), at(3ms), at(4ms), at(200ms)});
    CHECK(run.of(What::contact)[4].b == 1);
  }

  TEST_CASE("bounce within the debounce time is one press, beyond it several") {
    const auto telegrams = [](sim::Duration bounce) {
      Scenario scenario = house();
      Script script{scenario};
      bounce_last(scenario, script.press("P1", off), bounce).wait(1s);
      return Entries{scenario}.of(What::sent_whole).size();
    };
    CHECK(telegrams(0ms) == 1);
    CHECK(telegrams(18ms) == 1);
    CHECK(telegrams(60ms) > 1);
  }

  TEST_CASE("a bounce is over when the button is let go, however long it was to last") {
    for (const sim::Duration bounce : {199ms, 200ms, 201ms, 500ms, 5000ms}) {
      Scenario scenario = house();
      Script script{scenario};
      bounce_last(scenario, script.press("P1", off), bounce).wait(60s);
      const Entries run{scenario};
      CAPTURE(bounce);
      CHECK(run.result.world.devices[0].contacts == 0);
      CHECK(run.times(What::contact).back() == at(200ms));
      CHECK(run.result.findings.empty());  // no button that stays down
    }
  }

  TEST_CASE("a stuck contact does not open by being let go, and comes up when it is freed") {
    Scenario scenario = house();
    Fault stick{FaultKind::stuck, 0, 0, 0, off, 0};
    Fault free{FaultKind::freed, 0, 0, 0, off, 0};
    Script script{scenario};
    script.fault(stick).press("P1", off).wait(1s).fault(free).wait(1s);
    const Entries run{scenario};
    CHECK(run.times(What::contact) == Times{at(0s), at(1500ms)});
  }

  // --- beliefs ---

  TEST_CASE("who holds the gesture believes the device in setup, held long enough or not") {
    for (const sim::Duration held : {5500ms, 2000ms}) {
      Scenario scenario = house();
      Script{scenario}.hold("P1", set, held).hold("M1", 0, held);
      const Entries run{scenario};
      CHECK(run.result.world.devices[0].believed_in_setup == 1);
      CHECK(run.result.world.devices[1].believed_in_setup == 1);
    }
  }

  TEST_CASE("holding another button of a plate changes no belief") {
    Scenario scenario = house();
    Script{scenario}.hold("P1", off, 6s);
    CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 0);
  }

  TEST_CASE("pressing leave, or the module's button, ends the belief; so does an assign, for the modules") {
    Scenario scenario = house();
    Script script{scenario};
    script.hold("P1", set, 3s).hold("M1", 0, 4s);
    SUBCASE("leave") {
      script.press("P1", one);
      CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 0);
    }
    SUBCASE("the module's button") {
      script.press("M1");
      CHECK(Entries{scenario}.result.world.devices[1].believed_in_setup == 0);
    }
    SUBCASE("assign") {
      script.press("P1", up).press("P1", accept);
      const Entries run{scenario};
      CHECK(run.result.world.devices[0].believed_in_setup == 1);
      CHECK(run.result.world.devices[1].believed_in_setup == 0);
    }
    SUBCASE("assign pressed with the plate taken for normal says nothing of the modules") {
      script.press("P1", one).press("P1", accept);
      CHECK(Entries{scenario}.result.world.devices[1].believed_in_setup == 1);
    }
  }

  TEST_CASE("a look at an indicator corrects the belief, unless something hides it") {
    Scenario scenario = house();
    Script script{scenario};
    SUBCASE("dark: it is not in setup") {
      script.hold("P1", set, 2s).look("P1", Fact::indicator, "dark");
      CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 0);
    }
    SUBCASE("blinking: it is, whoever put it there") {
      scenario.people.push_back({"colleague", hall, {}});
      Script{scenario, 1}.hold("P1", set, 3s);
      script.wait(10s).look("P1", Fact::indicator, "blink");
      CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 1);
    }
    SUBCASE("a refusal tells nothing") {
      script.hold("P1", set, 3s).press("P1", accept).look("P1", Fact::indicator, "refuse");
      CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 1);
    }
    SUBCASE("from another place one learns nothing") {
      script.hold("P1", set, 2s).walk(loft).look("P1", Fact::indicator, "dark");
      CHECK(Entries{scenario}.result.world.devices[0].believed_in_setup == 1);
    }
    SUBCASE("what others do and see is not known to the installer") {
      scenario.people.push_back({"colleague", hall, {}});
      Script{scenario, 1}.hold("P1", set, 2s).press("P1", up);
      script.wait(10s);
      const Entries run{scenario};
      CHECK(run.result.world.devices[0].believed_in_setup == 0);
      CHECK(run.of(What::misread).empty());
    }
  }

  TEST_CASE("a device whose power comes back is known to start afresh") {
    Scenario scenario = house();
    Script script{scenario};
    script.hold("M1", 0, 4s).power("M1", false);
    CHECK(Entries{scenario}.result.world.devices[1].believed_in_setup == 1);
    script.power("M1", true).press("M1");
    const Entries run{scenario};
    CHECK(run.result.world.devices[1].believed_in_setup == 0);
    CHECK(run.of(What::misread).empty());
  }

  TEST_CASE("a press is misread when it is meant for one mode and meets the other") {
    Scenario scenario = house();
    Script script{scenario};
    const auto misread = [&] { return Entries{scenario}.of(What::misread); };
    SUBCASE("meant for setup: the plate had timed out") {
      script.hold("P1", set, 3s).wait(260s).press("P1", up);
      REQUIRE(misread().size() == 1);
      CHECK(misread()[0].b == 1);
      CHECK(misread()[0].a == only(up));
    }
    SUBCASE("meant for setup: the module had timed out, and the press switches the load") {
      script.hold("M1", 0, 4s).wait(200s).press("M1").wait(1s);
      REQUIRE(misread().size() == 1);
      CHECK(misread()[0].b == 1);
      CHECK(Entries{scenario}.result.world.loads[0].to == full_level);
    }
    SUBCASE("meant for normal mode: the plate was still in setup") {
      scenario.people.push_back({"colleague", hall, {}});
      Script{scenario, 1}.hold("P1", set, 3s);
      script.at(10s).press("P1", up);
      REQUIRE(misread().size() == 1);
      CHECK(misread()[0].b == 0);
      CHECK(Entries{scenario}.result.world.plates[0].channel == 1);
    }
    SUBCASE("a gesture repeated: the module leaves setup by it") {
      script.hold("M1", 0, 4s).hold("M1", 0, 4s);
      CHECK(misread().empty());
      const Entries run{scenario};
      CHECK(run.result.world.devices[1].mode == Mode::normal);
      CHECK(run.result.world.devices[1].believed_in_setup == 0);
    }
    SUBCASE("a gesture repeated: the plate takes it for a button of setup") {
      script.hold("P1", set, 3s).hold("P1", set, 3s);
      REQUIRE(misread().size() == 1);
      CHECK(misread()[0].b == 0);
    }
    SUBCASE("raise held for dimming, with the plate still in setup") {
      scenario.people.push_back({"colleague", hall, {}});
      Script{scenario, 1}.hold("P1", set, 3s);
      script.at(10s).hold("P1", up, 2s);
      REQUIRE(misread().size() == 1);
      CHECK(misread()[0].b == 0);
    }
    SUBCASE("a button that means nothing in setup cannot have been meant for it") {
      script.hold("P1", set, 3s).wait(260s).press("P1", off);
      CHECK(misread().empty());
    }
    SUBCASE("a device without power misreads nothing") {
      script.hold("M1", 0, 4s).power("M1", false).press("M1");
      CHECK(misread().empty());
    }
    SUBCASE("all as it is believed") {
      script.press("P1", up).hold("P1", set, 3s).press("P1", up).press("P1", one).press("P1", up).press("M1");
      CHECK(misread().empty());
    }
  }

  TEST_CASE("a misread press knows why the mode was what it was") {
    Scenario scenario = house();
    Script{scenario}.hold("P1", set, 3s).wait(260s).press("P1", up);
    const Entries run{scenario};
    const sim::Entry misread = run.of(What::misread).at(0);
    REQUIRE(misread.because != sim::no_entry);
    CHECK(describe(scenario, run.result.record[misread.because]) == "P1 left setup: its time-out ran out");
    CHECK(what(run.result.record[misread.cause]) == What::step);
  }

  TEST_CASE("what a module stored is in the record, with whether its address changed by it") {
    Scenario scenario = house();
    Script script{scenario};
    address(script, "P1", "M1", 5);
    address(script, "P1", "M1", 5);
    script.hold("P1", one, 2s).wait(1s);  // stores scene 1
    const Entries run{scenario};
    std::vector<std::pair<std::string, std::uint64_t>> stored;
    for (const sim::Entry& entry : run.of(What::stored)) {
      if (entry.who == 1) stored.emplace_back(to_string(stored_address(entry)), entry.b);
    }
    CHECK(stored ==
          std::vector<std::pair<std::string, std::uint64_t>>{{"23/4/5", 1}, {"23/4/5", 0}, {"23/4/5", 0}});
  }

  // --- the rest ---

  TEST_CASE("power for everything is power for everything of ours") {
    Scenario scenario = house();
    scenario.site.modules[2].neighbour = true;
    Script{scenario}.power("all", false);
    const Entries run{scenario};
    std::vector<int> powered;
    for (const DeviceState& device : run.result.world.devices) powered.push_back(device.powered);
    CHECK(powered == std::vector<int>{0, 0, 0, 1});
  }

  TEST_CASE("memory outlives a power cut, and nothing else does") {
    Scenario scenario = house();
    Script script{scenario};
    address(script, "P1", "M1", 7);
    script.press("M1").wait(1s).hold("P1", one, 2s).hold("M1", 0, 4s);
    const ModuleMemory kept = Entries{scenario}.result.world.modules[0].memory;
    REQUIRE(kept.address == Address{23, 4, 7});
    script.power("M1", false).wait(1s);
    const World dark = Entries{scenario}.result.world;
    CHECK(dark.modules[0].memory == kept);
    CHECK(dark.devices[1].mode == Mode::normal);
    CHECK(dark.devices[1].indicator == Pattern::dark);
    for (const sim::EventQueue::Handle timer : dark.devices[1].timers) CHECK(timer == sim::EventQueue::none);
    script.power("M1", true).wait(1s);
    CHECK(Entries{scenario}.result.world.modules[0].memory == kept);
  }

  TEST_CASE("switches that a step does not name stay as they are") {
    Scenario scenario = house();
    Script script{scenario};
    script.switches("P1", 9, 9);
    scenario.people[0].script.back().site.reset();
    const Entries run{scenario};
    CHECK(run.result.world.plates[0].site == 23);
    CHECK(run.result.world.plates[0].zone == 9);
  }

  TEST_CASE("a run is over when everybody's script is, and unfinished at its bound") {
    Scenario scenario = house();
    Script{scenario}.wait(10s);
    CHECK(Entries{scenario}.result.world.now == at(10s));
    RunOptions options;
    options.until = 5s;
    const RunResult cut = run(scenario, options);
    CHECK(cut.unfinished);
    CHECK_FALSE(cut.passed());
    CHECK(cut.world.now <= at(5s));
    scenario.people[0].script.clear();
    CHECK(Entries{scenario}.result.passed());
  }
}
