#include "model/family/machine_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "model/family/family.h"
#include "model/family/telegram.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

using enum UsedBy;

constexpr std::string_view not_word = "not ";

constexpr std::array<EventWord, sim::count_of<Event>> events = {{
    {Event::power_on, both, msg_as("machine", "power on"), "the supply comes on; a run begins with it"},
    {Event::any_button, both, msg_as("machine", "any button"), "a button goes down, before what it means"},
    {Event::gesture, both, msg_as("machine", "gesture held"), "what enters setup was held for its time"},
    {Event::next, plate, msg_as("machine", "next pressed"),
     "in setup, the button for the next channel goes down"},
    {Event::previous, plate, msg_as("machine", "previous pressed"),
     "in setup, the button for the channel before goes down"},
    {Event::identify, plate, msg_as("machine", "identify pressed"),
     "in setup, the button that repeats an identify goes down"},
    {Event::assign, plate, msg_as("machine", "assign pressed"),
     "in setup, the button that offers the address goes down"},
    {Event::leave, plate, msg_as("machine", "leave pressed"), "in setup, the button that ends it goes down"},
    {Event::command, plate, msg_as("machine", "command given"),
     "in normal mode, a button was pressed or held for what it does there"},
    {Event::press, module, msg_as("machine", "button pressed"), "the local button goes down"},
    {Event::tap, module, msg_as("machine", "button tapped"),
     "the local button comes up, before that was a hold, and nothing was done yet"},
    {Event::time_out, both, msg_as("machine", "time-out"), "setup has lasted for its time"},
    {Event::beacon, plate, msg_as("machine", "beacon due"), "the time between two beacons is over"},
    {Event::ask, module, msg_as("machine", "ask due"), "the time between two questions is over"},
    {Event::confirm, module, msg_as("machine", "confirm over"),
     "the time in which an offer can be confirmed is over"},
    {Event::count, module, msg_as("machine", "count over"), "the supply stayed on for longer than counts"},
    {Event::heard_beacon, both, msg_as("machine", "beacon heard"), "a plate is in setup"},
    {Event::heard_left, both, msg_as("machine", "left heard"), "a plate has left setup"},
    {Event::heard_identify, both, msg_as("machine", "identify heard"), "some module shall show itself"},
    {Event::heard_assign, both, msg_as("machine", "assign heard"), "a plate offers an address"},
    {Event::heard_on, both, msg_as("machine", "on heard"), "on"},
    {Event::heard_off, both, msg_as("machine", "off heard"), "off"},
    {Event::heard_recall, both, msg_as("machine", "recall heard"), "a scene is wanted"},
    {Event::heard_store, both, msg_as("machine", "store heard"), "a scene shall be stored"},
    {Event::heard_raise, both, msg_as("machine", "raise heard"), "up, until stop"},
    {Event::heard_lower, both, msg_as("machine", "lower heard"), "down, until stop"},
    {Event::heard_stop, both, msg_as("machine", "stop heard"), "ends raise and lower"},
    {Event::heard_ask, both, msg_as("machine", "ask heard"), "a module asks for an address"},
    {Event::heard_anything, both, msg_as("machine", "anything heard"),
     "any telegram, after the rows for its kind"},
}};

constexpr std::array<ConditionWord, sim::count_of<Condition>> conditions = {{
    {Condition::at_channel_0, plate, msg_as("machine", "at channel 0"),
     "the channel stands at 0, which cannot be assigned"},
    {Condition::at_channel_1, plate, msg_as("machine", "at channel 1"), "the channel stands at 1"},
    {Condition::at_last_channel, plate, msg_as("machine", "at last channel"),
     "there is no channel after this one"},
    {Condition::zone_0, plate, msg_as("machine", "zone is 0"), "the switches of the zone stand at 0"},
    {Condition::mine, module, msg_as("machine", "mine"),
     "the telegram is for my site and zone; an unaddressed module takes any zone of its site"},
    {Condition::for_me, module, msg_as("machine", "for me"),
     "the telegram has the very address that I store"},
    {Condition::addressed, module, msg_as("machine", "addressed"), "an address is stored"},
    {Condition::offer_whole, module, msg_as("machine", "offer whole"),
     "neither zone nor channel of the telegram is 0"},
    {Condition::other_site, module, msg_as("machine", "other site"),
     "the offer's site number is not the one I store"},
    {Condition::scene_stored, module, msg_as("machine", "scene stored"),
     "a level was stored for the scene that is named"},
    {Condition::scene_fits, module, msg_as("machine", "scene fits"), "I have as many scenes"},
    {Condition::lit, module, msg_as("machine", "lit"),
     "the load is lit, whichever way it is going, or on its way up"},
    {Condition::power_up_off, module, msg_as("machine", "power-up off"), "after a power cut I stay dark"},
    {Condition::power_up_full, module, msg_as("machine", "power-up full"),
     "after a power cut I come on in full"},
    {Condition::power_up_last, module, msg_as("machine", "power-up last"),
     "after a power cut I take up the last level"},
    {Condition::counted_enough, module, msg_as("machine", "counted enough"),
     "with this time the supply has come on as often as enters setup"},
    {Condition::my_group, module, msg_as("machine", "my group"),
     "the telegram is for a group of zones of my site, and mine is one of them"},
    {Condition::my_site, module, msg_as("machine", "my site"), "the telegram is for all of my site"},
}};

constexpr Action to(Verb verb, auto argument) {
  return {verb, static_cast<std::uint8_t>(argument)};
}

constexpr std::array actions = std::to_array<ActionWord>({
    {{Verb::wake},
     both,
     msg_as("machine", "wake blips"),
     "blips are shown for the time until they sleep, from now"},
    {{Verb::blip}, both, msg_as("machine", "blip"), "shows a blip, unless blips sleep"},
    {to(Verb::show, Pattern::steady), module, msg_as("machine", "show steady"),
     "for the time of an identify"},
    {to(Verb::show, Pattern::breathe), module, msg_as("machine", "show breathe"),
     "for the time after a beacon"},
    {to(Verb::stop_showing, Pattern::breathe), module, msg_as("machine", "stop breathe"),
     "the plate has left"},
    {to(Verb::refuse, Refusal::channel_zero), plate, msg_as("machine", "refuse channel 0"),
     "shows refuse; nothing is sent"},
    {to(Verb::refuse, Refusal::zone_zero), plate, msg_as("machine", "refuse zone 0"),
     "shows refuse; nothing is sent"},
    {to(Verb::refuse, Refusal::no_such_channel), plate, msg_as("machine", "refuse missing channel"),
     "shows refuse; nothing is sent"},
    {to(Verb::send, TelegramKind::beacon), plate, msg_as("machine", "send beacon"),
     "tells that the plate is in setup"},
    {to(Verb::send, TelegramKind::left), plate, msg_as("machine", "send left"),
     "tells that the plate has left setup"},
    {to(Verb::send, TelegramKind::identify), plate, msg_as("machine", "send identify"),
     "asks the channel's module to show itself"},
    {to(Verb::send, TelegramKind::assign), plate, msg_as("machine", "send assign"),
     "offers site, zone and channel"},
    {to(Verb::send, TelegramKind::ask), module, msg_as("machine", "send ask"), "asks for an address"},
    {to(Verb::start, Timer::time_out), both, msg_as("machine", "start time-out"),
     "setup's time begins, anew where it runs"},
    {to(Verb::start, Timer::beacon), plate, msg_as("machine", "start beacon"),
     "the time until the next beacon begins"},
    {to(Verb::start, Timer::ask), module, msg_as("machine", "start ask"),
     "the time until the next question begins"},
    {to(Verb::start, Timer::confirm), module, msg_as("machine", "start confirm"),
     "the time in which an offer can be confirmed begins"},
    {to(Verb::stop, Timer::time_out), both, msg_as("machine", "stop time-out"),
     "setup no longer ends by itself"},
    {to(Verb::stop, Timer::beacon), plate, msg_as("machine", "stop beacon"), "no more beacons"},
    {to(Verb::stop, Timer::ask), module, msg_as("machine", "stop ask"), "no more questions"},
    {to(Verb::stop, Timer::confirm), module, msg_as("machine", "stop confirm"), "the offer no longer lapses"},
    {to(Verb::start_at_channel, 0), plate, msg_as("machine", "start at channel 0"),
     "which cannot be assigned"},
    {to(Verb::start_at_channel, 1), plate, msg_as("machine", "start at channel 1"),
     "the first that can be assigned"},
    {{Verb::step_up}, plate, msg_as("machine", "step up"), "the next channel"},
    {{Verb::step_down}, plate, msg_as("machine", "step down"), "the channel before"},
    {{Verb::carry_out}, plate, msg_as("machine", "carry out command"), "sends what the button says"},
    {{Verb::ignore_offer}, module, msg_as("machine", "ignore offer"), "an address went by"},
    {{Verb::keep_offer},
     module,
     msg_as("machine", "keep offer"),
     "remembers the address, without storing it"},
    {{Verb::store_address},
     module,
     msg_as("machine", "store address"),
     "the telegram's, or the offer that was kept; takes the time of a store"},
    {to(Verb::store_power_up, 0), module, msg_as("machine", "store power-up off"),
     "from now on I stay dark after a power cut"},
    {to(Verb::store_power_up, 1), module, msg_as("machine", "store power-up full"),
     "from now on I come on in full after a power cut"},
    {to(Verb::store_power_up, 2), module, msg_as("machine", "store power-up last"),
     "from now on I take up the last level after a power cut"},
    {{Verb::store_scene}, module, msg_as("machine", "store scene"), "the level, for the scene that is named"},
    {{Verb::fade_full}, module, msg_as("machine", "fade to full"), "within the time of a fade"},
    {{Verb::fade_dark}, module, msg_as("machine", "fade to dark"), "within the time of a fade"},
    {{Verb::fade_scene},
     module,
     msg_as("machine", "fade to scene"),
     "the level stored for it, within the time of a fade"},
    {{Verb::raise}, module, msg_as("machine", "raise"), "up at the pace of the full range"},
    {{Verb::lower}, module, msg_as("machine", "lower"), "down at the pace of the full range"},
    {{Verb::halt},
     module,
     msg_as("machine", "halt"),
     "a raise or lower ends, and the load stays where it is"},
    {{Verb::flash}, module, msg_as("machine", "flash load"), "the load shows itself, and is then as it was"},
    {{Verb::light_full}, module, msg_as("machine", "light full"), "at once"},
    {{Verb::light_last}, module, msg_as("machine", "light last level"), "at once"},
    {{Verb::count_up},
     module,
     msg_as("machine", "count supply"),
     "one more time that the supply came on; counted while it is on only briefly"},
    {{Verb::count_afresh}, module, msg_as("machine", "count afresh"), "the supply came on no time yet"},
});
static_assert(static_cast<int>(PowerUp::off) == 0 && static_cast<int>(PowerUp::full) == 1 &&
              static_cast<int>(PowerUp::last) == 2);

template <class Words>
constexpr bool in_order(const Words& words, auto which) {
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (static_cast<std::size_t>(which(words[i])) != i) return false;
  }
  return true;
}
static_assert(in_order(events, [](const EventWord& word) { return word.event; }));
static_assert(in_order(conditions, [](const ConditionWord& word) { return word.condition; }));

template <class Words>
auto find_word(const Words& words, std::string_view phrase, bool plate_asks) {
  return std::find_if(words.begin(), words.end(), [&](const auto& word) {
    return word.phrase == phrase && can_use(word.used_by, plate_asks);
  });
}

}  // namespace

std::span<const EventWord> event_words() {
  return events;
}
std::span<const ConditionWord> condition_words() {
  return conditions;
}
std::span<const ActionWord> action_words() {
  return actions;
}

std::optional<Event> find_event(std::string_view phrase, bool plate) {
  const auto found = find_word(events, phrase, plate);
  return found == events.end() ? std::nullopt : std::optional{found->event};
}

std::optional<Guard> find_guard(std::string_view phrase, bool plate) {
  Guard guard;
  if (phrase.starts_with(not_word)) {
    guard.holds = false;
    phrase.remove_prefix(not_word.size());
  }
  const auto found = find_word(conditions, phrase, plate);
  if (found == conditions.end()) return std::nullopt;
  guard.condition = found->condition;
  return guard;
}

std::optional<Action> find_action(std::string_view phrase, bool plate) {
  const auto found = find_word(actions, phrase, plate);
  return found == actions.end() ? std::nullopt : std::optional{found->action};
}

std::string_view to_string(Event event) {
  return events[static_cast<std::size_t>(event)].phrase;
}

std::string_view to_string(Condition condition) {
  return conditions[static_cast<std::size_t>(condition)].phrase;
}

std::string to_string(const Guard& guard) {
  return std::string{guard.holds ? "" : not_word}.append(to_string(guard.condition));
}

std::string_view to_string(const Action& action) {
  const auto found = std::find_if(actions.begin(), actions.end(),
                                  [&](const ActionWord& word) { return word.action == action; });
  return found == actions.end() ? "?" : found->phrase;
}

std::string to_string(const std::vector<Action>& actions) {
  std::string text;
  for (const Action& action : actions) text.append(text.empty() ? "" : ", ").append(to_string(action));
  return text;
}

std::string spoken(Event event) {
  return std::string{in_words_spoken(to_string(event), "machine")};
}

std::string spoken(const Guard& guard) {
  const std::string condition{in_words_spoken(to_string(guard.condition), "machine")};
  return guard.holds ? condition : tr("not {}", condition);
}

std::string spoken(const std::vector<Action>& actions) {
  std::string text;
  for (const Action& action : actions)
    text.append(text.empty() ? "" : ", ").append(in_words_spoken(to_string(action), "machine"));
  return text;
}

std::string spoken(const std::vector<Guard>& when) {
  std::string text;
  for (const Guard& guard : when) text += text.empty() ? spoken(guard) : tr(" and ") + spoken(guard);
  return text;
}

namespace {

/// What a row does and where it leads.
std::string outcome_text(const Machine& machine, const MachineRow& row) {
  const std::string does = spoken(row.does);
  if (row.to == same_state) return row.does.empty() ? tr_as("machine", "nothing") : does;
  const std::string& state = machine.states[row.to].name;
  if (!row.does.empty()) return tr("{}; to {}", does, state);
  return fmt::format(fmt::runtime(in_words_spoken(msg_as("machine", "to {}"), "machine")), state);
}

}  // namespace

std::string spoken(const Machine& machine, const MachineRow& row) {
  const std::string outcome = outcome_text(machine, row);
  return row.when.empty() ? outcome : tr("if {}: {}", spoken(row.when), outcome);
}

std::string to_string(const Machine& machine, const MachineRow& row) {
  const Speaking english{nullptr};
  return spoken(machine, row);
}

std::string row_text(const Machine& machine, const MachineRow& row) {
  const std::string in = row.in == any_state ? tr_as("machine", "any") : machine.states[row.in].name;
  return fmt::format("{}, {}: {}", in, spoken(row.on), spoken(machine, row));
}

}  // namespace drybus::model
