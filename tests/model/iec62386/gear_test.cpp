// Control gear as a reaction, command by command.
#include "model/iec62386/gear.h"

#include <doctest/doctest.h>

namespace {

using namespace drybus::iec62386;

/// One gear with a clock and its timers.
struct Bench {
  GearKind kind;
  GearState state;
  drybus::sim::Instant now{};
  Effects last;

  Bench() {
    state.powered = state.ready = 1;
    state.memory.short_address = 5;
  }
  Effects frame(const BitFrame& frame) {
    Stimulus stimulus;
    stimulus.now = now;
    stimulus.frame = frame;
    return last = react(kind, state, stimulus);
  }
  Effects happens(Stimulus::Kind what, Timer timer = Timer::initialise) {
    Stimulus stimulus;
    stimulus.kind = what;
    stimulus.timer = timer;
    stimulus.now = now;
    return last = react(kind, state, stimulus);
  }
  Effects opcode(std::uint8_t code) { return frame(command_frame({Target::Kind::one, 5}, code)); }
  Effects two(std::uint8_t code) {
    opcode(code);
    return opcode(code);
  }
  Effects special(std::uint8_t code, std::uint8_t value = 0) { return frame(special_frame(code, value)); }
  Effects level(Level wanted) { return frame(level_frame({Target::Kind::one, 5}, wanted)); }
  Level level_now() { return state.motion.at(now); }
  void set(std::uint8_t code, std::uint8_t value) {
    special(0xA3, value);
    two(code);
  }
};

TEST_CASE("a level is taken within the limits, and what cut it is told") {
  Bench gear;
  gear.set(0x2A, 200);
  gear.set(0x2B, 50);
  CHECK(gear.level(254).has(Did::clipped));
  CHECK(gear.level_now() == 200);
  CHECK(gear.level(10).has(Did::clipped));
  CHECK(gear.level_now() == 50);
  CHECK_FALSE(gear.level(100).has(Did::clipped));
  gear.level(0);
  CHECK(gear.level_now() == 0);
}

TEST_CASE("255 changes nothing, but stops a fade") {
  Bench gear;
  gear.set(0x2E, 4);  // 2 s
  gear.level(0);
  gear.now += 3s;
  gear.level(201);
  gear.now += 1s;
  CHECK_FALSE(gear.level(mask).has(Did::mask_ignored));
  CHECK(gear.level_now() == 101);
  gear.now += 5s;
  CHECK(gear.level_now() == 101);
  CHECK(gear.level(mask).has(Did::mask_ignored));
}

TEST_CASE("a setting counts when it comes twice, with nothing between and within its time") {
  Bench gear;
  gear.special(0xA3, 100);
  gear.opcode(0x2A);
  CHECK(gear.state.memory.max_level == 254);
  CHECK(gear.special(0xA3, 100).has(Did::twice_missed));
  gear.opcode(0x2A);
  CHECK(gear.happens(Stimulus::Kind::timer, Timer::twice).has(Did::twice_missed));
  gear.opcode(0x2A);
  CHECK(gear.state.memory.max_level == 254);
  gear.opcode(0x2A);
  CHECK(gear.state.memory.max_level == 100);
}

TEST_CASE("UP moves nine steps at fade rate 7 in 200 ms, and never lights up") {
  Bench gear;
  gear.level(100);
  gear.opcode(0x01);
  gear.now += 200ms;
  CHECK(gear.level_now() == 109);
  gear.level(0);
  gear.opcode(0x01);
  gear.opcode(0x03);
  gear.now += 1s;
  CHECK(gear.level_now() == 0);
  gear.opcode(0x08);
  CHECK(gear.level_now() == 1);
  gear.opcode(0x07);
  CHECK(gear.level_now() == 0);
}

TEST_CASE("groups and scenes; 255 is not in the scene") {
  Bench gear;
  gear.two(0x60 + 9);
  CHECK(gear.frame(level_frame({Target::Kind::group, 9}, 77)).has(Did::group_followed));
  CHECK(gear.level_now() == 77);
  gear.set(0x40 + 3, 120);
  gear.opcode(0x10 + 3);
  CHECK(gear.level_now() == 120);
  gear.two(0x50 + 3);
  gear.level(10);
  gear.opcode(0x10 + 3);
  CHECK(gear.level_now() == 10);
  CHECK(gear.opcode(0xB3).answer == mask);
  gear.two(0x70 + 9);
  CHECK(gear.opcode(0xC1).answer == 0);
}

TEST_CASE("only those that were initialised and are not withdrawn compare") {
  Bench gear;
  CHECK_FALSE(gear.special(0xA9).answer.has_value());
  gear.special(0xA5, 0);
  CHECK_FALSE(gear.special(0xA5, 0).answer.has_value());
  REQUIRE(gear.state.initialised == 1);
  gear.state.memory.random = 0x123456;
  CHECK(gear.special(0xA9).answer == yes);  // the search address is FFFFFF
  gear.special(0xB1, 0x12);
  gear.special(0xB3, 0x34);
  gear.special(0xB5, 0x55);
  CHECK_FALSE(gear.special(0xA9).answer.has_value());
  gear.special(0xB5, 0x56);
  CHECK(gear.special(0xA9).answer == yes);
  gear.special(0xB7, coded_short(17));
  CHECK(gear.state.memory.short_address == 17);
  CHECK(gear.special(0xB9, coded_short(17)).answer == yes);
  CHECK(gear.special(0xBB).answer == coded_short(17));
  gear.special(0xAB);
  CHECK_FALSE(gear.special(0xA9).answer.has_value());
  CHECK(gear.special(0xA1).has(Did::init_ended));
  gear.special(0xB7, coded_short(18));
  CHECK(gear.state.memory.short_address == 17);
}

TEST_CASE("initialise runs out by its timer, and programming then does nothing") {
  Bench gear;
  gear.special(0xA5, 0);
  CHECK((gear.special(0xA5, 0).set >> static_cast<unsigned>(Timer::initialise) & 1U) == 1);
  CHECK(runs_for(Timer::initialise) == 15min);
  CHECK(gear.happens(Stimulus::Kind::timer, Timer::initialise).has(Did::init_ran_out));
  gear.state.search = gear.state.memory.random;
  gear.special(0xB7, coded_short(1));
  CHECK(gear.state.memory.short_address == 5);
}

TEST_CASE("whom initialise is said to") {
  Bench gear;
  gear.special(0xA5, 0xFF);
  gear.special(0xA5, 0xFF);
  CHECK(gear.state.initialised == 0);
  gear.special(0xA5, coded_short(5));
  gear.special(0xA5, coded_short(5));
  CHECK(gear.state.initialised == 1);
}

TEST_CASE("RESET keeps the short address alone, and takes its time") {
  Bench gear;
  gear.two(0x60);
  gear.set(0x2D, 7);
  gear.two(0x20);
  CHECK(gear.state.memory.short_address == 5);
  CHECK(gear.state.memory.groups == 0);
  CHECK(gear.state.memory.power_on == 254);
  CHECK(gear.state.reset_state == 1);
  CHECK_FALSE(gear.opcode(0x91).answer.has_value());
  gear.happens(Stimulus::Kind::timer, Timer::reset);
  CHECK(gear.opcode(0x91).answer == yes);
}

TEST_CASE("a power cut keeps the memory and nothing else; the level comes back as it was set to") {
  Bench gear;
  gear.special(0xA3, 9);
  gear.set(0x2D, mask);
  gear.level(60);
  gear.special(0xA5, 0);
  gear.special(0xA5, 0);
  gear.happens(Stimulus::Kind::mains_off);
  CHECK(gear.state.initialised == 0);
  CHECK(gear.state.dtr0 == 0);
  CHECK(light(gear.state, gear.now) == 0);
  gear.happens(Stimulus::Kind::mains_on);
  CHECK(gear.opcode(0x00).has(Did::not_ready));
  gear.happens(Stimulus::Kind::timer, Timer::ready);
  CHECK((gear.opcode(0x90).answer.value_or(0) & 0x80U) != 0);
  gear.happens(Stimulus::Kind::timer, Timer::power_on);
  CHECK(gear.level_now() == 60);
}

TEST_CASE("a failed line brings the system failure level, 255 leaves it") {
  Bench gear;
  gear.level(30);
  gear.happens(Stimulus::Kind::line_low);
  gear.happens(Stimulus::Kind::timer, Timer::line_failed);
  CHECK(gear.level_now() == 254);
  gear.happens(Stimulus::Kind::line_high);
  gear.set(0x2C, mask);
  gear.level(30);
  gear.happens(Stimulus::Kind::timer, Timer::line_failed);
  CHECK(gear.level_now() == 30);
}

TEST_CASE("commands of a device type need its name just before") {
  Bench gear;
  gear.special(0xC1, 6);
  CHECK_FALSE(gear.opcode(0xE3).has(Did::wrong_type));
  gear.special(0xC1, 6);
  gear.special(0xA3, 0);
  CHECK(gear.opcode(0xE3).has(Did::wrong_type));
  gear.special(0xC1, 1);
  CHECK(gear.opcode(0xE3).has(Did::wrong_type));
}

TEST_CASE("the status byte, bit by bit") {
  Bench gear;
  gear.state.lamp_failed = 1;
  CHECK((gear.opcode(0x90).answer.value_or(0) & 0x02U) != 0);
  gear.state.lamp_failed = 0;
  gear.level(100);
  CHECK(gear.opcode(0x90).answer == 0x04);
  gear.set(0x2A, 50);
  gear.level(100);
  CHECK(gear.opcode(0x90).answer == 0x0C);
}

}  // namespace
