#include "tools/panel/pacer.h"

#include <doctest/doctest.h>

namespace {

using namespace drybus;
using namespace drybus::tools;
using namespace std::chrono_literals;

TEST_SUITE("panel") {
  TEST_CASE("the run's clock goes as many times as fast as asked for, from the anchor on") {
    Pacer pacer;
    for (const double speed : {0.1, 1.0, 60.0, 10'000.0}) {
      pacer.start(7s, sim::start_of_run + 100s, speed);
      CHECK(pacer.target(7s) == sim::start_of_run + 100s);
      CHECK(sim::seconds(pacer.target(9s)) == doctest::Approx(100.0 + 2 * speed));
    }
  }

  TEST_CASE("whoever waits until an instant comes does not come too early, and not a microsecond late") {
    Pacer pacer;
    for (const double speed : {0.1, 0.25, 1.0, 3.0, 10'000.0}) {
      pacer.start(5s, sim::start_of_run, speed);
      for (const sim::Duration ahead : {1ns, 333ns, 20'000'000ns, 180'000'000'000ns}) {
        const RealTime wait = pacer.until(sim::start_of_run + ahead, 5s);
        CHECK(pacer.target(5s + wait) >= sim::start_of_run + ahead);
        CHECK(pacer.target(5s + wait - std::min(wait, RealTime{1us})) <= sim::start_of_run + ahead);
      }
    }
  }

  TEST_CASE("nothing is too far off to be waited for") {
    Pacer pacer;
    pacer.start(0s, sim::start_of_run, least_speed);
    CHECK(pacer.until(sim::never, 0s) > 1h * 24 * 365);
    CHECK(pacer.until(sim::start_of_run, 5s) == 0s);
  }
}

}  // namespace
