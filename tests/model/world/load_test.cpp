// A module's load between two levels: where it is at any moment, and what becomes of it when a fade is
// interrupted.
#include <doctest/doctest.h>

#include "model/world/simulation.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr sim::Instant at(sim::Duration since_the_start) {
  return sim::start_of_run + since_the_start;
}

LoadState fade(Level from, Level to, sim::Duration begin, sim::Duration duration) {
  LoadState load;
  load.begin = at(begin);
  load.duration = duration;
  load.from = from;
  load.to = to;
  return load;
}

/// P1 and M1 (23/4/1, dark at power-up), with nobody doing anything.
struct Hall {
  Hall() : scenario(small_scenario(1)) {
    ModuleMemory& memory = scenario.site.modules[0].memory;
    memory.address = {23, 4, 1};
    memory.power_up = PowerUp::off;
    world = initial_world(scenario);
    simulation.begin();
  }
  void hear(TelegramKind kind, std::uint8_t argument = 0) {
    simulation.hear(1, 0, {kind, 23, 4, 0, argument}, sim::no_entry);
  }
  void pass(sim::Duration duration) { simulation.run_until(world.now + duration); }
  [[nodiscard]] Level level() const { return world.loads[0].at(world.now); }

  /// Where the load is now, told from nothing but the record: the way a picture of the run is drawn.
  [[nodiscard]] Level drawn() const {
    LoadState told;
    for (const sim::Entry& entry : record.entries()) {
      if (what(entry) == What::level) {
        told = fade(static_cast<Level>(entry.a & 0xffff), static_cast<Level>(entry.a >> 16),
                    entry.at - sim::start_of_run, sim::Duration{static_cast<std::int64_t>(entry.b)});
      } else if (what(entry) == What::level_reached) {
        told = fade(static_cast<Level>(entry.a), static_cast<Level>(entry.a), 0ns, 0ns);
      }
    }
    return told.at(world.now);
  }

  Scenario scenario;
  World world;
  sim::Record record;
  Simulation simulation{scenario, world, &record};
};

}  // namespace

TEST_SUITE("load") {
  TEST_CASE(
      "a fade is at its first level at its beginning, half way in the middle, and at its last from its end "
      "on") {
    const LoadState up = fade(100, 900, 10s, 2s);
    CHECK(up.at(at(10s)) == 100);
    CHECK(up.at(at(10500ms)) == 300);
    CHECK(up.at(at(11s)) == 500);
    CHECK(up.at(at(12s) - 1ns) == 899);
    CHECK(up.at(at(12s)) == 900);
    CHECK(up.at(at(100h)) == 900);
    const LoadState down = fade(900, 100, 10s, 2s);
    CHECK(down.at(at(10s)) == 900);
    CHECK(down.at(at(11s)) == 500);
    CHECK(down.at(at(12s) - 1ns) == 101);
    CHECK(down.at(at(12s)) == 100);
  }

  TEST_CASE("a fade never goes back on the way, nor beyond its ends") {
    for (const auto& [from, to] :
         {std::pair<Level, Level>{0, full_level}, {full_level, 0}, {333, 334}, {7, 3}}) {
      const LoadState load = fade(from, to, 0ns, 700ms);
      Level before = from;
      for (sim::Duration t = 0ns; t <= 710ms; t += 333us) {
        const Level now = load.at(at(t));
        REQUIRE(now >= std::min(from, to));
        REQUIRE(now <= std::max(from, to));
        REQUIRE((from < to ? now >= before : now <= before));
        before = now;
      }
      CHECK(before == to);
    }
  }

  TEST_CASE("a fade of no time, or of less than a microsecond, is simply over") {
    CHECK(fade(0, 1000, 5s, 0ns).at(at(5s)) == 1000);
    CHECK(fade(0, 1000, 5s, 500ns).at(at(5s) + 500ns) == 1000);
    CHECK(fade(0, 1000, 5s, 500ns).at(at(5s) + 499ns) == 0);
  }

  TEST_CASE("a fade of a whole month does not overflow") {
    const LoadState load = fade(0, full_level, 0ns, 24h * 31);
    CHECK(load.at(at(12h * 31)) == 500);
  }

  TEST_CASE("an interrupted fade starts from where it is") {
    Hall hall;
    hall.hear(TelegramKind::on);
    hall.pass(350ms);
    CHECK(hall.level() == 500);
    hall.hear(TelegramKind::off);
    CHECK(hall.level() == 500);
    hall.pass(350ms);
    CHECK(hall.level() == 250);
    hall.pass(350ms);
    CHECK(hall.level() == 0);
  }

  TEST_CASE("a fade that is interrupted does not arrive where it was going") {
    Hall hall;
    hall.hear(TelegramKind::on);
    hall.pass(350ms);
    hall.hear(TelegramKind::off);
    hall.pass(10s);
    CHECK(hall.level() == 0);
    CHECK(hall.world.loads[0].arrival == sim::EventQueue::none);
    const auto arrivals =
        std::count_if(hall.record.entries().begin(), hall.record.entries().end(),
                      [](const sim::Entry& entry) { return what(entry) == What::level_reached; });
    CHECK(arrivals == 1);
  }

  TEST_CASE("raise and then stop leaves the load at the level of that moment") {
    Hall hall;
    hall.hear(TelegramKind::raise);
    hall.pass(1300ms);
    const Level then = hall.level();
    CHECK(then == 325);
    hall.hear(TelegramKind::stop);
    hall.pass(1min);
    CHECK(hall.level() == then);
    CHECK(hall.world.modules[0].target == then);
    CHECK(hall.world.modules[0].memory.last_level == then);
  }

  TEST_CASE("a flash leaves a load that is moving where it would have been, at every moment after it") {
    Hall plain;
    Hall flashed;
    for (Hall* hall : {&plain, &flashed}) {
      hall->hear(TelegramKind::raise);
      hall->pass(700ms);
    }
    flashed.simulation.hear(1, 0, {TelegramKind::identify, 23, 4, 1, 0}, sim::no_entry);
    for (Hall* hall : {&plain, &flashed}) hall->pass(1s);
    for (int i = 0; i < 30; ++i) {
      const int apart = plain.level() - flashed.level();
      CHECK(std::abs(apart) <= 1);  // the rest of a fade is begun at a whole level
      for (Hall* hall : {&plain, &flashed}) hall->pass(90ms);
    }
    CHECK(flashed.level() == full_level);
  }

  TEST_CASE("the record alone tells where the load is, whatever interrupted it") {
    Hall hall;
    const auto both_agree = [&] {
      CHECK(hall.drawn() == hall.level());
      hall.pass(30s);
      CHECK(hall.drawn() == hall.level());
    };
    SUBCASE("stop in the middle of raise") {
      hall.hear(TelegramKind::raise);
      hall.pass(1s);
      hall.hear(TelegramKind::stop);
      both_agree();
      CHECK(hall.level() == 250);
    }
    SUBCASE("off at the very beginning of on") {
      hall.hear(TelegramKind::on);
      hall.hear(TelegramKind::off);
      both_agree();
      CHECK(hall.level() == 0);
    }
    SUBCASE("on in the middle of off") {
      hall.hear(TelegramKind::on);
      hall.pass(2s);
      hall.hear(TelegramKind::off);
      hall.pass(300ms);
      hall.hear(TelegramKind::on);
      both_agree();
    }
    SUBCASE("a flash in the middle of raise") {
      hall.hear(TelegramKind::raise);
      hall.pass(1s);
      hall.simulation.hear(1, 0, {TelegramKind::identify, 23, 4, 1, 0}, sim::no_entry);
      both_agree();
    }
    SUBCASE("a flash in the middle of raise, and a stop in the middle of that") {
      hall.hear(TelegramKind::raise);
      hall.pass(1s);
      hall.simulation.hear(1, 0, {TelegramKind::identify, 23, 4, 1, 0}, sim::no_entry);
      hall.pass(400ms);
      hall.hear(TelegramKind::stop);
      both_agree();
      CHECK(hall.level() == 350);
    }
    SUBCASE("a fade that arrives in the middle of a flash") {
      hall.hear(TelegramKind::on);
      hall.pass(400ms);
      hall.simulation.hear(1, 0, {TelegramKind::identify, 23, 4, 1, 0}, sim::no_entry);
      CHECK(hall.level() == 0);  // it was above the middle
      hall.pass(999ms);
      CHECK(hall.level() == 0);
      both_agree();
      CHECK(hall.level() == full_level);
    }
    SUBCASE("a power cut in the middle of a flash in the middle of a fade") {
      hall.hear(TelegramKind::on);
      hall.pass(300ms);
      hall.simulation.hear(1, 0, {TelegramKind::identify, 23, 4, 1, 0}, sim::no_entry);
      hall.pass(300ms);
      hall.simulation.set_power(1, false, sim::no_entry);
      CHECK(hall.level() == 0);
      CHECK(hall.world.modules[0].memory.last_level == 857);
      both_agree();
    }
    SUBCASE("a power cut") {
      hall.hear(TelegramKind::on);
      hall.pass(300ms);
      hall.simulation.set_power(1, false, sim::no_entry);
      both_agree();
      CHECK(hall.level() == 0);
    }
  }

  TEST_CASE("a command that changes nothing is no change in the record") {
    Hall hall;
    const auto changes = [&] {
      return std::count_if(hall.record.entries().begin(), hall.record.entries().end(),
                           [](const sim::Entry& entry) {
                             return what(entry) == What::level || what(entry) == What::level_reached;
                           });
    };
    hall.hear(TelegramKind::off);
    hall.hear(TelegramKind::stop);
    hall.pass(1s);
    CHECK(changes() == 0);
  }
}
