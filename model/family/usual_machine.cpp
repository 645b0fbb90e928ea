#include "model/family/usual_machine.h"

#include <algorithm>
#include <cassert>
#include <initializer_list>

#include "model/family/machine_words.h"
#include "model/family/telegram.h"

namespace drybus::model {

namespace {

using Phrases = std::initializer_list<std::string_view>;

struct TextRow {
  std::string_view in;  ///< empty: any state
  std::string_view on;
  Phrases when;
  Phrases does;
  std::string_view to;  ///< empty: the same state
};

/// A machine from texts of ours, all of which are right.
class MachineText {
 public:
  MachineText(Machine& machine, bool plate) : machine_(machine), plate_(plate) {}

  void state(std::string_view name, Mode mode, Pattern shows, Phrases entry, Phrases exit) {
    machine_.states.push_back({std::string{name}, mode, shows, actions(entry), actions(exit), 0});
  }

  void row(const TextRow& text) {
    MachineRow row;
    row.in = text.in.empty() ? any_state : machine_.find_state(text.in).value();
    row.on = find_event(text.on, plate_).value();
    for (const std::string_view phrase : text.when) row.when.push_back(find_guard(phrase, plate_).value());
    row.does = actions(text.does);
    row.to = text.to.empty() ? same_state : machine_.find_state(text.to).value();
    machine_.rows.push_back(std::move(row));
  }

 private:
  [[nodiscard]] std::vector<Action> actions(Phrases phrases) const {
    std::vector<Action> all;
    for (const std::string_view phrase : phrases) all.push_back(find_action(phrase, plate_).value());
    return all;
  }

  Machine& machine_;
  bool plate_;
};

constexpr Action send_left{Verb::send, static_cast<std::uint8_t>(TelegramKind::left)};

// clang-format off
const std::initializer_list<TextRow> plate_rows = {
    // in       on                  when                  does                            to
    {"",       "power on",         {},                   {"wake blips"},                 ""},
    {"",       "any button",       {},                   {"wake blips"},                 ""},
    {"",       "anything heard",   {},                   {"blip"},                       ""},
    {"normal", "command given",    {},                   {"carry out command"},          ""},
    {"normal", "gesture held",     {},                   {},                             "setup"},
    {"setup",  "beacon due",       {},                   {"send beacon", "start beacon"}, ""},
    {"setup",  "next pressed",     {"at last channel"},  {"refuse missing channel"},     ""},
    {"setup",  "next pressed",     {},                   {"step up", "send identify"},   ""},
    {"setup",  "previous pressed", {"at channel 0"},     {"refuse missing channel"},     ""},
    {"setup",  "previous pressed", {"at channel 1"},     {"step down"},                  ""},
    {"setup",  "previous pressed", {},                   {"step down", "send identify"}, ""},
    {"setup",  "identify pressed", {"at channel 0"},     {"refuse channel 0"},           ""},
    {"setup",  "identify pressed", {},                   {"send identify"},              ""},
    {"setup",  "assign pressed",   {"at channel 0"},     {"refuse channel 0"},           ""},
    {"setup",  "assign pressed",   {"zone is 0"},        {"refuse zone 0"},              ""},
    {"setup",  "assign pressed",   {},                   {"send assign"},                ""},
    {"setup",  "leave pressed",    {},                   {},                             "normal"},
    {"setup",  "time-out",         {},                   {},                             "normal"},
};

const std::initializer_list<TextRow> module_rows = {
    // in       on                when                           does                                   to
    {"",       "power on",       {"power-up off"},              {"wake blips"},                        ""},
    {"",       "power on",       {"power-up full"},             {"wake blips", "light full"},          ""},
    {"",       "power on",       {"power-up last"},             {"wake blips", "light last level"},    ""},
    {"",       "any button",     {},                            {"wake blips"},                        ""},
    {"normal", "gesture held",   {},                            {},                                    "setup"},
    {"setup",  "button pressed", {},                            {},                                    "normal"},
    {"setup",  "time-out",       {},                            {},                                    "normal"},
    {"",       "button tapped",  {"lit"},                       {"fade to dark"},                      ""},
    {"",       "button tapped",  {},                            {"fade to full"},                      ""},
    {"setup",  "assign heard",   {"offer whole", "other site"}, {"store address", "store power-up off"}, "normal"},
    {"setup",  "assign heard",   {"offer whole"},               {"store address"},                     "normal"},
    {"normal", "assign heard",   {},                            {"ignore offer"},                      ""},
    {"",       "identify heard", {"for me"},                    {"show steady", "flash load"},         ""},
    {"",       "beacon heard",   {"mine"},                      {"show breathe"},                      ""},
    {"",       "left heard",     {"mine"},                      {"stop breathe"},                      ""},
    {"",       "on heard",       {"mine"},                      {"fade to full"},                      ""},
    {"",       "off heard",      {"mine"},                      {"fade to dark"},                      ""},
    {"",       "recall heard",   {"mine", "scene stored"},      {"fade to scene"},                     ""},
    {"",       "store heard",    {"mine", "scene fits"},        {"store scene"},                       ""},
    {"",       "raise heard",    {"mine"},                      {"raise"},                             ""},
    {"",       "lower heard",    {"mine"},                      {"lower"},                             ""},
    {"",       "stop heard",     {"mine"},                      {"halt"},                              ""},
    {"",       "anything heard", {},                            {"blip"},                              ""},
};
// clang-format on

}  // namespace

Machine usual_plate_machine(bool announces) {
  Machine machine;
  machine.order = {Pattern::refuse, Pattern::blink, Pattern::blip};
  MachineText text{machine, true};
  text.state("normal", Mode::normal, Pattern::dark, {}, {});
  text.state("setup", Mode::setup, Pattern::blink,
             {"start at channel 0", "start time-out", "send beacon", "start beacon"}, {"stop time-out", "stop beacon"});
  if (announces) machine.states.back().exit.push_back(send_left);
  for (const TextRow& row : plate_rows) text.row(row);
  machine.compile();
  return machine;
}

Machine usual_module_machine() {
  Machine machine;
  machine.order = {Pattern::steady, Pattern::blink, Pattern::breathe, Pattern::blip};
  MachineText text{machine, false};
  text.state("normal", Mode::normal, Pattern::dark, {}, {});
  text.state("setup", Mode::setup, Pattern::blink, {"start time-out"}, {"stop time-out"});
  for (const TextRow& row : module_rows) text.row(row);
  machine.compile();
  return machine;
}

bool announces_leaving(const Machine& machine) {
  return std::any_of(machine.states.begin(), machine.states.end(), [](const MachineState& state) {
    return std::find(state.exit.begin(), state.exit.end(), send_left) != state.exit.end();
  });
}

}  // namespace drybus::model
