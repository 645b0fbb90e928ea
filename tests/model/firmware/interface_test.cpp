// The interface lasts: what stood at a place in the first version stands there today. The numbers are those that the
// compiler gave for tests/firmware/as_of/1.0 on this platform (LP64).
#include <doctest/doctest.h>

#include <cstddef>

#include "model/firmware.h"
#include "model/firmware/numbers.h"
#include "tests/support/small_site.h"

using namespace drybus;

TEST_SUITE("firmware") {
  TEST_CASE("what the first version of the interface has keeps its place") {
    CHECK(offsetof(drybus_firmware, power_lost) == 72);
    CHECK(offsetof(drybus_firmware, name) == 16);
    CHECK(offsetof(drybus_host, now) == 8);
    CHECK(offsetof(drybus_host, tell_memory) == 144);
    CHECK(offsetof(drybus_numbers, blips_sleep) == 208);
    CHECK(sizeof(drybus_telegram) == 8);
    CHECK(sizeof(drybus_provision) == 22);
    CHECK(DRYBUS_MOST_REQUESTS >= 24);
    CHECK(DRYBUS_TIMERS >= 11);
  }

  TEST_CASE("a firmware is told of the memory as from the factory, and of the bus") {
    const model::Scenario scenario = tests::small_scenario(1);
    const drybus_numbers numbers = model::numbers_of(scenario.site.family);
    const model::ModuleMemory factory = model::factory_memory(scenario.site.family.module);
    for (std::size_t i = 0; i < DRYBUS_SCENES; ++i)
      CHECK(numbers.module_factory_scene_level[i] == factory.scenes[i]);
    CHECK(numbers.module_factory_last_level == factory.last_level);
    CHECK(numbers.bus_is_radio == 0);
    // Seven bytes of ten bits at 9600 bit/s, which is what the wired family says.
    CHECK(numbers.bus_telegram == 7'291'667);
  }
}
