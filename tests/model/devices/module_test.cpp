// The dimmer module on the bench: every transition of the diagram in module.h, its memory, its load and its
// indicator.
#include "model/devices/module.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/device_bench.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

constexpr Button local = 0;

ModuleFamily of_family() {
  return test_family().module;
}

ModuleBench module_with(const ModuleMemory& memory, const Family& family = test_family()) {
  ModuleBench bench{family};
  bench.state.memory = memory;
  bench.power_on();
  bench.take_told();
  return bench;
}

ModuleBench unaddressed_module() {
  return module_with(factory_memory(test_family().module));
}

/// Holds 23/4/1 and comes up dark.
ModuleMemory addressed_memory() {
  ModuleMemory memory = factory_memory(test_family().module);
  memory.address = {23, 4, 1};
  memory.power_up = PowerUp::off;
  return memory;
}

ModuleBench addressed_module() {
  return module_with(addressed_memory());
}

ModuleBench in_setup(ModuleBench module) {
  module.press(local, module.family.module.setup_hold + 200ms);
  module.take_told();
  return module;
}

Telegram of(TelegramKind kind, std::uint8_t channel = 0, std::uint8_t argument = 0) {
  return {kind, 23, 4, channel, argument};
}

constexpr Telegram assign_7_2_3{TelegramKind::assign, 7, 2, 3, 0};

/// Brings the load to a level and lets it settle there.
void settle_at(ModuleBench& module, Level level) {
  module.hear(of(TelegramKind::off));
  module.pass(2s);
  module.hear(of(TelegramKind::raise));
  module.pass(module.family.module.full_range * level / full_level);
  module.hear(of(TelegramKind::stop));
  module.pass(2s);
}

}  // namespace

TEST_SUITE("module") {
  TEST_CASE("a press of the local button switches the load on and off, when it is let go") {
    ModuleBench module = addressed_module();
    REQUIRE(module.level() == 0);
    module.down(local);
    module.pass(200ms);
    CHECK(module.level() == 0);
    module.up(local);
    module.pass(700ms);
    CHECK(module.level() == full_level);
    module.press(local);
    module.pass(700ms);
    CHECK(module.level() == 0);
    CHECK_FALSE(module.in_setup());
  }

  TEST_CASE("a press while the load is on its way turns it round") {
    ModuleBench module = addressed_module();
    module.press(local);
    module.pass(300ms);
    CHECK(module.level() > 0);
    CHECK(module.level() < full_level);
    module.press(local);
    module.pass(1s);
    CHECK(module.level() == 0);
  }

  TEST_CASE("a hold enters setup, and its end neither leaves it nor switches the load") {
    ModuleBench module = addressed_module();
    module.down(local);
    module.pass(of_family().setup_hold - 1ms);
    CHECK_FALSE(module.in_setup());
    module.pass(1ms);
    CHECK(module.in_setup());
    CHECK(module.lamp == Pattern::blink);
    CHECK(module.times_told(Told::gesture) == 1);
    CHECK(module.last_told(Told::mode) == ModuleBench::Said{Told::mode,
                                                            static_cast<std::uint16_t>(Mode::setup),
                                                            static_cast<std::uint32_t>(ModeReason::gesture)});
    module.pass(10s);
    module.up(local);
    module.pass(1s);
    CHECK(module.in_setup());
    CHECK(module.level() == 0);
  }

  TEST_CASE("a hold that is too short is a press") {
    ModuleBench module = addressed_module();
    module.press(local, of_family().setup_hold - 100ms);
    module.pass(5s);
    CHECK_FALSE(module.in_setup());
    CHECK(module.level() == full_level);
  }

  TEST_CASE("in setup a press leaves it, as it goes down, and does not switch the load") {
    ModuleBench module = in_setup(addressed_module());
    module.down(local);
    CHECK_FALSE(module.in_setup());
    CHECK(module.lamp == Pattern::dark);
    CHECK(module.last_told(Told::mode) ==
          ModuleBench::Said{Told::mode, 0, static_cast<std::uint32_t>(ModeReason::button)});
    module.pass(10s);  // the same press, held on, does not enter setup again
    CHECK_FALSE(module.in_setup());
    module.up(local);
    module.pass(1s);
    CHECK(module.level() == 0);
    CHECK_FALSE(module.running(Timer::time_out));
  }

  TEST_CASE("setup ends by itself after the time-out, counted from entry") {
    ModuleBench module = addressed_module();
    module.down(local);
    module.pass(of_family().setup_hold);
    REQUIRE(module.in_setup());
    module.pass(100s);
    module.up(local);
    module.pass(of_family().time_out.after - 100s - 1ns);
    CHECK(module.in_setup());
    module.pass(1ns);
    CHECK_FALSE(module.in_setup());
    CHECK(module.lamp == Pattern::dark);
    CHECK(module.last_told(Told::mode) ==
          ModuleBench::Said{Told::mode, 0, static_cast<std::uint32_t>(ModeReason::time_out)});
  }

  TEST_CASE("a time-out counted from the last press counts from the end of the hold that entered setup") {
    Family family = test_family();
    family.module.time_out = {60s, CountedFrom::last_press};
    ModuleBench module = module_with(addressed_memory(), family);
    module.down(local);
    module.pass(10s);
    module.up(local);
    module.pass(60s - 1ns);
    CHECK(module.in_setup());
    module.pass(1ns);
    CHECK_FALSE(module.in_setup());
  }

  TEST_CASE("a module that timed out ignores the assign") {
    ModuleBench module = in_setup(unaddressed_module());
    module.pass(of_family().time_out.after);
    module.hear(assign_7_2_3);
    module.pass(1s);
    CHECK(module.times_told(Told::assign_ignored) == 1);
    CHECK_FALSE(module.state.memory.addressed());
  }

  TEST_CASE("in setup it takes the first assign it hears, from any site and any plate, and leaves") {
    ModuleBench module = in_setup(unaddressed_module());
    module.hear(assign_7_2_3);
    CHECK_FALSE(module.in_setup());
    CHECK(module.last_told(Told::mode) ==
          ModuleBench::Said{Told::mode, 0, static_cast<std::uint32_t>(ModeReason::assigned)});
    CHECK(module.times_told(Told::store_begun) == 1);
    CHECK_FALSE(module.state.memory.addressed());  // the write is under way
    module.hear({TelegramKind::assign, 23, 4, 1, 0});
    module.pass(50ms);
    CHECK(module.state.memory.address == Address{7, 2, 3});
    CHECK(module.times_told(Told::stored) == 1);
    CHECK(module.times_told(Told::assign_ignored) == 1);
  }

  TEST_CASE("an assign of channel 0 or zone 0, which no plate should send, is not taken") {
    for (const Telegram& wrong :
         {Telegram{TelegramKind::assign, 7, 2, 0, 0}, Telegram{TelegramKind::assign, 7, 0, 3, 0}}) {
      ModuleBench module = in_setup(unaddressed_module());
      module.hear(wrong);
      CHECK(module.in_setup());
      CHECK_FALSE(module.running(Timer::store));
    }
  }

  TEST_CASE("storing takes the family's store time") {
    ModuleBench module = in_setup(unaddressed_module());
    module.hear(assign_7_2_3);
    CHECK(module.left(Timer::store) == 50ms);
    module.pass(50ms - 1ns);
    CHECK_FALSE(module.state.memory.addressed());
    module.pass(1ns);
    CHECK(module.state.memory.address == Address{7, 2, 3});
    CHECK(module.state.storing == 0);
  }

  TEST_CASE("a changed site number makes the power-up mode off") {
    ModuleBench module = in_setup(unaddressed_module());
    REQUIRE(module.state.memory.power_up == PowerUp::full);
    module.hear(assign_7_2_3);
    module.pass(50ms);
    CHECK(module.state.memory.power_up == PowerUp::off);
    CHECK(module.last_told(Told::power_up) ==
          ModuleBench::Said{Told::power_up, static_cast<std::uint16_t>(PowerUp::off), 0});
  }

  TEST_CASE("an address of the same site number leaves the power-up mode alone") {
    ModuleBench module = in_setup(unaddressed_module());
    module.hear({TelegramKind::assign, of_family().factory_site, 2, 3, 0});
    module.pass(50ms);
    CHECK(module.state.memory.address == Address{of_family().factory_site, 2, 3});
    CHECK(module.state.memory.power_up == PowerUp::full);
    CHECK(module.times_told(Told::power_up) == 0);
  }

  TEST_CASE("an unaddressed module obeys every zone of its own site number and no other site") {
    ModuleBench module = unaddressed_module();
    for (const std::uint8_t zone : {std::uint8_t{1}, std::uint8_t{4}, std::uint8_t{15}}) {
      module.hear({TelegramKind::off, of_family().factory_site, zone, 0, 0});
      module.pass(1s);
      CHECK(module.level() == 0);
      module.hear({TelegramKind::on, of_family().factory_site, zone, 0, 0});
      module.pass(1s);
      CHECK(module.level() == full_level);
    }
    module.hear({TelegramKind::off, 23, 4, 0, 0});
    module.pass(1s);
    CHECK(module.level() == full_level);
    CHECK(module.times_told(Told::obeyed) == 6);
  }

  TEST_CASE("an addressed module obeys its own site and zone only") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    module.pass(1s);
    CHECK(module.level() == full_level);
    for (const Telegram& other : {Telegram{TelegramKind::off, 23, 5, 0, 0},
                                  Telegram{TelegramKind::off, of_family().factory_site, 4, 0, 0},
                                  Telegram{TelegramKind::off, 23, 0, 0, 0}}) {
      module.hear(other);
      module.pass(1s);
      CHECK(module.level() == full_level);
    }
  }

  TEST_CASE("identify makes the module of that address show steady and flash, and no other") {
    ModuleBench module = addressed_module();
    for (const Telegram& other :
         {Telegram{TelegramKind::identify, 23, 4, 2, 0}, Telegram{TelegramKind::identify, 23, 5, 1, 0},
          Telegram{TelegramKind::identify, 22, 4, 1, 0}}) {
      module.hear(other);
      CHECK(module.lamp == Pattern::blip);
      CHECK(module.level() == 0);
    }
    module.hear(of(TelegramKind::identify, 1));
    CHECK(module.lamp == Pattern::steady);
    CHECK(module.level() == full_level);
    module.pass(999ms);
    CHECK(module.level() == full_level);
    module.pass(1ms);
    CHECK(module.level() == 0);
    module.pass(1999ms);
    CHECK(module.lamp == Pattern::steady);
    module.pass(1ms);
    CHECK(module.lamp != Pattern::steady);
  }

  TEST_CASE("an unaddressed module never identifies itself") {
    ModuleBench module = unaddressed_module();
    module.hear({TelegramKind::identify, 1, 0, 0, 0});
    CHECK(module.lamp == Pattern::blip);
    CHECK_FALSE(module.running(Timer::flash));
  }

  TEST_CASE("a flash goes the other way and comes back to the level that was") {
    for (const Level level : {Level{0}, Level{250}, Level{500}, Level{750}, full_level}) {
      ModuleBench module = addressed_module();
      settle_at(module, level);
      CAPTURE(level);
      REQUIRE(module.level() == level);
      module.hear(of(TelegramKind::identify, 1));
      CHECK(module.level() == (level > 500 ? 0 : full_level));
      module.pass(500ms);
      module.hear(of(TelegramKind::identify, 1));  // again, in the middle of it
      CHECK(module.level() == (level > 500 ? 0 : full_level));
      module.pass(1s);
      CHECK(module.level() == level);
      CHECK(module.state.target == level);
    }
  }

  TEST_CASE("what is commanded during a flash ends the flash and starts from the level that was") {
    ModuleBench module = addressed_module();
    settle_at(module, 600);
    module.hear(of(TelegramKind::identify, 1));
    REQUIRE(module.level() == 0);
    SUBCASE("stop: the level stays what it was") {
      module.hear(of(TelegramKind::stop));
      module.pass(2s);
      CHECK(module.level() == 600);
      CHECK(module.state.memory.last_level == 600);
    }
    SUBCASE("lower: from there, at the even pace") {
      module.hear(of(TelegramKind::lower));
      CHECK(module.level() == 600);
      module.pass(1200ms);
      CHECK(module.level() == 300);
      module.pass(1200ms);
      CHECK(module.level() == 0);
    }
    SUBCASE("raise: from there, at the even pace") {
      module.hear(of(TelegramKind::raise));
      CHECK(module.level() == 600);
      module.pass(800ms);
      CHECK(module.level() == 800);
      module.pass(800ms);
      CHECK(module.level() == full_level);
    }
    SUBCASE("on: it fades up from there") {
      module.hear(of(TelegramKind::on));
      CHECK(module.level() == 600);
      module.pass(700ms);
      CHECK(module.level() == full_level);
    }
    SUBCASE("a press: it switches off what was on") {
      module.press(local);
      module.pass(1s);
      CHECK(module.level() == 0);
    }
    module.pass(5s);
    CHECK_FALSE(module.running(Timer::flash));
    CHECK(module.level() == module.state.target);
  }

  TEST_CASE("a scene stored during a flash is the level that was") {
    ModuleBench module = addressed_module();
    settle_at(module, 600);
    module.hear(of(TelegramKind::identify, 1));
    module.hear(of(TelegramKind::store, 0, 3));
    module.pass(2s);
    CHECK(module.state.memory.scenes[2] == 600);
  }

  TEST_CASE("a beacon from its own plate makes the module breathe, anybody else's only blip") {
    ModuleBench module = addressed_module();
    module.hear({TelegramKind::beacon, 23, 5, 0, 0});
    CHECK(module.lamp == Pattern::blip);
    module.pass(1s);
    module.hear(of(TelegramKind::beacon));
    CHECK(module.lamp == Pattern::breathe);
    module.pass(11s);
    module.hear(of(TelegramKind::beacon));
    module.pass(12s - 1ns);
    CHECK(module.lamp == Pattern::breathe);
    module.pass(1ns);
    CHECK(module.lamp == Pattern::dark);
  }

  TEST_CASE("its own plate leaving setup stops it breathing, another plate does not") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::beacon));
    module.hear({TelegramKind::left, 23, 5, 0, 0});
    CHECK(module.lamp == Pattern::breathe);
    module.hear(of(TelegramKind::left));
    CHECK(module.lamp == Pattern::blip);
    CHECK_FALSE(module.running(Timer::breathe));
  }

  TEST_CASE("it blips at any telegram, whether it obeys it or not") {
    ModuleBench module = addressed_module();
    for (const Telegram& telegram :
         {of(TelegramKind::on), Telegram{TelegramKind::on, 99, 9, 0, 0},
          Telegram{TelegramKind::assign, 99, 9, 9, 0}, Telegram{TelegramKind::identify, 1, 1, 1, 0},
          Telegram{TelegramKind::left, 1, 1, 0, 0}}) {
      module.hear(telegram);
      CHECK(module.lamp == Pattern::blip);
      module.pass(600ms);
      CHECK(module.lamp == Pattern::dark);
    }
  }

  TEST_CASE(
      "blips fall asleep some time after the last press or power-up, and only a press or power wakes them") {
    ModuleBench module = addressed_module();
    module.pass(module.family.indicator.blips_sleep - 1ns);
    module.hear(of(TelegramKind::on));
    CHECK(module.lamp == Pattern::blip);
    module.pass(1ns);
    CHECK(module.last_told(Told::blips_awake) == ModuleBench::Said{Told::blips_awake, 0, 0});
    module.pass(1s);
    module.hear(of(TelegramKind::off));
    CHECK(module.lamp == Pattern::dark);
    CHECK(module.times_told(Told::blip_unshown) == 1);
    module.pass(1s);
    CHECK(module.level() == 0);  // it obeys all the same
    SUBCASE("a press") {
      module.press(local);
    }
    SUBCASE("power") {
      module.cut_power();
      module.power_on();
    }
    CHECK(module.last_told(Told::blips_awake) == ModuleBench::Said{Told::blips_awake, 1, 0});
    CHECK(module.left(Timer::sleep) > module.family.indicator.blips_sleep - 1min);
    module.hear(of(TelegramKind::off));
    CHECK(module.lamp == Pattern::blip);
  }

  TEST_CASE("asleep blips take nothing else away: steady, blink and breathe still show") {
    ModuleBench module = addressed_module();
    module.pass(2h);
    module.hear(of(TelegramKind::beacon));
    CHECK(module.lamp == Pattern::breathe);
    module.hear(of(TelegramKind::identify, 1));
    CHECK(module.lamp == Pattern::steady);
    CHECK(module.times_told(Told::blip_unshown) == 2);
  }

  TEST_CASE(
      "the indicator shows steady before blink before breathe before blip before dark, in every "
      "combination") {
    for (int flags = 0; flags < 16; ++flags) {
      ModuleState state;
      state.steady = (flags & 1) != 0;
      state.mode = (flags & 2) != 0 ? Mode::setup : Mode::normal;
      state.breathing = (flags & 4) != 0;
      state.blipping = (flags & 8) != 0;
      Pattern expected = Pattern::dark;
      if (state.blipping != 0) expected = Pattern::blip;
      if (state.breathing != 0) expected = Pattern::breathe;
      if (state.mode == Mode::setup) expected = Pattern::blink;
      if (state.steady != 0) expected = Pattern::steady;
      CAPTURE(flags);
      CHECK(shown_pattern(test_family().module, state) == expected);
    }
  }

  TEST_CASE("recall brings the scene's level within the fade time") {
    ModuleBench module = addressed_module();
    const std::array<Level, 4> as_from_the_factory = {1000, 750, 500, 250};
    for (std::size_t scene = 0; scene < 4; ++scene) {
      module.hear(of(TelegramKind::recall, 0, static_cast<std::uint8_t>(scene + 1)));
      module.pass(700ms);
      CHECK(module.level() == as_from_the_factory[scene]);
    }
  }

  TEST_CASE("a scene that the family does not have is neither recalled nor stored") {
    ModuleBench module = addressed_module();
    settle_at(module, 300);
    const ModuleMemory before = module.state.memory;
    for (const std::uint8_t scene :
         {std::uint8_t{0}, std::uint8_t{5}, std::uint8_t{8}, std::uint8_t{9}, std::uint8_t{255}}) {
      module.hear(of(TelegramKind::recall, 0, scene));
      module.pass(1s);
      CHECK(module.level() == 300);
      module.hear(of(TelegramKind::store, 0, scene));
      module.pass(1s);
      CHECK(module.state.memory == before);
    }
  }

  TEST_CASE("store keeps the present level as the scene, after the store time, and recall brings it back") {
    ModuleBench module = addressed_module();
    settle_at(module, 400);
    module.hear(of(TelegramKind::store, 0, 2));
    CHECK(module.times_told(Told::store_begun) == 1);
    module.pass(49ms);
    CHECK(module.state.memory.scenes[1] == 750);
    module.pass(1ms);
    CHECK(module.state.memory.scenes[1] == 400);
    module.hear(of(TelegramKind::off));
    module.pass(1s);
    module.hear(of(TelegramKind::recall, 0, 2));
    module.pass(1s);
    CHECK(module.level() == 400);
  }

  TEST_CASE("two stores in one store time are both kept") {
    ModuleBench module = addressed_module();
    settle_at(module, 400);
    module.hear(of(TelegramKind::store, 0, 2));
    module.pass(30ms);
    module.hear(of(TelegramKind::store, 0, 3));
    module.pass(50ms);
    CHECK(module.state.memory.scenes[1] == 400);
    CHECK(module.state.memory.scenes[2] == 400);
  }

  TEST_CASE("what the load does while memory is written is not undone by the write") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::store, 0, 2));
    module.hear(of(TelegramKind::on));
    module.pass(1s);
    CHECK(module.state.memory.last_level == full_level);
  }

  TEST_CASE("raise and lower move at an even pace and stop where they are") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::raise));
    module.pass(1s);
    CHECK(module.level() == 250);
    module.pass(1s);
    CHECK(module.level() == 500);
    module.hear(of(TelegramKind::stop));
    module.pass(10s);
    CHECK(module.level() == 500);
    module.hear(of(TelegramKind::lower));
    module.pass(1s);
    CHECK(module.level() == 250);
    module.pass(10s);
    CHECK(module.level() == 0);
    module.hear(of(TelegramKind::raise));
    module.pass(10s);
    CHECK(module.level() == full_level);
  }

  TEST_CASE("stop ends a raise or lower and no other fade") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    module.pass(350ms);
    module.take_told();
    module.hear(of(TelegramKind::stop));
    CHECK(module.times_told(Told::obeyed) == 0);
    module.pass(350ms);
    CHECK(module.level() == full_level);
    SUBCASE("a fade that took the place of a lower is no lower any more") {
      module.hear(of(TelegramKind::lower));
      module.pass(1s);
      module.hear(of(TelegramKind::off));
      module.pass(350ms);
      module.hear(of(TelegramKind::stop));
      module.pass(350ms);
      CHECK(module.level() == 0);
    }
    SUBCASE("a lower that took the place of a fade is one") {
      module.hear(of(TelegramKind::off));
      module.pass(350ms);
      module.hear(of(TelegramKind::lower));
      module.pass(1s);
      module.hear(of(TelegramKind::stop));
      CHECK(module.times_told(Told::obeyed) == 3);
      module.pass(10s);
      CHECK(module.level() == 250);
    }
  }

  TEST_CASE("a press puts out a load that is lit, whichever way it is going") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    SUBCASE("on its way up") {
      module.pass(100ms);
    }
    SUBCASE("at full") {
      module.pass(1s);
    }
    SUBCASE("on its way down") {
      module.pass(1s);
      module.hear(of(TelegramKind::off));
      module.pass(300ms);
      REQUIRE(module.level() == 572);
    }
    module.press(local, 50ms);
    module.pass(1s);
    CHECK(module.level() == 0);
    module.press(local);
    module.pass(1s);
    CHECK(module.level() == full_level);
  }

  TEST_CASE("a scene stored half way is the level of that moment") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    module.pass(350ms);
    module.hear(of(TelegramKind::store, 0, 3));
    module.pass(2s);
    CHECK(module.level() == full_level);
    CHECK(module.state.memory.scenes[2] == 500);
  }

  TEST_CASE("a power cut half way keeps the level of that moment, where the family keeps it") {
    Family family = test_family();
    bool keeps = true;
    SUBCASE("kept") {}
    SUBCASE("not kept") {
      keeps = false;
    }
    family.module.memory.last_level = keeps;
    ModuleMemory memory = addressed_memory();
    memory.power_up = PowerUp::last;
    ModuleBench module = module_with(memory, family);
    module.hear(of(TelegramKind::on));
    module.pass(350ms);
    module.cut_power();
    module.power_on();
    CHECK(module.level() == (keeps ? 500 : 0));
  }

  TEST_CASE("a power cut in a flash keeps the level beneath it") {
    ModuleMemory memory = addressed_memory();
    memory.power_up = PowerUp::last;
    ModuleBench module = module_with(memory);
    settle_at(module, 300);
    module.hear(of(TelegramKind::identify, 1));
    REQUIRE(module.level() == full_level);
    module.cut_power();
    module.power_on();
    CHECK(module.level() == 300);
  }

  TEST_CASE("a load goes on beneath a flash as if nothing had happened") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::raise));
    module.pass(400ms);
    module.hear(of(TelegramKind::identify, 1));
    CHECK(module.level() == full_level);
    SUBCASE("it is where it would have been when the flash is over, and goes on") {
      module.pass(1s);
      CHECK(module.level() == 350);
      module.pass(600ms);
      CHECK(module.level() == 500);
      module.hear(of(TelegramKind::stop));
      module.pass(10s);
      CHECK(module.level() == 500);
    }
    SUBCASE("a stop in the middle of the flash meets it there") {
      module.pass(600ms);
      module.hear(of(TelegramKind::stop));
      CHECK(module.level() == 250);
      module.pass(10s);
      CHECK(module.level() == 250);
    }
    SUBCASE("a scene that is stored meets it there, too") {
      module.pass(800ms);
      module.hear(of(TelegramKind::store, 0, 2));
      module.pass(50ms);
      CHECK(module.state.memory.scenes[1] == 300);
    }
  }

  TEST_CASE("on and off interrupted start again from where the load is") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    module.pass(350ms);
    CHECK(module.level() == 500);
    module.hear(of(TelegramKind::off));
    CHECK(module.level() == 500);
    module.pass(350ms);
    CHECK(module.level() == 250);
    module.pass(350ms);
    CHECK(module.level() == 0);
  }

  TEST_CASE("power-up is as the power-up mode says") {
    ModuleMemory memory = addressed_memory();
    memory.last_level = 420;
    const auto level_after = [&](PowerUp power_up) {
      memory.power_up = power_up;
      return module_with(memory).level();
    };
    CHECK(level_after(PowerUp::off) == 0);
    CHECK(level_after(PowerUp::full) == full_level);
    CHECK(level_after(PowerUp::last) == 420);
  }

  TEST_CASE("a power cut keeps memory and nothing else") {
    ModuleBench module = addressed_module();
    settle_at(module, 300);
    module.hear(of(TelegramKind::store, 0, 4));
    module.pass(1s);
    module.press(local, 4s);
    module.hear(of(TelegramKind::beacon));
    module.hear(of(TelegramKind::identify, 1));
    const ModuleMemory kept = module.state.memory;
    module.cut_power();
    module.power_on();
    CHECK(module.state.memory == kept);
    CHECK(module.state.memory.address == Address{23, 4, 1});
    CHECK(module.state.memory.scenes[3] == 300);
    CHECK_FALSE(module.in_setup());
    CHECK(module.lamp == Pattern::dark);
    CHECK(module.level() == 0);
  }

  TEST_CASE("power-up forgets everything but memory, whatever the state was") {
    ModuleBench module = in_setup(addressed_module());
    module.hear(of(TelegramKind::beacon));
    module.hear(of(TelegramKind::identify, 1));
    module.down(local);
    module.power_on();
    ModuleState fresh;
    fresh.memory = addressed_memory();
    fresh.awake = 1;
    CHECK(module.state == fresh);
  }

  TEST_CASE("modules that will go on alike are equal: nothing is left over from what they did") {
    ModuleBench module = addressed_module();
    module.hear(of(TelegramKind::on));
    module.pass(1s);
    const ModuleState at_rest = module.state;
    module.hear(of(TelegramKind::store, 0, 1));  // scene 1 is full already
    module.hear(of(TelegramKind::identify, 1));
    module.pass(5s);
    CHECK(module.state == at_rest);
    module.press(local);
    module.pass(1s);  // on its way down it would be put out once more
    module.press(local);
    module.pass(1s);
    CHECK(module.level() == full_level);
    CHECK(module.state == at_rest);
  }

  TEST_CASE("a short bounce is one press") {
    ModuleBench module = addressed_module();
    for (int i = 0; i < 9; ++i) {
      module.down(local);
      module.pass(1ms);
      module.up(local);
      module.pass(1ms);
    }
    module.press(local);
    module.pass(1s);
    CHECK(module.level() == full_level);
  }

  TEST_CASE("a bounce longer than the debounce time switches the load twice") {
    ModuleBench module = addressed_module();
    module.down(local);
    module.pass(15ms);
    module.up(local);
    module.pass(15ms);
    module.press(local);
    module.pass(1s);
    CHECK(module.level() == 0);
  }

  TEST_CASE("a module takes no notice of contacts that are not its own button's") {
    ModuleBench module = addressed_module();
    const ModuleState before = module.state;
    module.down(3);
    CHECK(module.state == before);
  }

  TEST_CASE("factory memory: the family's site number, no zone, no channel, and scenes evenly below full") {
    ModuleFamily family = test_family().module;
    family.factory_site = 9;
    family.scenes = 5;
    family.factory_power_up = PowerUp::last;
    const ModuleMemory memory = factory_memory(family);
    CHECK(memory.address == Address{9, 0, 0});
    CHECK_FALSE(memory.addressed());
    CHECK(memory.power_up == PowerUp::last);
    CHECK(memory.scenes == std::array<Level, max_scenes>{1000, 800, 600, 400, 200, no_scene_level,
                                                         no_scene_level, no_scene_level});
  }

  TEST_CASE("a scene for which nothing was stored is not recalled") {
    ModuleMemory memory = addressed_memory();
    memory.scenes[1] = no_scene_level;
    ModuleBench module = module_with(memory);
    module.hear(of(TelegramKind::recall, 0, 2));
    module.pass(1s);
    CHECK(module.level() == 0);
    CHECK(module.times_told(Told::obeyed) == 0);
  }
}
