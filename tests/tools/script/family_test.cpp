// The two shipped families, and what a family file may not say.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <fstream>
#include <map>

#include "model/family/usual_machine.h"
#include "tests/support/printing.h"
#include "tools/script/reader.h"

namespace {

using namespace drybus;
using namespace drybus::tools;
using namespace std::chrono_literals;
using model::Command;
using model::CountedFrom;

model::Family shipped(const std::string& name) {
  auto reading = read_family(DRYBUS_SOURCE_DIR "/scenarios/families/" + name + ".yaml");
  if (!reading.ok()) FAIL(to_text(reading.problems()));
  return reading.value().family;
}

std::string binding_said(const model::Binding& binding) {
  return fmt::format("{} {}", static_cast<int>(binding.command), binding.scene);
}

/// Every value of a family by its name.
std::map<std::string, std::string> values(const model::Family& f) {
  std::map<std::string, std::string> all;
  const auto add = [&](const std::string& name, const auto& value) { all[name] = fmt::format("{}", value); };
  const auto add_time = [&](const std::string& name, sim::Duration value) { add(name, value.count()); };
  const model::PlateFamily& p = f.plate;
  add("name", f.name);
  add("buttons", fmt::format("{}", fmt::join(p.buttons, " ")));
  add("bank kind", static_cast<int>(p.site_switches.kind));
  add("site switches", p.site_switches.largest());
  add("zone switches", p.zone_switches.largest());
  add("setup gesture", p.setup_gesture);
  add_time("plate setup hold", p.setup_hold);
  const auto button = [&](model::Button b) { return p.buttons.at(b); };
  add("next", button(p.next));
  add("previous", button(p.previous));
  add("identify", button(p.identify));
  add("assign", button(p.assign));
  add("leave", button(p.leave));
  for (std::size_t i = 0; i < p.buttons.size(); ++i) {
    add(fmt::format("normal {}", i),
        p.buttons[i] + ": " + binding_said(p.press[i]) + " / " + binding_said(p.hold[i]));
  }
  add_time("long press", p.long_press);
  add_time("plate time-out", p.time_out.after);
  add("plate time-out from", static_cast<int>(p.time_out.from));
  add("announces leaving", model::announces_leaving(p.machine));
  add_time("beacon", p.beacon);
  add("channels", p.channels);
  const model::ModuleFamily& m = f.module;
  add("module button", m.button);
  add_time("module setup hold", m.setup_hold);
  add_time("module time-out", m.time_out.after);
  add("module time-out from", static_cast<int>(m.time_out.from));
  add_time("store", m.store);
  add_time("flash", m.flash);
  add_time("fade", m.fade);
  add_time("full range", m.full_range);
  add("scenes", m.scenes);
  add("factory site", m.factory_site);
  add("factory power-up", static_cast<int>(m.factory_power_up));
  add_time("identify time", f.indicator.identify);
  add_time("refuse time", f.indicator.refuse);
  add_time("breathe time", f.indicator.breathe);
  add_time("blip time", f.indicator.blip);
  add_time("blips sleep", f.indicator.blips_sleep);
  add_time("debounce", f.debounce);
  add_time("stuck after", f.stuck_after);
  add("medium", static_cast<int>(f.medium));
  add("bit rate", f.bus.bit_rate);
  add("bits per byte", f.bus.bits_per_byte);
  add("overhead bits", f.bus.overhead_bits);
  add_time("sense delay", f.bus.sense_delay);
  add_time("gap", f.bus.gap);
  add_time("back-off slot", f.bus.backoff_slot);
  add("doublings", f.bus.doublings);
  add("attempts", f.bus.attempts);
  add("outbox", f.bus.outbox_limit);
  add("link budget", f.link_budget_db);
  add("carrier", f.carrier_mhz);
  return all;
}

TEST_CASE("the two families differ in every binding, time and number") {
  const auto wired = values(shipped("wired-keypad"));
  const auto radio = values(shipped("radio-keypad"));
  for (const auto& value : wired) {
    CAPTURE(value.first);
    if (!radio.contains(value.first)) continue;  // the seventh button
    CHECK(radio.at(value.first) != value.second);
  }
  CHECK(wired.size() >= radio.size());
}

TEST_CASE("the wired family is as it is described") {
  const model::Family f = shipped("wired-keypad");
  CHECK(f.name == "wired-keypad");
  CHECK(f.plate.buttons == std::vector<std::string>{"set", "up", "down", "accept", "off", "one", "two"});
  CHECK(f.plate.site_switches.largest() == 63);
  CHECK(f.plate.zone_switches.largest() == 15);
  CHECK(f.plate.setup_gesture == model::only(0));
  CHECK(f.plate.setup_hold == 2500ms);
  CHECK(f.plate.hold[1].command == Command::raise);
  CHECK(f.plate.press[5].command == Command::recall);
  CHECK(f.plate.press[5].scene == 1);
  CHECK(f.plate.hold[6].command == Command::store);
  CHECK(f.plate.hold[6].scene == 2);
  CHECK(f.plate.press[0].command == Command::nothing);
  CHECK(f.plate.time_out.after == 240s);
  CHECK(f.plate.time_out.from == CountedFrom::last_press);
  CHECK(f.module.time_out.from == CountedFrom::entry);
  CHECK(f.bus.bit_rate == 9600);
  // 8N1: ten bits a byte; 1041.67 us at 9600 bit/s.
  CHECK(sim::transmission_time(f.bus.bits_per_byte, f.bus.bit_rate) == 1041667ns);
  CHECK(f.bus.attempts == 16);
}

TEST_CASE("the radio family is as it is described") {
  const model::Family f = shipped("radio-keypad");
  CHECK(f.plate.setup_gesture == (model::only(2) | model::only(5)));
  CHECK(f.plate.site_switches.kind == model::SwitchBank::Kind::rotary);
  CHECK(f.plate.site_switches.largest() == 99);
  CHECK(f.plate.zone_switches.largest() == 9);
  CHECK(model::announces_leaving(f.plate.machine));
  CHECK(f.medium == sim::MediumKind::radio);
  CHECK(f.link_budget_db == 92);
  CHECK(f.carrier_mhz == 868);
  CHECK(f.bus.overhead_bits == 48);
}

TEST_CASE("every shipped family describes itself") {
  CHECK_FALSE(shipped("wired-keypad").about.empty());
  CHECK_FALSE(shipped("radio-keypad").about.empty());
}

TEST_CASE("a family's clocks are quartz where nothing is said, and otherwise as it says") {
  std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml"};
  const std::string text{std::istreambuf_iterator<char>{in}, {}};
  const auto tolerance = [&](const std::string& more) {
    const auto reading = read_family_text(text + more, "clocks.yaml");
    REQUIRE(reading.ok());
    return reading.value().family.clock_tolerance_ppb;
  };
  CHECK(tolerance("") == 50'000);
  CHECK(tolerance("\nclock: {tolerance: 0 ppm}\n") == 0);
  CHECK(tolerance("\nclock: {tolerance: 12.5 ppm}\n") == 12'500);
  CHECK(tolerance("\nclock: {tolerance: 1000 ppm}\n") == 1'000'000);
}

struct Mistake {
  const char* right;
  const char* wrong;
  const char* problem;  ///< message | expected | suggestion
};

TEST_CASE("mistakes in a family are told") {
  std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml"};
  const std::string text{std::istreambuf_iterator<char>{in}, {}};
  const Mistake mistakes[] = {
      {"drybus-family: 1", "drybus-family: 2", "version '2' is not known here | drybus-family: 1 | "},
      {"next: up", "next: upp", "unknown button 'upp' | one of: set, up, down, accept, off, one, two | up"},
      {"next: up", "next: set", "'set' already has a meaning in setup | a button of its own | "},
      {"    hold: set\n", "    hold: sett\n",
       "unknown button 'sett' | one of: set, up, down, accept, off, one, two | set"},
      {"buttons: [set, up,", "buttons: [set, set, up,", "there are two buttons 'set' |  | "},
      {"buttons: [set, up,", "buttons: [set, 2up, up,",
       "'2up' cannot name a button | letters, digits and underscores, a letter first | "},
      {"{binary: 6}", "{binary: 9}", "9 is out of range | a whole number from 1 to 8 | "},
      {"{binary: 6}", "{dials: 3}", "3 is out of range | a whole number from 1 to 2 | "},
      {"{binary: 6}", "{}",
       "a bank of switches has either binary switches or dials | {binary: 6} or {dials: 2} | "},
      {"channels: 12", "channels: 0", "0 is out of range | a whole number from 1 to 255 | "},
      {"long_press: 1s", "long_press: 1",
       "a bare number; add a unit, e.g. 1 s | a time with its unit, such as 200ms, 5 s, "
       "3min or 1h 30min | "},
      {"time_out: 240s\n", "time_out: 1000 h\n", "longer than 744h | "},
      {"long_press: 1s", "", "plate lacks the key 'long_press' |  | "},
      {"press: recall 3", "press: recall 5",
       "'recall 5' names no scene | a scene from 1 to 4, such as recall 1 | "},
      {"press: recall 3", "press: recal 3",
       "unknown command 'recal 3' | one of: nothing, on, off, recall N, store N, raise, lower | recall N"},
      {"{press: on, hold: raise}", "{press: raise, hold: raise}",
       "'raise' on a short press of a button that can also be held | raise and lower under 'hold' | "},
      {"counted_from: entry", "counted_from: start", "unknown moment 'start' | one of: entry, last press | "},
      {"    beacon: 5s\n", "    beacon: 5s\n    announces_leaving: yes\n",
       "'announces_leaving' goes with a family that says nothing of its machine | 'send left' on exit from a "
       "state | "},
      {"factory: {site: 50,", "factory: {site: 64,", "no plate can be set to this site number | 0 to 63 | "},
      {"scenes: 4", "scenes: 9", "9 is out of range | a whole number from 1 to 8 | "},
      {"kind: line", "kind: lime", "unknown kind of bus 'lime' | one of: line, radio | line"},
      {"outbox: 8", "carrier: 868 MHz\n  outbox: 8", "'carrier' has a meaning for radio only |  | "},
      {"bit_rate: 9600 bit/s", "bit_rate: 9600",
       "a bare number; add a unit, e.g. 9600 bit/s | a bit rate, such as 9600 bit/s or 38.4 kbit/s | "},
      {"slot: 2ms", "slot: 2h", "longer than 1h |  | "},
      {"doublings: 6", "doublings: 17", "17 is out of range | a whole number from 0 to 16 | "},
      {"debounce: 20ms", "debounce: 6s",
       "a hold has to be longer than the debounce and shorter than 'stuck_after' |  | "},
      {"contacts:\n", "clock: {tolerance: 2000 ppm}\ncontacts:\n",
       "2000 ppm is out of range | 0 ppm to 1000 ppm | "},
      {"contacts:\n", "clock: {}\ncontacts:\n", "clock lacks the key 'tolerance' |  | "},
      {"    up: {press: on", "    set: {hold: on}\n    up: {press: on",
       "holding 'set' already enters setup; 'normal' gives it another meaning |  | "},
  };
  for (const Mistake& mistake : mistakes) {
    CAPTURE(mistake.wrong);
    std::string spoilt = text;
    const std::size_t at = spoilt.find(mistake.right);
    REQUIRE(at != std::string::npos);
    spoilt.replace(at, std::string_view{mistake.right}.size(), mistake.wrong);
    const auto reading = read_family_text(spoilt, "spoilt.yaml");
    REQUIRE_FALSE(reading.ok());
    const Problem& first = reading.problems()[0];
    const std::string said = fmt::format("{} | {} | {}", first.message, first.expected, first.suggestion);
    CHECK(said.starts_with(mistake.problem));
    CHECK(first.line > 0);
    CHECK(reading.problems().size() == 1);
  }
}

}  // namespace
