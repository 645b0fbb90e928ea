// Times, steps and entries as they are told. The words are those of the output, so a change here is a change
// for people.
#include "model/record/describe.h"

#include <doctest/doctest.h>

#include <set>

#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr sim::Instant at(sim::Duration since_the_start) {
  return sim::start_of_run + since_the_start;
}

constexpr DeviceId p1 = 0;
constexpr DeviceId m1 = 1;

sim::Entry entry(What kind, std::uint16_t who, std::uint32_t a = 0, std::uint64_t b = 0) {
  sim::Entry made;
  made.kind = static_cast<std::uint16_t>(kind);
  made.who = who;
  made.a = a;
  made.b = b;
  return made;
}

std::uint64_t packed(TelegramKind kind, std::uint8_t channel = 0) {
  return pack({kind, 23, 4, channel, 0});
}

std::string told(What kind, std::uint16_t who, std::uint32_t a = 0, std::uint64_t b = 0) {
  static const Scenario scenario = [] {
    Scenario made = small_scenario(2);
    made.site.places.push_back({"loft"});
    Script{made}.hold("P1", set, 5s).look("M1", Fact::indicator, "blink");
    return made;
  }();
  return describe(scenario, entry(kind, who, a, b));
}

std::uint32_t lost(DeviceId sender, sim::Loss loss) {
  return sender | static_cast<std::uint32_t>(loss) << 16;
}

constexpr std::uint32_t code(Mode mode) {
  return static_cast<std::uint32_t>(mode);
}
constexpr std::uint64_t code(ModeReason reason) {
  return static_cast<std::uint64_t>(reason);
}

}  // namespace

TEST_SUITE("describe") {
  TEST_CASE("who sent what was lost, and why, come back from one number") {
    for (const sim::NodeId sender : {0U, 1U, 0xfffeU, 0xffffU, 0x10000U, 0xab'cdefU, 0xff'ffffU}) {
      for (const auto why : {sim::Loss::collision, sim::Loss::no_path, sim::Loss::cut_short}) {
        sim::Entry lost;
        lost.a = lost_by(sender, why);
        CHECK(lost_sender(lost) == sender);
        CHECK(why_lost(lost) == why);
      }
    }
    static_assert(lost_by(3, sim::Loss::unpowered) == 3 + 65'536 * 3);
  }

  TEST_CASE("the clock shows minutes, seconds and tenths, and hours where there are any") {
    CHECK(clock_text(at(0ns)) == "0:00.0");
    CHECK(clock_text(at(5200ms)) == "0:05.2");
    CHECK(clock_text(at(59999ms)) == "0:59.9");  // the clock never runs ahead of the run
    CHECK(clock_text(at(1min)) == "1:00.0");
    CHECK(clock_text(at(12min)) == "12:00.0");
    CHECK(clock_text(at(1h - 1ns)) == "59:59.9");
    CHECK(clock_text(at(1h)) == "1:00:00.0");
    CHECK(clock_text(at(1h + 2min + 3400ms)) == "1:02:03.4");
    CHECK(clock_text(at(100h)) == "100:00:00.0");
  }

  TEST_CASE("a duration is told as a person says it") {
    CHECK(duration_text(0ns) == "0 s");
    CHECK(duration_text(1ns) == "0.001 us");
    CHECK(duration_text(200us) == "200 us");
    CHECK(duration_text(1500us) == "1.5 ms");
    CHECK(duration_text(50ms) == "50 ms");
    CHECK(duration_text(999ms) == "999 ms");
    CHECK(duration_text(1s) == "1 s");
    CHECK(duration_text(1500ms) == "1.5 s");
    CHECK(duration_text(5200ms) == "5.2 s");
    CHECK(duration_text(10s) == "10 s");
    CHECK(duration_text(90s) == "90 s");
    CHECK(duration_text(180s) == "180 s");
    CHECK(duration_text(600s) == "600 s");
    CHECK(duration_text(601s) == "601 s");
    CHECK(duration_text(660s) == "11 min");
    CHECK(duration_text(3600s) == "1 h");
    CHECK(duration_text(3601s) == "3601 s");
    CHECK(duration_text(5400s) == "1 h 30 min");
    CHECK(duration_text(7200s) == "2 h");
    CHECK(duration_text(7201s) == "2 h 1 s");
    CHECK(duration_text(2h + 30min + 1500ms) == "2 h 30 min 1.5 s");
    CHECK(duration_text(48h) == "48 h");
    CHECK(duration_text(24h * 31) == "744 h");
  }

  TEST_CASE("no two durations that differ by a whole second are told alike") {
    std::set<std::string> texts;
    for (int s = 0; s <= 3 * 3600; ++s) texts.insert(duration_text(std::chrono::seconds{s}));
    CHECK(texts.size() == 3 * 3600 + 1);
  }

  TEST_CASE("a level is told in percent, to a tenth") {
    CHECK(percent_text(0) == "0 %");
    CHECK(percent_text(1) == "0.1 %");
    CHECK(percent_text(125) == "12.5 %");
    CHECK(percent_text(400) == "40 %");
    CHECK(percent_text(999) == "99.9 %");
    CHECK(percent_text(full_level) == "100 %");
  }

  TEST_CASE("buttons are told with their device, in the order of the plate") {
    const Scenario scenario = small_scenario(1);
    CHECK(buttons_text(scenario.site, p1, only(set)) == "P1 set");
    CHECK(buttons_text(scenario.site, p1, static_cast<Buttons>(only(down) | only(up))) == "P1 up+down");
    CHECK(buttons_text(scenario.site, m1, 1) == "M1 local");
  }

  TEST_CASE("steps are told as they would be said") {
    Scenario scenario = small_scenario(2);
    scenario.site.places.push_back({"loft"});
    Fault fault;
    fault.link = 1;
    fault.device = p1;
    fault.button = up;
    fault.count = 1;
    Script script{scenario};
    script.press("P1", up)
        .hold("P1", set, 5s)
        .press("M2")
        .wait(200s)
        .walk(1)
        .power("M2", false)
        .power("all", true);
    script.switches("P1", 23, 5).look("M1", Fact::indicator, "blink");
    const std::vector<Step>& steps = scenario.people[0].script;
    const auto step = [&](std::size_t index) { return describe(scenario, steps[index]); };
    CHECK(step(0) == "press P1 up");
    CHECK(step(1) == "hold P1 set for 5 s");
    CHECK(step(2) == "press M2 local");
    CHECK(step(3) == "wait 200 s");
    CHECK(step(4) == "walk to loft");
    CHECK(step(5) == "switch M2 off");
    CHECK(step(6) == "switch everything on");
    CHECK(step(7) == "set P1's switches: site 23, zone 5");
    CHECK(step(8) == "look: M1.indicator is blink");
    Step zone_only = steps[7];
    zone_only.site.reset();
    CHECK(describe(scenario, zone_only) == "set P1's switches: zone 5");
    Step bouncing = steps[0];
    bouncing.bounce = 40ms;
    CHECK(describe(scenario, bouncing) == "press P1 up, bouncing for 40 ms");
  }

  TEST_CASE("faults are told as faults, and their end as an end") {
    const Scenario scenario = small_scenario(2);
    const auto fault_told = [&](FaultKind kind, std::uint16_t count = 1, std::uint32_t ppb = 0) {
      Step step;
      step.kind = StepKind::fault;
      step.fault = {kind, 1, ppb, p1, up, count};
      return describe(scenario, step);
    };
    CHECK(fault_told(FaultKind::open) == "fault: M1-M2 opens");
    CHECK(fault_told(FaultKind::shorted) == "fault: M1-M2 is shorted");
    CHECK(fault_told(FaultKind::noisy, 1, 5'000'000) == "fault: M1-M2 is noisy, 5000 bit errors per million");
    CHECK(fault_told(FaultKind::noisy, 1, 500) == "fault: M1-M2 is noisy, 0.5 bit errors per million");
    CHECK(fault_told(FaultKind::mend) == "M1-M2 is mended");
    CHECK(fault_told(FaultKind::stuck) == "fault: P1 up sticks");
    CHECK(fault_told(FaultKind::freed) == "P1 up comes free");
    CHECK(fault_told(FaultKind::deaf) == "fault: P1 misses its next telegram");
    CHECK(fault_told(FaultKind::deaf, 3) == "fault: P1 misses its next 3 telegrams");
  }

  TEST_CASE("checks are told with the device and the fact, findings as a list") {
    const Scenario scenario = small_scenario(1);
    Check check;
    check.fact = Fact::address;
    check.device = m1;
    check.wanted = {"23/4/1"};
    CHECK(describe(scenario, check) == "M1.address is 23/4/1");
    check.fact = Fact::findings;
    check.wanted = {"setup-split", "assign-unheard"};
    CHECK(describe(scenario, check) == "findings are setup-split, assign-unheard");
    check.wanted = {};
    CHECK(describe(scenario, check) == "findings are none");
  }

  TEST_CASE("what people do is told with their name") {
    CHECK(told(What::step, 0, 0) == "installer: hold P1 set for 5 s");
    CHECK(told(What::walked, 0, 0, 1) == "installer set off from hall to loft");
    CHECK(told(What::arrived, 0, 1) == "installer reached loft");
    CHECK(told(What::checked, 0, 0, 1) == "holds: M1.indicator is blink");
    CHECK(told(What::checked, 0, 0, 0) == "does not hold: M1.indicator is blink");
  }

  TEST_CASE("why a device entered or left setup is told with it") {
    CHECK(told(What::mode, p1, code(Mode::setup), code(ModeReason::gesture)) ==
          "P1 entered setup: its button was held long enough");
    CHECK(told(What::mode, m1, code(Mode::normal), code(ModeReason::time_out)) ==
          "M1 left setup: its time-out ran out");
    CHECK(told(What::mode, m1, code(Mode::normal), code(ModeReason::button)) ==
          "M1 left setup: its button was pressed");
    CHECK(told(What::mode, m1, code(Mode::normal), code(ModeReason::assigned)) ==
          "M1 left setup: it took an address");
    CHECK(told(What::mode, m1, code(Mode::normal), code(ModeReason::power)) ==
          "M1 left setup: its power went");
  }

  TEST_CASE("what happens to a button is told in words that no button's name confuses") {
    CHECK(told(What::contact, p1, up, 1) == "P1 up: its contact closed");
    CHECK(told(What::contact, p1, down, 0) == "P1 down: its contact opened");
    CHECK(told(What::stuck, p1, up, 1) == "P1 up stuck");
    CHECK(told(What::stuck, p1, up, 0) == "P1 up came free");
    CHECK(told(What::misread, m1, 1, 1) == "M1 local was pressed as if M1 were in setup");
    CHECK(told(What::misread, m1, 1, 0) == "M1 local was pressed as if M1 were in normal mode");
    CHECK(told(What::gesture, p1) == "P1's setup gesture was held long enough");
    CHECK(told(What::channel, p1, 3) == "P1 stepped to channel 3");
    CHECK(told(What::refused, p1, 0) == "P1 refused: channel 0 cannot be assigned");
    CHECK(told(What::refused, p1, 1) == "P1 refused: zone 0 cannot be assigned");
    CHECK(told(What::refused, p1, 2) == "P1 refused: there is no channel beyond");
  }

  TEST_CASE("telegrams are told in quotes, with who missed them and why") {
    const std::uint64_t assign = packed(TelegramKind::assign, 1);
    CHECK(told(What::queued, p1, 1, assign) == "P1 wanted to send \"assign 23/4/1\"");
    CHECK(told(What::deferred, p1, 1, assign) == "P1 found the bus busy and put off \"assign 23/4/1\"");
    CHECK(told(What::sent, p1, 1, assign) == "P1 began to send \"assign 23/4/1\"");
    CHECK(told(What::sent_whole, p1, 0, assign) == "P1 sent \"assign 23/4/1\"");
    CHECK(told(What::gave_up, p1, 16, assign) == "P1 gave up sending \"assign 23/4/1\"");
    CHECK(told(What::dropped, p1, 0, assign) == "P1 could not send \"assign 23/4/1\"");
    CHECK(told(What::heard, m1, p1, packed(TelegramKind::on)) == "M1 heard \"on 23/4\" from P1");
    CHECK(told(What::lost, m1, lost(p1, sim::Loss::collision), assign) ==
          "M1 missed \"assign 23/4/1\" from P1: it collided with another telegram");
    CHECK(told(What::lost, m1, lost(p1, sim::Loss::noise), assign) ==
          "M1 missed \"assign 23/4/1\" from P1: noise spoilt it");
    CHECK(told(What::lost, m1, lost(p1, sim::Loss::no_path), assign) ==
          "M1 missed \"assign 23/4/1\" from P1: there was no way from one to the other");
    CHECK(told(What::lost, m1, lost(p1, sim::Loss::unpowered), assign) ==
          "M1 missed \"assign 23/4/1\" from P1: its power was off");
    CHECK(told(What::lost, p1, lost(p1, sim::Loss::cut_short), assign) ==
          "P1 could not finish \"assign 23/4/1\": its power went");
    CHECK(told(What::assign_ignored, m1) == "M1 ignored it: it was in normal mode");
  }

  TEST_CASE("memory, loads, indicators and power are told plainly") {
    CHECK(told(What::indicator, m1, static_cast<std::uint32_t>(Pattern::breathe)) ==
          "M1's indicator: breathe");
    CHECK(told(What::level, m1, 250u | 1000u << 16, 700'000'000) ==
          "M1's load goes from 25 % to 100 % in 700 ms");
    CHECK(told(What::level, m1, 1000u, 0) == "M1's load goes from 100 % to 0 %");
    CHECK(told(What::level_reached, m1, 125) == "M1's load is at 12.5 %");
    CHECK(told(What::store_begun, m1) == "M1 began to write its memory");
    CHECK(told(What::stored, m1, 23u | 4u << 8 | 1u << 16, 1) == "M1 stored 23/4/1");
    CHECK(told(What::stored, m1, 23u | 4u << 8 | 1u << 16, 0) == "M1 wrote its memory");
    CHECK(told(What::store_torn, m1) == "M1 lost a write: its memory is as it was before");
    CHECK(told(What::store_torn, m1, 0, 1) == "M1 lost a write: its memory is as from the factory");
    CHECK(told(What::power_up, m1, static_cast<std::uint32_t>(PowerUp::off)) == "M1's power-up mode is off");
    CHECK(told(What::blips, m1, 1) == "M1's blips are awake");
    CHECK(told(What::blips, m1, 0) == "M1's blips fell asleep");
    CHECK(told(What::blip_unshown, m1) == "M1 heard a telegram and did not blip: its blips are asleep");
    CHECK(told(What::power, m1, 0) == "M1's power went");
    CHECK(told(What::power, m1, 1) == "M1's power came back");
    CHECK(told(What::switches, p1, 23, 5) == "P1's switches were set to site 23, zone 5");
    CHECK(told(What::timer, m1, static_cast<std::uint32_t>(Timer::time_out)) ==
          "M1's time-out timer ran out");
    CHECK(told(What::obeyed, m1) == "M1 obeyed");
    CHECK(told(What::deaf, m1, 1) == "M1 will miss 1 telegram");
    CHECK(told(What::deaf, m1, 2) == "M1 will miss 2 telegrams");
    CHECK(told(What::began, 0) == "the run began");
    CHECK(stored_address(entry(What::stored, m1, 23u | 4u << 8 | 1u << 16)) == Address{23, 4, 1});
  }

  TEST_CASE("links are told by their ends") {
    const auto link = [](sim::LinkState state) {
      return told(What::link, p1, 1, static_cast<std::uint64_t>(state));
    };
    CHECK(link(sim::LinkState::sound) == "link M1-M2 is sound");
    CHECK(link(sim::LinkState::open) == "link M1-M2 is open");
    CHECK(link(sim::LinkState::shorted) == "link M1-M2 is shorted");
    CHECK(link(sim::LinkState::noisy) == "link M1-M2 is noisy");
  }

  TEST_CASE("every kind of entry has a name and words of its own") {
    std::set<std::string_view> names;
    for (auto kind = static_cast<std::uint16_t>(What::began);
         kind <= static_cast<std::uint16_t>(What::said); ++kind) {
      names.insert(to_string(static_cast<What>(kind)));
      CAPTURE(kind);
      CHECK_FALSE(told(static_cast<What>(kind), 0).empty());
    }
    CHECK(names.size() == static_cast<std::size_t>(What::said));
  }

  TEST_CASE("the step behind an entry is found through its causes") {
    sim::Record record;
    const auto add = [&](What kind, sim::EntryId cause) {
      sim::Entry made = entry(kind, 0);
      made.cause = cause;
      return record.add(made);
    };
    const sim::EntryId began = add(What::began, sim::no_entry);
    const sim::EntryId step = add(What::step, began);
    const sim::EntryId contact = add(What::contact, step);
    const sim::EntryId timer = add(What::timer, contact);
    const sim::EntryId other = add(What::mode, began);
    CHECK(step_behind(record, timer) == step);
    CHECK(step_behind(record, step) == step);
    CHECK(step_behind(record, other) == sim::no_entry);
    CHECK(step_behind(record, sim::no_entry) == sim::no_entry);
  }
}
