// The words that a family file has for a machine's events, conditions and actions. The tables in machine_words.cpp are the
// one place that says what a row can name, for which kind of device, and what it means; reader, schema and read-back ask it.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/family/machine.h"

namespace drybus::model {

/// Which kind of device can use a word.
enum class UsedBy : std::uint8_t { plate = 1, module = 2, both = 3 };
constexpr bool can_use(UsedBy word, bool plate) {
  return (static_cast<unsigned>(word) & (plate ? 1U : 2U)) != 0;
}

struct EventWord {
  Event event{};
  UsedBy used_by{};
  std::string_view phrase;
  std::string_view means;
};
struct ConditionWord {
  Condition condition{};
  UsedBy used_by{};
  std::string_view phrase;
  std::string_view means;
};
struct ActionWord {
  Action action{};
  UsedBy used_by{};
  std::string_view phrase;
  std::string_view means;
};

/// In the order of their enumerators.
std::span<const EventWord> event_words();
std::span<const ConditionWord> condition_words();
/// Each verb with each thing that it can be done to.
std::span<const ActionWord> action_words();

std::optional<Event> find_event(std::string_view phrase, bool plate);
/// "lit" or "not lit".
std::optional<Guard> find_guard(std::string_view phrase, bool plate);
std::optional<Action> find_action(std::string_view phrase, bool plate);

std::string_view to_string(Event event);
std::string_view to_string(Condition condition);
std::string to_string(const Guard& guard);
std::string_view to_string(const Action& action);
/// "step up, send identify"; empty for none.
std::string to_string(const std::vector<Action>& actions);
/// "if offer whole and not other site: store address; to normal": what a row waits for is not in it.
std::string to_string(const Machine& machine, const MachineRow& row);

// To people, in the words that this thread speaks:
std::string spoken(Event event);
std::string spoken(const Guard& guard);
/// "offer whole and not other site"
std::string spoken(const std::vector<Guard>& when);
/// "step up, send identify"; empty for none.
std::string spoken(const std::vector<Action>& actions);
std::string spoken(const Machine& machine, const MachineRow& row);
/// "any, left heard: if mine: stop breathe"
std::string row_text(const Machine& machine, const MachineRow& row);

}  // namespace drybus::model
