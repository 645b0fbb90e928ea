#include "tools/script/machine_reader.h"

#include <algorithm>

#include "model/devices/device.h"
#include "model/family/machine_words.h"
#include "model/words/words.h"
#include "tools/script/keys.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace {

using model::Machine;
using model::MachineRow;
using model::MachineState;

constexpr std::string_view any_word = "any";
constexpr std::size_t most_guards = 4;

/// All phrases of a table that a kind of device can use.
template <class Word>
std::vector<std::string_view> phrases_of(std::span<const Word> words, bool plate) {
  std::vector<std::string_view> phrases;
  for (const Word& word : words) {
    if (can_use(word.used_by, plate)) phrases.push_back(word.phrase);
  }
  return phrases;
}

class MachineReader {
 public:
  MachineReader(const Node& node, bool plate, Complaints& complaints)
      : plate_(plate),
        complaints_(complaints),
        fields_(complaints, node, msg_as("what", "a machine"), keys::machine) {}

  Machine read() {
    const std::size_t before = complaints_.count();
    if (const Node* shows = fields_.need("shows")) read_order(*shows);
    const Node* states = fields_.need("states");
    if (states != nullptr) read_states(*states);
    const Node* rows = fields_.need("rows");
    if (rows != nullptr && !machine_.states.empty()) read_rows(*rows);
    if (complaints_.count() == before) machine_.compile();
    return std::move(machine_);
  }

 private:
  void read_order(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::list, "shows")) return;
    for (const Node* item : node.items) {
      const auto pattern = read_choice(complaints_, *item, msg_as("what", "pattern"), words::patterns());
      if (!pattern) continue;
      const auto shown = static_cast<model::Pattern>(*pattern);
      if (std::find(machine_.order.begin(), machine_.order.end(), shown) != machine_.order.end()) {
        complaints_.add(item->place, tr("'{}' stands here twice", item->text));
      }
      machine_.order.push_back(shown);
    }
  }

  void read_states(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "states")) return;
    if (node.entries.empty()) complaints_.add(node.place, tr("a machine without states"));
    if (node.entries.size() > Machine::most_states) {
      complaints_.add(node.place, tr("more than {} states", Machine::most_states));
      return;
    }
    for (const Node::Entry& entry : node.entries) read_state(*entry.key, *entry.value);
    if (!machine_.states.empty() && machine_.states.front().mode != model::Mode::normal) {
      complaints_.add(node.entries.front().key->place,
                      tr("a device starts in its first state, which is one of normal mode"), "mode: normal");
    }
  }

  void read_state(const Node& key, const Node& value) {
    MachineState state;
    state.name = key.text;
    state.line = key.place.mark.line;
    if (!is_name(key.text) || key.text == any_word) {
      complaints_.add(key.place, tr("'{}' cannot name a state", key.text),
                      tr("letters, digits and underscores, a letter first; not 'any'"));
    }
    const std::string called = tr("state '{}'", key.text);
    const Fields fields{complaints_, value, called, keys::machine_state};
    if (const Node* mode = fields.need("mode")) {
      if (const auto choice = read_choice(complaints_, *mode, msg_as("what", "mode"), words::modes()))
        state.mode = static_cast<model::Mode>(*choice);
    }
    if (const Node* shows = fields.find("shows")) read_shown(*shows, state);
    if (const Node* entry = fields.find("entry")) state.entry = read_actions(*entry);
    if (const Node* exit = fields.find("exit")) state.exit = read_actions(*exit);
    machine_.states.push_back(std::move(state));
  }

  void read_shown(const Node& node, MachineState& state) {
    const auto choice = read_choice(complaints_, node, msg_as("what", "pattern"), words::patterns());
    if (!choice) return;
    state.shows = static_cast<model::Pattern>(*choice);
    const auto& order = machine_.order;
    if (state.shows != model::Pattern::dark &&
        std::find(order.begin(), order.end(), state.shows) == order.end()) {
      complaints_.add(node.place, tr("'{}' does not stand in the machine's 'shows'", node.text),
                      tr("a place among the patterns there"));
    }
  }

  void read_rows(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::list, "rows")) return;
    if (node.items.size() > Machine::most_rows) {
      complaints_.add(node.place, tr("more than {} rows", Machine::most_rows));
      return;
    }
    for (const Node* item : node.items) read_row(*item);
  }

  void read_row(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a row"), keys::machine_row};
    if (node.kind != Node::Kind::map) return;
    MachineRow row;
    row.line = node.place.mark.line;
    if (const Node* in = fields.need("in")) row.in = read_state_name(*in, true);
    if (const Node* on = fields.need("on")) {
      if (const auto event = read_phrase(
              *on, plate_ ? msg_as("what", "event of a plate") : msg_as("what", "event of a module"),
              model::event_words(), model::find_event))
        row.on = *event;
    }
    if (const Node* when = fields.find("when")) {
      row.when = read_phrases<model::Guard>(
          *when, plate_ ? msg_as("what", "condition of a plate") : msg_as("what", "condition of a module"),
          model::condition_words(), model::find_guard);
      if (row.when.size() > most_guards)
        complaints_.add(when->place, tr("more than {} conditions", most_guards));
    }
    if (const Node* does = fields.find("do")) row.does = read_actions(*does);
    if (const Node* to = fields.find("to")) row.to = read_state_name(*to, false);
    machine_.rows.push_back(std::move(row));
  }

  model::StateIndex read_state_name(const Node& node, bool any_allowed) {
    const auto text = read_text(complaints_, node);
    if (!text || (any_allowed && *text == any_word)) return model::any_state;
    if (const auto state = machine_.find_state(*text)) return *state;
    std::vector<std::string> names;
    for (const MachineState& state : machine_.states) names.push_back(state.name);
    if (any_allowed) names.emplace_back(any_word);
    complain_of_unknown(complaints_, node.place, msg_as("what", "state"), *text,
                        std::span<const std::string>{names});
    return model::any_state;
  }

  std::vector<model::Action> read_actions(const Node& node) {
    auto actions = read_phrases<model::Action>(
        node, plate_ ? msg_as("what", "action of a plate") : msg_as("what", "action of a module"),
        model::action_words(), model::find_action);
    if (actions.size() > Machine::most_actions) {
      complaints_.add(node.place, tr("more than {} actions", Machine::most_actions));
    }
    return actions;
  }

  /// One phrase, or a list of them.
  template <class Value, class Word>
  std::vector<Value> read_phrases(const Node& node, std::string_view what, std::span<const Word> words,
                                  std::optional<Value> (*find)(std::string_view, bool)) {
    std::vector<Value> values;
    const auto take = [&](const Node& phrase) {
      if (const auto value = read_phrase(phrase, what, words, find)) values.push_back(*value);
    };
    if (node.kind == Node::Kind::list) {
      for (const Node* item : node.items) take(*item);
    } else {
      take(node);
    }
    return values;
  }

  template <class Value, class Word>
  std::optional<Value> read_phrase(const Node& node, std::string_view what, std::span<const Word> words,
                                   std::optional<Value> (*find)(std::string_view, bool)) {
    const auto text = read_text(complaints_, node);
    if (!text) return std::nullopt;
    const auto value = find(*text, plate_);
    if (!value) {
      const std::vector<std::string_view> phrases = phrases_of(words, plate_);
      complain_of_unknown(complaints_, node.place, what, *text, phrases);
    }
    return value;
  }

  bool plate_;
  Complaints& complaints_;
  Fields fields_;
  Machine machine_;
};

}  // namespace

Machine read_machine(const Node& node, bool plate, Complaints& complaints) {
  return MachineReader{node, plate, complaints}.read();
}

}  // namespace drybus::tools
