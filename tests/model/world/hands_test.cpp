// Fingers on buttons: a contact is closed for as long as anybody holds it, and each button settles for itself.
#include <doctest/doctest.h>

#include <utility>
#include <vector>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr sim::Instant at(sim::Duration since_the_start) {
  return sim::start_of_run + since_the_start;
}

/// P1 and M1 (23/4/1, dark); an installer and a colleague.
Scenario two_people() {
  Scenario scenario = small_scenario(1);
  scenario.site.modules[0].memory.address = {23, 4, 1};
  scenario.site.modules[0].memory.power_up = PowerUp::off;
  scenario.people.push_back({"colleague", 0, {}});
  return scenario;
}

struct Ran {
  explicit Ran(Scenario of_scenario) : scenario(std::move(of_scenario)), result(run(scenario)) {}

  /// When contacts closed and opened.
  [[nodiscard]] std::vector<std::pair<sim::Instant, bool>> contacts() const {
    std::vector<std::pair<sim::Instant, bool>> found;
    for (const sim::Entry& entry : result.record.entries()) {
      if (what(entry) == What::contact) found.emplace_back(entry.at, entry.b != 0);
    }
    return found;
  }
  [[nodiscard]] Mode mode(DeviceId device) const { return result.world.devices[device].mode; }

  Scenario scenario;
  RunResult result;
};

using Contacts = std::vector<std::pair<sim::Instant, bool>>;

constexpr Fault stuck{FaultKind::stuck, 0, 0, 0, off, 0};
constexpr Fault freed{FaultKind::freed, 0, 0, 0, off, 0};

}  // namespace

TEST_SUITE("hands") {
  TEST_CASE("two who hold one button one after the other hold it as long as both together") {
    Scenario scenario = two_people();
    Script{scenario}.hold("M1", 0, 2s).wait(5s);
    Script{scenario, 1}.at(1500ms).hold("M1", 0, 2500ms);
    const Ran ran{scenario};
    CHECK(ran.contacts() == Contacts{{at(0s), true}, {at(4s), false}});
    CHECK(ran.mode(1) == Mode::setup);  // held for 4 s, though neither held it for 3.5 s
  }

  TEST_CASE("a second finger on a button that is held makes no second press") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 2s).wait(1s);
    Script{scenario, 1}.at(500ms).press("P1", off, 200ms);
    const Ran ran{scenario};
    CHECK(ran.contacts() == Contacts{{at(0s), true}, {at(2s), false}});
  }

  TEST_CASE("a finger that bounces on a button that another one holds opens nothing") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 2s).wait(1s);
    Script{scenario, 1}.at(500ms).press("P1", off, 200ms);
    scenario.people[1].script.back().bounce = 50ms;
    CHECK(Ran{scenario}.contacts() == Contacts{{at(0s), true}, {at(2s), false}});
  }

  TEST_CASE("each finger counts for its own button, and for its own device") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 1s).wait(2s);
    Script{scenario, 1}.at(500ms).press("P1", down, 1s).press("M1", 0, 1s);
    const Contacts expected{{at(0s), true},      {at(500ms), true},  {at(1s), false},
                            {at(1500ms), false}, {at(1800ms), true}, {at(2800ms), false}};
    CHECK(Ran{scenario}.contacts() == expected);
  }

  TEST_CASE("a button that is freed under a finger stays down until the finger leaves it") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 3s).wait(1s);
    Script{scenario, 1}.at(1s).fault(stuck).at(2s).fault(freed);
    const Ran ran{scenario};
    CHECK(ran.contacts() == Contacts{{at(0s), true}, {at(3s), false}});
    CHECK(ran.result.world.devices[0].stuck == 0);
  }

  TEST_CASE("a button that sticks under a finger stays down until it is freed") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 1s).wait(5s);
    Script{scenario, 1}.at(500ms).fault(stuck).at(4s).fault(freed);
    CHECK(Ran{scenario}.contacts() == Contacts{{at(0s), true}, {at(4s), false}});
  }

  TEST_CASE("a power cut in the middle of settling leaves no old moment behind at which contacts are read") {
    Scenario scenario = two_people();
    Script{scenario}.press("P1", off, 5ms).wait(1s);
    Script{scenario, 1}.at(8ms).power("P1", false).at(9ms).power("P1", true).at(10ms).press("P1", off, 4ms);
    scenario.times.pause = 0ms;
    const Ran ran{scenario};
    std::vector<sim::Instant> read;
    for (const sim::Entry& entry : ran.result.record.entries()) {
      if (what(entry) == What::timer && entry.who == 0 && static_cast<Timer>(entry.a) == Timer::debounce)
        read.push_back(entry.at);
    }
    // Closed at 10 ms, read again at 30 ms (and found open), settled at 50 ms; not at 20 ms, for the press before the cut.
    CHECK(read == std::vector<sim::Instant>{at(30ms), at(50ms)});
  }
}
