// The wall plate on the bench: every transition of the diagram in plate.h, and what its buttons mean in each
// mode.
#include "model/devices/plate.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/family/usual_machine.h"
#include "tests/support/device_bench.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

PlateBench plate_on(Family family) {
  PlateBench bench{std::move(family)};
  bench.state.site = 23;
  bench.state.zone = 4;
  bench.power_on();
  bench.take_told();
  return bench;
}

PlateBench plate_in_normal_mode() {
  return plate_on(test_family());
}

PlateBench plate_in_setup(const Family& family = test_family()) {
  PlateBench bench = plate_on(family);
  bench.press(set, family.plate.setup_hold + 500ms);
  bench.take_sent();
  bench.take_told();
  return bench;
}

/// Two buttons together enter setup, leaving is announced, the time-out counts from entry.
Family chord_family() {
  Family family = test_family();
  family.plate.setup_gesture = static_cast<Buttons>(only(up) | only(down));
  family.plate.time_out = {60s, CountedFrom::entry};
  family.plate.machine = usual_plate_machine(true);
  return family;
}

Telegram of(TelegramKind kind, std::uint8_t channel = 0, std::uint8_t argument = 0) {
  return {kind, 23, 4, channel, argument};
}

using Sent = std::vector<Telegram>;

sim::Duration setup_hold() {
  return test_family().plate.setup_hold;
}

}  // namespace

TEST_SUITE("plate") {
  TEST_CASE(
      "a plate held by its gesture for long enough enters setup at channel 0 and sends a beacon at once") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(set);
    plate.pass(setup_hold() - 1ms);
    CHECK_FALSE(plate.in_setup());
    CHECK(plate.sent.empty());
    plate.pass(1ms);
    CHECK(plate.in_setup());
    CHECK(plate.state.channel == 0);
    CHECK(plate.lamp == Pattern::blink);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::beacon)});
    CHECK(plate.times_told(Told::gesture) == 1);
    CHECK(plate.last_told(Told::mode) == PlateBench::Said{Told::mode, static_cast<std::uint16_t>(Mode::setup),
                                                          static_cast<std::uint32_t>(ModeReason::gesture)});
  }

  TEST_CASE("a gesture let go too early leaves the plate in normal mode") {
    PlateBench plate = plate_in_normal_mode();
    plate.press(set, setup_hold() - 100ms);
    plate.pass(10s);
    CHECK_FALSE(plate.in_setup());
    CHECK(plate.lamp == Pattern::dark);
    CHECK(plate.sent.empty());  // `set` alone has no meaning in normal mode
  }

  TEST_CASE("the button of the gesture does nothing more when it is let go after entry") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(set);
    plate.pass(setup_hold());
    plate.take_sent();
    plate.up(set);
    plate.pass(1s);
    CHECK(plate.sent.empty());
    CHECK(plate.state.channel == 0);
  }

  TEST_CASE("a gesture of two buttons needs both, and needs no others") {
    SUBCASE("both enter setup, whichever goes down first") {
      for (const auto& [first, second] : {std::pair{up, down}, std::pair{down, up}}) {
        PlateBench plate = plate_on(chord_family());
        plate.down(first);
        plate.pass(50ms);
        plate.down(second);
        plate.pass(setup_hold() - 1ms);
        CHECK_FALSE(plate.in_setup());
        plate.pass(1ms);
        CHECK(plate.in_setup());
        CHECK(plate.take_sent() == Sent{of(TelegramKind::beacon)});
      }
    }
    SUBCASE("the time counts from the second button") {
      PlateBench plate = plate_on(chord_family());
      plate.down(up);
      plate.pass(500ms);
      plate.down(down);
      plate.pass(setup_hold() - 400ms);
      CHECK_FALSE(plate.in_setup());
      plate.pass(400ms);
      CHECK(plate.in_setup());
    }
    SUBCASE("one of them alone never does") {
      PlateBench plate = plate_on(chord_family());
      plate.down(accept);
      plate.pass(60s);
      CHECK_FALSE(plate.in_setup());
    }
    SUBCASE("a third button spoils it") {
      PlateBench plate = plate_on(chord_family());
      plate.down(up);
      plate.down(down);
      plate.pass(2s);
      plate.down(off);
      plate.pass(10s);
      CHECK_FALSE(plate.in_setup());
    }
    SUBCASE("letting go of one starts it over") {
      PlateBench plate = plate_on(chord_family());
      plate.down(up);
      plate.pass(50ms);
      plate.down(down);
      plate.pass(setup_hold() - 1s);
      plate.up(down);
      plate.pass(50ms);
      plate.down(down);
      plate.pass(setup_hold() - 100ms);
      CHECK_FALSE(plate.in_setup());
      plate.pass(100ms);
      CHECK(plate.in_setup());
    }
  }

  TEST_CASE("a chord is never taken for a press of one of its buttons") {
    PlateBench plate = plate_on(chord_family());
    plate.down(up);
    plate.pass(50ms);
    plate.down(down);
    plate.pass(1s);
    plate.up(up);
    plate.pass(50ms);
    plate.up(down);
    plate.pass(1s);
    CHECK(plate.sent.empty());
    plate.press(up);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::on)});  // and all is forgotten when both are up
  }

  TEST_CASE("the gesture held again in setup is two ordinary presses there") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.take_sent();
    plate.press(set, 6s);
    CHECK(plate.in_setup());
    CHECK(plate.state.channel == 1);
    const Sent sent = plate.take_sent();
    CHECK(std::count(sent.begin(), sent.end(), of(TelegramKind::identify, 1)) == 1);
    CHECK(std::count(sent.begin(), sent.end(), of(TelegramKind::beacon)) == 1);
  }

  TEST_CASE("in setup, next and previous step the channel and identify it") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.press(up);
    plate.press(down);
    CHECK(plate.take_sent() ==
          Sent{of(TelegramKind::identify, 1), of(TelegramKind::identify, 2), of(TelegramKind::identify, 1)});
    CHECK(plate.state.channel == 1);
    CHECK(plate.times_told(Told::channel) == 3);
  }

  TEST_CASE("stepping back to channel 0 identifies nothing") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.take_sent();
    plate.press(down);
    CHECK(plate.state.channel == 0);
    CHECK(plate.sent.empty());
    CHECK(plate.last_told(Told::channel) == PlateBench::Said{Told::channel, 0, 0});
  }

  TEST_CASE("identify repeats the channel without stepping") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.press(set);
    plate.press(set);
    CHECK(plate.state.channel == 1);
    CHECK(plate.take_sent() == Sent(3, of(TelegramKind::identify, 1)));
  }

  TEST_CASE("assign offers site, zone and channel, as often as it is pressed, and stays in setup") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.press(up);
    plate.take_sent();
    plate.press(accept);
    plate.press(accept);
    CHECK(plate.take_sent() == Sent(2, of(TelegramKind::assign, 2)));
    CHECK(plate.in_setup());
    CHECK(plate.state.channel == 2);
  }

  TEST_CASE("a plate in setup refuses, visibly, what cannot be done, and sends nothing") {
    const auto refuses = [](PlateBench plate, Button button, Refusal why) {
      plate.take_sent();
      plate.take_told();
      plate.down(button);
      CHECK(plate.lamp == Pattern::refuse);
      CHECK(plate.sent.empty());
      CHECK(plate.last_told(Told::refused) ==
            PlateBench::Said{Told::refused, static_cast<std::uint16_t>(why), 0});
      plate.pass(plate.family.indicator.refuse - 1ms);
      CHECK(plate.lamp == Pattern::refuse);
      plate.pass(1ms);
      CHECK(plate.lamp == Pattern::blink);
      CHECK(plate.in_setup());
    };
    SUBCASE("assign at channel 0") {
      refuses(plate_in_setup(), accept, Refusal::channel_zero);
    }
    SUBCASE("identify at channel 0") {
      refuses(plate_in_setup(), set, Refusal::channel_zero);
    }
    SUBCASE("previous at channel 0") {
      refuses(plate_in_setup(), down, Refusal::no_such_channel);
    }
    SUBCASE("assign with the zone switches at 0") {
      PlateBench plate = plate_in_setup();
      plate.press(up);
      plate.state.zone = 0;
      refuses(plate, accept, Refusal::zone_zero);
    }
    SUBCASE("next beyond the last channel") {
      PlateBench plate = plate_in_setup();
      for (int i = 0; i < plate.family.plate.channels; ++i) plate.press(up);
      CHECK(plate.state.channel == 12);
      refuses(plate, up, Refusal::no_such_channel);
      plate.press(up);
      CHECK(plate.state.channel == 12);
    }
  }

  TEST_CASE("leave returns to normal mode, and nothing is announced where the family does not") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.take_sent();
    plate.down(one);
    CHECK_FALSE(plate.in_setup());
    CHECK(plate.lamp == Pattern::dark);
    CHECK(plate.last_told(Told::mode) ==
          PlateBench::Said{Told::mode, 0, static_cast<std::uint32_t>(ModeReason::button)});
    plate.pass(200ms);
    plate.up(one);
    plate.pass(1h);
    CHECK(plate.sent
              .empty());  // neither `left`, nor the scene that the button calls in normal mode, nor a beacon
  }

  TEST_CASE("a family that announces leaving says so however setup ends") {
    SUBCASE("by its button") {
      PlateBench plate = plate_on(chord_family());
      plate.down(up);
      plate.down(down);
      plate.pass(6s);
      plate.up(up);
      plate.up(down);
      plate.pass(100ms);
      REQUIRE(plate.in_setup());
      plate.take_sent();
      plate.press(one);
      CHECK(plate.take_sent() == Sent{of(TelegramKind::left)});
    }
    SUBCASE("by its time-out") {
      Family family = test_family();
      family.plate.machine = usual_plate_machine(true);
      PlateBench plate = plate_in_setup(family);
      plate.pass(family.plate.time_out.after);
      REQUIRE_FALSE(plate.in_setup());
      CHECK(plate.sent.back() == of(TelegramKind::left));
    }
  }

  TEST_CASE("a time-out counted from entry ends setup whatever is pressed meanwhile") {
    PlateBench plate = plate_on(chord_family());
    plate.down(up);
    plate.down(down);
    plate.pass(setup_hold() + 100ms);
    REQUIRE(plate.in_setup());
    const sim::Instant entered = plate.now - 100ms;
    plate.up(up);
    plate.up(down);
    plate.pass(100ms);
    for (int i = 0; i < 5; ++i) {
      plate.pass(10s);
      plate.press(set);
    }
    CHECK(plate.now < entered + 60s);
    CHECK(plate.in_setup());
    plate.pass(entered + 60s - plate.now - 1ns);
    CHECK(plate.in_setup());
    plate.pass(1ns);
    CHECK_FALSE(plate.in_setup());
    CHECK(plate.lamp == Pattern::dark);
    CHECK(plate.last_told(Told::mode) ==
          PlateBench::Said{Told::mode, 0, static_cast<std::uint32_t>(ModeReason::time_out)});
  }

  TEST_CASE(
      "a time-out counted from the last press starts again with every press, even one that is refused") {
    PlateBench plate = plate_in_setup();
    const sim::Duration whole = plate.family.plate.time_out.after;
    for (const Button button : {up, set, accept, down, down, off}) {
      plate.pass(whole - 10s);
      REQUIRE(plate.in_setup());
      plate.down(button);
      CHECK(plate.left(Timer::time_out) == whole);
      plate.pass(1s);
      plate.up(button);
      CHECK(plate.left(Timer::time_out) == whole - 1s);  // letting go is no press
      plate.pass(20ms);
    }
    plate.pass(whole - 1s - 20ms - 1ns);
    CHECK(plate.in_setup());
    plate.pass(1ns);
    CHECK_FALSE(plate.in_setup());
  }

  TEST_CASE("setup entered again begins at channel 0 with the whole time-out") {
    PlateBench plate = plate_in_setup();
    for (int i = 0; i < 5; ++i) plate.press(up);
    plate.press(one);
    plate.pass(100s);
    plate.down(set);
    plate.pass(setup_hold());
    CHECK(plate.in_setup());
    CHECK(plate.state.channel == 0);
    CHECK(plate.left(Timer::time_out) == plate.family.plate.time_out.after);
  }

  TEST_CASE("a beacon goes out at entry and then periodically, until setup ends") {
    PlateBench plate = plate_in_normal_mode();
    plate.pass(1min);
    CHECK(plate.sent.empty());
    plate.down(set);
    plate.pass(setup_hold());
    CHECK(plate.take_sent() == Sent{of(TelegramKind::beacon)});
    plate.pass(4999ms);
    CHECK(plate.sent.empty());
    plate.pass(1ms);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::beacon)});
    plate.up(set);
    plate.pass(50s);
    CHECK(plate.take_sent() == Sent(10, of(TelegramKind::beacon)));
    plate.press(one);
    plate.pass(1min);
    CHECK(plate.sent.empty());
    CHECK_FALSE(plate.running(Timer::beacon));
  }

  TEST_CASE("in normal mode a button without a hold acts when it goes down") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(off);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::off)});
    plate.pass(200ms);
    plate.up(off);
    plate.pass(1s);
    CHECK(plate.sent.empty());
    plate.down(accept);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::recall, 0, 2)});
  }

  TEST_CASE("in normal mode a button with a hold acts when it is let go") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(one);
    plate.pass(900ms);
    CHECK(plate.sent.empty());
    plate.up(one);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::recall, 0, 1)});
  }

  TEST_CASE("a long press spends the press: it acts once, and not again when it is let go") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(one);
    plate.pass(1s);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::store, 0, 1)});
    plate.pass(10s);
    plate.up(one);
    plate.pass(1s);
    CHECK(plate.sent.empty());
  }

  TEST_CASE("raise and lower begin after a long press and stop when the button comes up") {
    for (const auto& [button, kind] :
         {std::pair{up, TelegramKind::raise}, std::pair{down, TelegramKind::lower}}) {
      PlateBench plate = plate_in_normal_mode();
      plate.down(button);
      plate.pass(1s);
      CHECK(plate.take_sent() == Sent{of(kind)});
      plate.pass(2s);
      CHECK(plate.sent.empty());
      plate.up(button);
      CHECK(plate.take_sent() == Sent{of(TelegramKind::stop)});
      plate.pass(1s);
      CHECK(plate.sent.empty());
    }
  }

  TEST_CASE("a button that also belongs to the gesture acts on release, though it has no hold of its own") {
    Family family = test_family();
    family.plate.setup_gesture = static_cast<Buttons>(only(accept) | only(off));
    PlateBench plate = plate_on(family);
    plate.down(off);
    CHECK(plate.sent.empty());
    plate.pass(200ms);
    plate.up(off);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::off)});
  }

  TEST_CASE("a second button pressed while one is held means nothing, and spends the first") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(one);
    plate.pass(100ms);
    plate.down(off);
    CHECK(plate.sent.empty());
    plate.pass(100ms);
    plate.up(off);
    plate.pass(2s);  // `one` goes on being held: no store, either
    plate.up(one);
    plate.pass(1s);
    CHECK(plate.sent.empty());
    plate.press(one);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::recall, 0, 1)});
  }

  TEST_CASE("in setup the buttons have lost their ordinary meaning") {
    PlateBench plate = plate_in_setup();
    plate.press(off);
    plate.press(off, 2s);
    plate.press(down, 100ms);
    for (const Telegram& telegram : plate.take_sent()) CHECK(telegram.kind == TelegramKind::beacon);
  }

  TEST_CASE("a short bounce is one press") {
    PlateBench plate = plate_in_normal_mode();
    for (int i = 0; i < 9; ++i) {
      plate.down(off);
      plate.pass(1ms);
      plate.up(off);
      plate.pass(1ms);
    }
    plate.down(off);
    plate.pass(200ms);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::off)});
    plate.up(off);
    plate.pass(1ms);
    plate.down(off);
    plate.pass(1ms);
    plate.up(off);
    plate.pass(1s);
    CHECK(plate.sent.empty());
  }

  TEST_CASE("a press shorter than the debounce time still counts") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(off);
    plate.pass(5ms);
    plate.up(off);
    plate.pass(1s);
    CHECK(plate.take_sent() == Sent{of(TelegramKind::off)});
    CHECK(plate.state.down == 0);
  }

  TEST_CASE("a bounce longer than the debounce time is taken for several presses") {
    PlateBench plate = plate_in_normal_mode();
    plate.down(off);
    plate.pass(15ms);
    plate.up(off);  // still open when the contacts are read again
    plate.pass(15ms);
    plate.down(off);
    plate.pass(200ms);
    CHECK(plate.take_sent() == Sent(2, of(TelegramKind::off)));
  }

  TEST_CASE("debounce counts for each button: one that settles makes no other deaf") {
    PlateBench plate = plate_in_setup();
    plate.down(up);
    plate.pass(3ms);
    plate.down(accept);  // down and up again while the other one settles
    plate.pass(5ms);
    plate.up(accept);
    CHECK(plate.state.down == (only(up) | only(accept)));
    plate.take_sent();
    plate.pass(9ms);
    CHECK(plate.state.settling == (only(up) | only(accept)));
    plate.pass(4ms);  // 21 ms after the first one, 18 ms after the second
    CHECK(plate.state.settling == only(accept));
    CHECK(plate.state.down == (only(up) | only(accept)));
    plate.pass(2ms);
    CHECK(plate.state.down == only(up));
  }

  TEST_CASE("two buttons of a gesture count from the moment at which both are down") {
    PlateBench plate = plate_on(chord_family());
    plate.down(up);
    plate.pass(5ms);
    plate.down(down);
    plate.pass(setup_hold() - 1ms);
    CHECK_FALSE(plate.in_setup());
    plate.pass(1ms);
    CHECK(plate.in_setup());
  }

  TEST_CASE("in setup a bounce longer than the debounce time steps two channels") {
    PlateBench plate = plate_in_setup();
    plate.down(up);
    plate.pass(15ms);
    plate.up(up);
    plate.pass(30ms);
    plate.down(up);
    plate.pass(200ms);
    plate.up(up);
    CHECK(plate.state.channel == 2);
  }

  TEST_CASE("a plate blips at any telegram, whosever it is") {
    PlateBench plate = plate_in_normal_mode();
    plate.hear({TelegramKind::on, 99, 9, 0, 0});
    CHECK(plate.lamp == Pattern::blip);
    plate.pass(599ms);
    plate.hear({TelegramKind::beacon, 1, 1, 0, 0});
    plate.pass(599ms);
    CHECK(plate.lamp == Pattern::blip);
    plate.pass(1ms);
    CHECK(plate.lamp == Pattern::dark);
    CHECK(plate.sent.empty());
  }

  TEST_CASE("blips fall asleep some time after power-up or the last press, and a press wakes them") {
    PlateBench plate = plate_in_normal_mode();
    plate.pass(30min);
    plate.press(off);
    plate.pass(plate.family.indicator.blips_sleep - 1s);
    plate.hear(of(TelegramKind::on));
    CHECK(plate.lamp == Pattern::blip);
    plate.pass(1s);
    CHECK(plate.last_told(Told::blips_awake) == PlateBench::Said{Told::blips_awake, 0, 0});
    CHECK(plate.lamp == Pattern::dark);
    plate.hear(of(TelegramKind::on));
    CHECK(plate.lamp == Pattern::dark);
    CHECK(plate.times_told(Told::blip_unshown) == 1);
    plate.down(off);
    CHECK(plate.last_told(Told::blips_awake) == PlateBench::Said{Told::blips_awake, 1, 0});
    plate.hear(of(TelegramKind::on));
    CHECK(plate.lamp == Pattern::blip);
  }

  TEST_CASE("a plate shows refuse before blink before blip before dark, in every combination") {
    for (int flags = 0; flags < 8; ++flags) {
      PlateState state;
      state.refusing = (flags & 1) != 0;
      state.mode = (flags & 2) != 0 ? Mode::setup : Mode::normal;
      state.blipping = (flags & 4) != 0;
      Pattern expected = Pattern::dark;
      if (state.blipping != 0) expected = Pattern::blip;
      if (state.mode == Mode::setup) expected = Pattern::blink;
      if (state.refusing != 0) expected = Pattern::refuse;
      CAPTURE(flags);
      CHECK(shown_pattern(test_family().plate, state) == expected);
    }
  }

  TEST_CASE("a power cut leaves a plate in normal mode with nothing but its switches") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.cut_power();
    plate.power_on();
    CHECK_FALSE(plate.in_setup());
    CHECK(plate.state.channel == 0);
    CHECK(plate.state.site == 23);
    CHECK(plate.state.zone == 4);
    CHECK(plate.lamp == Pattern::dark);
    plate.take_sent();
    plate.pass(10min);
    CHECK(plate.sent.empty());
  }

  TEST_CASE("power-up forgets everything but the switches, whatever the state was") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.press(down);
    plate.down(off);
    plate.power_on();
    PlateState fresh;
    fresh.site = 23;
    fresh.zone = 4;
    fresh.awake = 1;
    CHECK(plate.state == fresh);
  }

  TEST_CASE("every telegram carries the switches as they stand when it is sent") {
    PlateBench plate = plate_in_setup();
    plate.press(up);
    plate.take_sent();
    plate.state.site = 7;
    plate.state.zone = 2;
    plate.press(accept);
    CHECK(plate.take_sent() == Sent{{TelegramKind::assign, 7, 2, 1, 0}});
  }

  TEST_CASE(
      "all buttons of a plate with as many as can be, pressed at once in setup, do not overflow the "
      "effects") {
    Family family = test_family();
    family.plate.machine = usual_plate_machine(true);
    family.plate.buttons.resize(max_buttons, "more");
    family.plate.leave = max_buttons - 1;  // the last to be looked at, so that all the others count in setup
    PlateBench plate = plate_in_setup(family);
    Stimulus all;
    all.kind = Stimulus::Kind::contacts;
    all.contacts = 0xffff;
    Effects effects;
    react(plate.family, all, plate.state, effects);  // asserts where there are too many
    CHECK(effects.size() <= Effects::capacity);
    CHECK(std::count_if(effects.begin(), effects.end(), [](const Effect& effect) {
            return effect.kind == Effect::Kind::start_timer &&
                   effect.which == static_cast<std::uint8_t>(Timer::time_out);
          }) == 1);
  }
}
