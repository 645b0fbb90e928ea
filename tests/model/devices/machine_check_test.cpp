// What is wrong with a machine, or doubtful, is told with its place; the usual machines are neither.
#include "model/devices/machine_check.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <functional>

#include "model/family/machine_words.h"
#include "model/family/usual_machine.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus::model;
using drybus::tests::test_family;

struct Planted {
  const char* what;
  std::function<void(Family&)> plant;
  const char* told;  ///< how the one remark begins
  bool wrong = false;
};

MachineRow row(StateIndex in, Event on, std::vector<Guard> when, std::vector<Action> does, StateIndex to = same_state) {
  return {in, on, std::move(when), std::move(does), to, 77};
}
Action action(std::string_view phrase, bool plate) {
  return find_action(phrase, plate).value();
}
void add_state(Machine& machine, std::string name, Mode mode) {
  machine.states.push_back({std::move(name), mode, Pattern::dark, {}, {}, 66});
}
template <class Drop>
void drop_rows(Machine& machine, Drop drop) {
  std::erase_if(machine.rows, drop);
}

std::vector<MachineRemark> remarks_after(const std::function<void(Family&)>& plant) {
  Family family = test_family();
  plant(family);
  family.plate.machine.compile();
  family.module.machine.compile();
  return remarks_on(family);
}

TEST_CASE("the usual machines are neither wrong nor doubtful") {
  CHECK(remarks_after([](Family&) {}).empty());
  CHECK(remarks_after([](Family& f) { f.plate.machine = usual_plate_machine(true); }).empty());
}

TEST_CASE("each planted mistake in a machine is told, and nothing else") {
  const Planted all[] = {
      {"a state that nothing reaches", [](Family& f) {
         add_state(f.module.machine, "lonely", Mode::normal);
         f.module.machine.rows.push_back(row(2, Event::press, {}, {}, 0));
       }, "state 'lonely': nothing leads there"},
      {"a state that nothing leaves", [](Family& f) {
         add_state(f.module.machine, "trap", Mode::normal);
         f.module.machine.rows.push_back(row(0, Event::press, {}, {}, 2));
       }, "state 'trap': nothing but a power cut leads out of it"},
      {"setup without a time-out", [](Family& f) {
         drop_rows(f.plate.machine, [](const MachineRow& r) { return r.on == Event::time_out; });
         f.plate.machine.states[1].entry = {action("start at channel 0", true), action("send beacon", true), action("start beacon", true)};
       }, "state 'setup': setup that never ends by itself"},
      {"two rows for one event", [](Family& f) {
         f.plate.machine.rows.push_back(row(1, Event::leave, {}, {}, 0));
       }, "'leave pressed': never taken"},
      {"a guard that never holds", [](Family& f) {
         auto& rows = f.module.machine.rows;
         rows.insert(rows.begin(), row(0, Event::tap, {{Condition::lit, true}, {Condition::lit, false}}, {}));
       }, "'button tapped': its conditions never hold together"},
      {"guards that exclude each other", [](Family& f) {
         auto& rows = f.module.machine.rows;
         rows.insert(rows.begin(), row(any_state, Event::power_on, {{Condition::power_up_off, true}, {Condition::power_up_last, true}}, {}));
       }, "'power on': its conditions never hold together"},
      {"a timer nobody starts", [](Family& f) {
         f.module.machine.rows.push_back(row(1, Event::ask, {}, {}));
       }, "'ask due': nobody starts that time"},
      {"a timer whose end means nothing", [](Family& f) {
         drop_rows(f.plate.machine, [](const MachineRow& r) { return r.on == Event::beacon; });
         f.plate.machine.states[1].entry = {action("start at channel 0", true), action("start time-out", true), action("send beacon", true), action("start beacon", true)};
       }, "'beacon' is started, but no row says what comes when it is over"},
      {"a pattern that never shows", [](Family& f) { f.module.machine.order.push_back(Pattern::refuse); },
       "'refuse' stands in 'shows', but nothing ever shows it"},
      {"a pattern without a place", [](Family& f) { std::erase(f.module.machine.order, Pattern::breathe); },
       "'breathe': that pattern has no place in 'shows'"},
      {"a telegram nobody hears", [](Family& f) {
         f.module.machine.rows.push_back(row(0, Event::press, {}, {action("send ask", false)}));
       }, "'send ask': no plate of this family has a row for it"},
      {"a use without a button", [](Family& f) { f.plate.leave = no_button; }, "'leave pressed': no button does that in setup"},
      {"a button without a row", [](Family& f) {
         drop_rows(f.plate.machine, [](const MachineRow& r) { return r.on == Event::identify; });
       }, "button 'set' has a use in setup, but no row says what"},
      {"no setup at all", [](Family& f) {
         f.module.machine.states[1].mode = Mode::normal;
       }, "there is no setup: no state has that mode"},
      {"a time that is not said", [](Family& f) {
         f.module.machine.rows.push_back(row(1, Event::press, {{Condition::lit, true}}, {action("start confirm", false)}));
         f.module.machine.rows.push_back(row(1, Event::confirm, {}, {}, 0));
       }, "'start confirm': how long that takes is not said", true},
      {"a count that is not said", [](Family& f) {
         auto& rows = f.module.machine.rows;
         rows.insert(rows.begin(), row(0, Event::power_on, {{Condition::counted_enough, true}}, {action("count supply", false)}));
         rows.push_back(row(0, Event::count, {}, {}));
       }, "the supply is counted, but nothing says how often it has to come on", true},
      {"too much at once", [](Family& f) {
         const std::vector<Action> many(8, action("fade to full", false));
         f.module.machine.rows.push_back(row(0, Event::count, {}, many));
       }, "'count over': more is done here at once than a device can do", true},
  };
  for (const Planted& planted : all) {
    CAPTURE(planted.what);
    const auto remarks = remarks_after(planted.plant);
    const auto told = std::find_if(remarks.begin(), remarks.end(), [&](const MachineRemark& remark) {
      return remark.text.starts_with(planted.told);
    });
    for (const MachineRemark& remark : remarks) CAPTURE(remark.text);
    REQUIRE(told != remarks.end());
    CHECK(told->wrong == planted.wrong);
  }
}

TEST_CASE("a thousand states and thousands of rows are looked through without ado") {
  Family family = test_family();
  Machine& machine = family.module.machine;
  while (machine.states.size() < Machine::most_states) add_state(machine, "s" + std::to_string(machine.states.size()), Mode::normal);
  while (machine.rows.size() < Machine::most_rows) {
    const auto at = static_cast<StateIndex>(machine.rows.size() % Machine::most_states);
    machine.rows.push_back(row(at, Event::press, {}, {}, static_cast<StateIndex>((at + 1u) % Machine::most_states)));
  }
  machine.compile();
  CHECK(remarks_on(family).size() > 3000);  // most rows are hidden by others
}

}  // namespace
