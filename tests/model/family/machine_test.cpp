// The words of machines, and how rows are laid out.
#include "model/family/machine.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "model/family/machine_words.h"
#include "model/family/telegram.h"
#include "model/family/usual_machine.h"

namespace {

using namespace drybus;
using namespace drybus::model;

TEST_CASE("every word of a machine is found again by its phrase, and means one thing") {
  for (const bool plate : {true, false}) {
    std::set<std::string_view> phrases;
    for (const EventWord& word : event_words()) {
      if (!can_use(word.used_by, plate)) continue;
      CHECK(find_event(word.phrase, plate) == word.event);
      CHECK(to_string(word.event) == word.phrase);
      CHECK(phrases.insert(word.phrase).second);
      CHECK_FALSE(word.means.empty());
    }
    for (const ConditionWord& word : condition_words()) {
      if (!can_use(word.used_by, plate)) continue;
      CHECK(find_guard(word.phrase, plate) == Guard{word.condition, true});
      CHECK(find_guard("not " + std::string{word.phrase}, plate) == Guard{word.condition, false});
    }
    std::set<std::string_view> actions;
    for (const ActionWord& word : action_words()) {
      if (!can_use(word.used_by, plate)) continue;
      CHECK(find_action(word.phrase, plate) == word.action);
      CHECK(to_string(word.action) == word.phrase);
      CHECK(actions.insert(word.phrase).second);
    }
  }
}

TEST_CASE("every verb has a phrase, and a word of a module is none of a plate's") {
  std::set<Verb> said;
  for (const ActionWord& word : action_words()) said.insert(word.action.verb);
  CHECK(said.size() == sim::count_of<Verb>);
  CHECK_FALSE(find_event("button tapped", true).has_value());
  CHECK_FALSE(find_guard("lit", true).has_value());
  CHECK_FALSE(find_action("store address", true).has_value());
  CHECK_FALSE(find_action("step up", false).has_value());
}

TEST_CASE("a reaction finds the rows of its state and those of any, in the order of the file") {
  Machine machine;
  machine.states = {{"normal", Mode::normal, Pattern::dark, {}, {}, 0},
                    {"setup", Mode::setup, Pattern::blink, {}, {}, 0},
                    {"offered", Mode::setup, Pattern::steady, {}, {}, 0}};
  machine.rows = {{0, Event::press, {}, {}, 1, 0},
                  {any_state, Event::press, {}, {}, same_state, 0},
                  {2, Event::press, {}, {}, 0, 0},
                  {2, Event::tap, {}, {}, 0, 0}};
  machine.compile();
  const auto rows = [&](StateIndex state, Event event) {
    std::vector<int> found;
    for (const Machine::Compiled& row : machine.candidates(state, event)) found.push_back(row.row);
    return found;
  };
  CHECK(rows(0, Event::press) == std::vector{0, 1});
  CHECK(rows(1, Event::press) == std::vector{1});
  CHECK(rows(2, Event::press) == std::vector{1, 2});
  CHECK(rows(2, Event::tap) == std::vector{3});
  CHECK(rows(1, Event::tap).empty());
  CHECK(machine.state_of(Mode::setup, 1) == 2);
  CHECK(machine.stage_of(2) == 1);
  CHECK(machine.stage_of(1) == 0);
}

TEST_CASE("a row reads aloud") {
  const Machine machine = usual_module_machine();
  const auto wanted = std::find_if(machine.rows.begin(), machine.rows.end(),
                                   [](const MachineRow& row) { return row.on == Event::heard_assign; });
  REQUIRE(wanted != machine.rows.end());
  CHECK(to_string(machine, *wanted) ==
        "if offer whole and other site: store address, store power-up off; to normal");
  CHECK(announces_leaving(usual_plate_machine(true)));
  CHECK_FALSE(announces_leaving(usual_plate_machine(false)));
}

}  // namespace
