#include "model/suite/coverage.h"

#include <algorithm>
#include <functional>

#include "model/devices/take_row.h"

#include "model/family/usual_machine.h"

namespace drybus::model {

namespace {

using Kind = Stimulus::Kind;
using Plate = Transition<PlateState>;
using Module = Transition<ModuleState>;

// --- what happened ---

template <class State>
bool is_kind(const Transition<State>& t, Kind kind) {
  return t.stimulus != nullptr && t.stimulus->kind == kind;
}
template <class State>
bool is_due(const Transition<State>& t, Timer timer) {
  return is_kind(t, Kind::timer) && t.stimulus->timer == timer;
}
template <class State>
bool is_heard(const Transition<State>& t, TelegramKind kind) {
  return is_kind(t, Kind::telegram) && t.stimulus->telegram.kind == kind;
}
template <class State>
bool is_power_cut(const Transition<State>& t) {
  return t.stimulus == nullptr;
}
template <class State>
bool enters(const Transition<State>& t) {
  return t.before.mode == Mode::normal && t.after.mode == Mode::setup;
}
template <class State>
bool leaves(const Transition<State>& t) {
  return t.before.mode == Mode::setup && t.after.mode == Mode::normal;
}
template <class State>
bool stays_in(const Transition<State>& t, Mode mode) {
  return t.before.mode == mode && t.after.mode == mode;
}

// --- what came of it ---

template <class State>
bool has(const Transition<State>& t, Effect::Kind kind, std::uint8_t which) {
  return std::any_of(t.effects.begin(), t.effects.end(),
                     [&](const Effect& e) { return e.kind == kind && e.which == which; });
}
template <class State>
bool starts(const Transition<State>& t, Timer timer) {
  return has(t, Effect::Kind::start_timer, static_cast<std::uint8_t>(timer));
}
template <class State>
bool tells(const Transition<State>& t, Told told) {
  return has(t, Effect::Kind::tell, static_cast<std::uint8_t>(told));
}
template <class State>
bool fades(const Transition<State>& t) {
  return has(t, Effect::Kind::fade, 0);
}
bool sends(const Plate& t, TelegramKind kind) {
  return std::any_of(t.effects.begin(), t.effects.end(), [&](const Effect& e) {
    return e.kind == Effect::Kind::send && e.telegram.kind == kind;
  });
}
bool refuses(const Plate& t, Refusal why) {
  return std::any_of(t.effects.begin(), t.effects.end(), [&](const Effect& e) {
    return e.kind == Effect::Kind::tell && e.which == static_cast<std::uint8_t>(Told::refused) &&
           e.value == static_cast<std::uint16_t>(why);
  });
}

// --- plates ---

bool is_press(const Plate& t) {
  return (t.after.down & ~t.before.down) != 0;
}
bool is_release(const Plate& t) {
  return (t.before.down & ~t.after.down) != 0;
}

bool is_press_of(const Plate& t, Button button) {
  return stays_in(t, Mode::setup) && button != no_button &&
         (t.after.down & ~t.before.down & only(button)) != 0;
}
template <TelegramKind kind>
bool sent_at_press(const Plate& t) {
  return stays_in(t, Mode::normal) && is_press(t) && sends(t, kind);
}
template <TelegramKind kind>
bool sent_at_release(const Plate& t) {
  return stays_in(t, Mode::normal) && is_release(t) && sends(t, kind);
}
template <TelegramKind kind>
bool sent_when_held(const Plate& t) {
  return stays_in(t, Mode::normal) && is_due(t, Timer::hold) && sends(t, kind);
}

bool waits(const Family& f, std::size_t button) {
  return f.plate.hold[button].command != Command::nothing ||
         (f.plate.setup_gesture & only(static_cast<Button>(button))) != 0;
}
template <Command command, bool at_release>
bool is_bound(const Family& f) {
  for (std::size_t button = 0; button < f.plate.buttons.size(); ++button) {
    if (f.plate.press[button].command == command && waits(f, button) == at_release) return true;
  }
  return false;
}
template <Command command>
bool is_held(const Family& f) {
  return std::any_of(f.plate.hold.begin(), f.plate.hold.end(),
                     [](const Binding& binding) { return binding.command == command; });
}
template <CountedFrom from>
bool plate_counts(const Family& f) {
  return f.plate.time_out.from == from;
}
template <CountedFrom from>
bool module_counts(const Family& f) {
  return f.module.time_out.from == from;
}
bool announces(const Family& f) {
  return announces_leaving(f.plate.machine);
}
bool is_silent(const Family& f) {
  return !announces_leaving(f.plate.machine);
}

/// No plate of ours sends it: a foreign device or a wrong firmware would have to.
bool never(const Family&) {
  return false;
}

template <class State>
bool bounces(const Transition<State>& t) {
  return is_kind(t, Kind::contacts) && t.before.settling != 0;
}

// --- modules ---

bool is_own(const Module& t) {
  return is_kind(t, Kind::telegram) &&
         obeys(t.before.memory, t.stimulus->telegram.site, t.stimulus->telegram.zone);
}
bool is_for_itself(const Module& t) {
  const Telegram& heard = t.stimulus->telegram;
  return t.before.memory.addressed() &&
         t.before.memory.address == Address{heard.site, heard.zone, heard.channel};
}
template <TelegramKind kind>
bool obeyed(const Module& t) {
  return is_heard(t, kind) && is_own(t);
}
bool has_scene(const Module& t) {
  const std::uint8_t scene = t.stimulus->telegram.argument;
  return scene >= 1 && scene <= t.family.module.scenes &&
         t.before.memory.scenes[scene - 1u] != no_scene_level;
}
template <PowerUp mode>
bool powers_up(const Module& t) {
  return is_kind(t, Kind::power_on) && t.before.memory.power_up == mode;
}
bool is_press(const Module& t) {
  return t.before.down == 0 && t.after.down != 0;
}
bool is_release(const Module& t) {
  return t.before.down != 0 && t.after.down == 0 && !is_power_cut(t);
}
bool is_offer(const Module& t) {
  return t.stimulus->telegram.channel != 0 && t.stimulus->telegram.zone != 0;
}
bool changes_site(const Module& t) {
  return t.after.writing.address.site != t.before.memory.address.site;
}

/// Blips are the same on both.
template <class State, std::size_t count>
constexpr void add_common(std::array<Edge<State>, count>& edges, std::size_t at) {
  using T = Transition<State>;
  edges[at++] = {"any", "telegram heard, blips awake", "same", "blip",
                 [](const T& t) { return is_kind(t, Kind::telegram) && starts(t, Timer::blip); }};
  edges[at++] = {"any", "telegram heard, blips asleep", "same", "no blip",
                 [](const T& t) { return is_kind(t, Kind::telegram) && tells(t, Told::blip_unshown); }};
  edges[at++] = {"any", "blip over", "same", "", [](const T& t) { return is_due(t, Timer::blip); }};
  edges[at++] = {"any", "no press for the sleep time", "same", "blips sleep",
                 [](const T& t) { return is_due(t, Timer::sleep); }};
  edges[at++] = {"any", "press, blips asleep", "same", "blips wake",
                 [](const T& t) { return is_press(t) && t.before.awake == 0 && t.after.awake != 0; }};
  edges[at++] = {"any", "press, blips awake", "same", "their sleep time starts again",
                 [](const T& t) { return is_press(t) && t.before.awake != 0 && starts(t, Timer::sleep); }};
  edges[at++] = {"any", "contact moves while it settles", "same", "nothing", bounces<State>};
  edges[at++] = {"any", "contact has settled", "same", "",
                 [](const T& t) { return is_due(t, Timer::debounce); }};
}
constexpr std::size_t common_edges = 8;

// clang-format off
constexpr std::array own_plate_edges = {
    // Modes.
    Edge<PlateState>{"normal", "gesture held", "setup", "channel 0, a beacon", [](const Plate& t) { return enters(t) && is_due(t, Timer::hold) && sends(t, TelegramKind::beacon); }},
    Edge<PlateState>{"setup", "leave pressed", "normal", "", [](const Plate& t) { return leaves(t) && (is_kind(t, Kind::contacts) || is_due(t, Timer::debounce)); }},
    Edge<PlateState>{"setup", "time-out", "normal", "", [](const Plate& t) { return leaves(t) && is_due(t, Timer::time_out); }},
    Edge<PlateState>{"setup", "power cut", "normal", "", [](const Plate& t) { return leaves(t) && is_power_cut(t); }},
    Edge<PlateState>{"normal", "power cut", "normal", "", [](const Plate& t) { return is_power_cut(t) && t.before.mode == Mode::normal; }},
    Edge<PlateState>{"normal", "power on", "normal", "blips awake", [](const Plate& t) { return is_kind(t, Kind::power_on); }},
    Edge<PlateState>{"setup", "left, where it is announced", "normal", "left", [](const Plate& t) { return leaves(t) && sends(t, TelegramKind::left); }, announces},
    Edge<PlateState>{"setup", "left, where it is not announced", "normal", "nothing is sent", [](const Plate& t) { return leaves(t) && !is_power_cut(t) && !sends(t, TelegramKind::left); }, is_silent},
    // Setup.
    Edge<PlateState>{"setup", "beacon due", "setup", "beacon", [](const Plate& t) { return is_due(t, Timer::beacon) && sends(t, TelegramKind::beacon); }},
    Edge<PlateState>{"setup", "next", "setup", "channel up, identify", [](const Plate& t) { return is_press_of(t, t.family.plate.next) && t.after.channel > t.before.channel; }},
    Edge<PlateState>{"setup", "next at the last channel", "setup", "refuse", [](const Plate& t) { return is_press_of(t, t.family.plate.next) && refuses(t, Refusal::no_such_channel); }},
    Edge<PlateState>{"setup", "previous", "setup", "channel down, identify", [](const Plate& t) { return is_press_of(t, t.family.plate.previous) && t.after.channel < t.before.channel && t.after.channel != 0; }},
    Edge<PlateState>{"setup", "previous to channel 0", "setup", "channel 0, nothing is sent", [](const Plate& t) { return is_press_of(t, t.family.plate.previous) && t.before.channel == 1 && t.after.channel == 0; }},
    Edge<PlateState>{"setup", "previous at channel 0", "setup", "refuse", [](const Plate& t) { return is_press_of(t, t.family.plate.previous) && refuses(t, Refusal::no_such_channel); }},
    Edge<PlateState>{"setup", "identify", "setup", "identify", [](const Plate& t) { return is_press_of(t, t.family.plate.identify) && sends(t, TelegramKind::identify); }},
    Edge<PlateState>{"setup", "identify at channel 0", "setup", "refuse", [](const Plate& t) { return is_press_of(t, t.family.plate.identify) && refuses(t, Refusal::channel_zero); }},
    Edge<PlateState>{"setup", "assign", "setup", "assign", [](const Plate& t) { return is_press_of(t, t.family.plate.assign) && sends(t, TelegramKind::assign); }},
    Edge<PlateState>{"setup", "assign at channel 0", "setup", "refuse", [](const Plate& t) { return is_press_of(t, t.family.plate.assign) && refuses(t, Refusal::channel_zero); }},
    Edge<PlateState>{"setup", "assign in zone 0", "setup", "refuse", [](const Plate& t) { return is_press_of(t, t.family.plate.assign) && refuses(t, Refusal::zone_zero); }},
    Edge<PlateState>{"setup", "a button without a meaning", "setup", "nothing", [](const Plate& t) {
      const PlateFamily& p = t.family.plate;
      const auto known = static_cast<Buttons>((p.next != no_button ? only(p.next) : 0) | (p.previous != no_button ? only(p.previous) : 0) | (p.identify != no_button ? only(p.identify) : 0) | (p.assign != no_button ? only(p.assign) : 0) | (p.leave != no_button ? only(p.leave) : 0));
      return stays_in(t, Mode::setup) && (t.after.down & ~t.before.down & ~known) != 0; }},
    Edge<PlateState>{"setup", "press, time-out counted from the last", "setup", "the time-out starts again", [](const Plate& t) { return stays_in(t, Mode::setup) && is_press(t) && starts(t, Timer::time_out); }, plate_counts<CountedFrom::last_press>},
    Edge<PlateState>{"setup", "press, time-out counted from entry", "setup", "the time-out goes on", [](const Plate& t) { return stays_in(t, Mode::setup) && is_press(t) && !starts(t, Timer::time_out); }, plate_counts<CountedFrom::entry>},
    Edge<PlateState>{"any", "refusal over", "same", "", [](const Plate& t) { return is_due(t, Timer::refuse); }},
    // Normal mode.
    Edge<PlateState>{"normal", "press bound to on, acts at once", "normal", "on", sent_at_press<TelegramKind::on>, is_bound<Command::on, false>},
    Edge<PlateState>{"normal", "press bound to off, acts at once", "normal", "off", sent_at_press<TelegramKind::off>, is_bound<Command::off, false>},
    Edge<PlateState>{"normal", "press bound to recall, acts at once", "normal", "recall", sent_at_press<TelegramKind::recall>, is_bound<Command::recall, false>},
    Edge<PlateState>{"normal", "press bound to store, acts at once", "normal", "store", sent_at_press<TelegramKind::store>, is_bound<Command::store, false>},
    Edge<PlateState>{"normal", "press bound to raise, acts at once", "normal", "raise", sent_at_press<TelegramKind::raise>, is_bound<Command::raise, false>},
    Edge<PlateState>{"normal", "press bound to lower, acts at once", "normal", "lower", sent_at_press<TelegramKind::lower>, is_bound<Command::lower, false>},
    Edge<PlateState>{"normal", "press bound to on, acts at release", "normal", "on", sent_at_release<TelegramKind::on>, is_bound<Command::on, true>},
    Edge<PlateState>{"normal", "press bound to off, acts at release", "normal", "off", sent_at_release<TelegramKind::off>, is_bound<Command::off, true>},
    Edge<PlateState>{"normal", "press bound to recall, acts at release", "normal", "recall", sent_at_release<TelegramKind::recall>, is_bound<Command::recall, true>},
    Edge<PlateState>{"normal", "press bound to store, acts at release", "normal", "store", sent_at_release<TelegramKind::store>, is_bound<Command::store, true>},
    Edge<PlateState>{"normal", "hold bound to on", "normal", "on", sent_when_held<TelegramKind::on>, is_held<Command::on>},
    Edge<PlateState>{"normal", "hold bound to off", "normal", "off", sent_when_held<TelegramKind::off>, is_held<Command::off>},
    Edge<PlateState>{"normal", "hold bound to recall", "normal", "recall", sent_when_held<TelegramKind::recall>, is_held<Command::recall>},
    Edge<PlateState>{"normal", "hold bound to store", "normal", "store", sent_when_held<TelegramKind::store>, is_held<Command::store>},
    Edge<PlateState>{"normal", "hold bound to raise", "normal", "raise", sent_when_held<TelegramKind::raise>, is_held<Command::raise>},
    Edge<PlateState>{"normal", "hold bound to lower", "normal", "lower", sent_when_held<TelegramKind::lower>, is_held<Command::lower>},
    Edge<PlateState>{"normal", "release after raise or lower", "normal", "stop", [](const Plate& t) { return is_release(t) && sends(t, TelegramKind::stop); }},
    Edge<PlateState>{"normal", "a second button joins, no gesture", "normal", "nothing", [](const Plate& t) { return stays_in(t, Mode::normal) && is_press(t) && t.before.down != 0 && t.after.down != t.family.plate.setup_gesture; }},
    Edge<PlateState>{"normal", "gesture let go too soon", "normal", "", [](const Plate& t) { return stays_in(t, Mode::normal) && is_release(t) && t.before.down == t.family.plate.setup_gesture && t.before.tracked != no_button && t.before.moving == 0; }},
};

constexpr std::array own_module_edges = {
    // Modes.
    Edge<ModuleState>{"normal", "local button held", "setup", "", [](const Module& t) { return enters(t) && is_due(t, Timer::hold); }},
    Edge<ModuleState>{"setup", "local button pressed", "normal", "", [](const Module& t) { return leaves(t) && is_press(t); }},
    Edge<ModuleState>{"setup", "time-out", "normal", "", [](const Module& t) { return leaves(t) && is_due(t, Timer::time_out); }},
    Edge<ModuleState>{"setup", "assign, site as before", "normal", "a write begins", [](const Module& t) { return leaves(t) && is_heard(t, TelegramKind::assign) && !changes_site(t); }},
    Edge<ModuleState>{"setup", "assign, another site", "normal", "a write begins, power-up mode off", [](const Module& t) { return leaves(t) && is_heard(t, TelegramKind::assign) && changes_site(t) && t.after.writing.power_up == PowerUp::off; }},
    Edge<ModuleState>{"setup", "assign of zone 0 or channel 0", "setup", "nothing", [](const Module& t) { return is_heard(t, TelegramKind::assign) && t.before.mode == Mode::setup && !is_offer(t); }, never},
    Edge<ModuleState>{"normal", "assign", "normal", "ignored", [](const Module& t) { return is_heard(t, TelegramKind::assign) && tells(t, Told::assign_ignored); }},
    Edge<ModuleState>{"setup", "power cut", "normal", "memory is kept", [](const Module& t) { return is_power_cut(t) && t.before.mode == Mode::setup; }},
    Edge<ModuleState>{"normal", "power cut", "normal", "memory is kept", [](const Module& t) { return is_power_cut(t) && t.before.mode == Mode::normal && t.before.storing == 0; }},
    Edge<ModuleState>{"normal", "power cut while it writes", "normal", "as from the factory", [](const Module& t) { return is_power_cut(t) && t.before.storing != 0 && !t.after.memory.addressed(); }},
    Edge<ModuleState>{"normal", "power on, mode off", "normal", "dark", powers_up<PowerUp::off>},
    Edge<ModuleState>{"normal", "power on, mode full", "normal", "full", powers_up<PowerUp::full>},
    Edge<ModuleState>{"normal", "power on, mode last", "normal", "the last level", powers_up<PowerUp::last>},
    Edge<ModuleState>{"setup", "button comes up, time-out counted from the last press", "setup", "the time-out starts again", [](const Module& t) { return stays_in(t, Mode::setup) && is_release(t) && starts(t, Timer::time_out); }, module_counts<CountedFrom::last_press>},
    Edge<ModuleState>{"setup", "button comes up, time-out counted from entry", "setup", "the time-out goes on", [](const Module& t) { return stays_in(t, Mode::setup) && is_release(t) && !starts(t, Timer::time_out); }, module_counts<CountedFrom::entry>},
    // Memory.
    Edge<ModuleState>{"any", "write over", "same", "memory changes", [](const Module& t) { return is_due(t, Timer::store) && tells(t, Told::stored); }},
    Edge<ModuleState>{"any", "write over, power-up mode changed", "same", "it says so", [](const Module& t) { return is_due(t, Timer::store) && tells(t, Told::power_up); }},
    Edge<ModuleState>{"any", "a write begins during another", "same", "both are kept", [](const Module& t) { return t.before.storing != 0 && tells(t, Told::store_begun); }},
    Edge<ModuleState>{"any", "the load is told during a write", "same", "the last level is kept", [](const Module& t) { return t.before.storing != 0 && is_kind(t, Kind::telegram) && fades(t); }},
    // What it obeys.
    Edge<ModuleState>{"any", "on", "same", "a fade to full", obeyed<TelegramKind::on>},
    Edge<ModuleState>{"any", "off", "same", "a fade to nothing", obeyed<TelegramKind::off>},
    Edge<ModuleState>{"any", "recall", "same", "a fade to the scene", [](const Module& t) { return obeyed<TelegramKind::recall>(t) && has_scene(t); }},
    Edge<ModuleState>{"any", "recall of a scene that it has not", "same", "nothing", [](const Module& t) { return obeyed<TelegramKind::recall>(t) && !has_scene(t); }, never},
    Edge<ModuleState>{"any", "store", "same", "a write begins", [](const Module& t) { return obeyed<TelegramKind::store>(t) && tells(t, Told::store_begun); }},
    Edge<ModuleState>{"any", "raise", "same", "up at an even pace", obeyed<TelegramKind::raise>},
    Edge<ModuleState>{"any", "lower", "same", "down at an even pace", obeyed<TelegramKind::lower>},
    Edge<ModuleState>{"any", "stop", "same", "it stays where it is", obeyed<TelegramKind::stop>},
    Edge<ModuleState>{"any", "unaddressed: on, off and the like from its site", "same", "it obeys", [](const Module& t) { return !t.before.memory.addressed() && tells(t, Told::obeyed); }},
    Edge<ModuleState>{"setup", "on, off and the like", "setup", "it obeys", [](const Module& t) { return stays_in(t, Mode::setup) && tells(t, Told::obeyed); }},
    Edge<ModuleState>{"any", "another zone's telegram", "same", "nothing but a blip", [](const Module& t) { return is_kind(t, Kind::telegram) && t.before.memory.addressed() && t.stimulus->telegram.site == t.before.memory.address.site && t.stimulus->telegram.zone != t.before.memory.address.zone && !is_heard(t, TelegramKind::assign); }},
    Edge<ModuleState>{"any", "another site's telegram", "same", "nothing but a blip", [](const Module& t) { return is_kind(t, Kind::telegram) && t.stimulus->telegram.site != t.before.memory.address.site && !is_heard(t, TelegramKind::assign); }},
    // Showing itself.
    Edge<ModuleState>{"any", "identify, load lit", "same", "steady, flashes dark", [](const Module& t) { return is_heard(t, TelegramKind::identify) && is_for_itself(t) && t.before.target > full_level / 2; }},
    Edge<ModuleState>{"any", "identify, load dark", "same", "steady, flashes full", [](const Module& t) { return is_heard(t, TelegramKind::identify) && is_for_itself(t) && t.before.target <= full_level / 2; }},
    Edge<ModuleState>{"any", "identify of another", "same", "nothing but a blip", [](const Module& t) { return is_heard(t, TelegramKind::identify) && t.before.memory.addressed() && !is_for_itself(t); }},
    Edge<ModuleState>{"any", "identify while unaddressed", "same", "nothing but a blip", [](const Module& t) { return is_heard(t, TelegramKind::identify) && !t.before.memory.addressed(); }},
    Edge<ModuleState>{"any", "identified again while steady", "same", "steady starts again", [](const Module& t) { return t.before.steady != 0 && starts(t, Timer::steady); }},
    Edge<ModuleState>{"any", "steady over", "same", "", [](const Module& t) { return is_due(t, Timer::steady); }},
    Edge<ModuleState>{"any", "flash over", "same", "the load returns", [](const Module& t) { return is_due(t, Timer::flash); }},
    Edge<ModuleState>{"any", "told a level during the flash", "same", "the flash ends", [](const Module& t) { return t.before.flashing != 0 && t.after.flashing == 0 && is_kind(t, Kind::telegram); }},
    Edge<ModuleState>{"any", "beacon of its plate", "same", "breathe", [](const Module& t) { return obeyed<TelegramKind::beacon>(t) && t.before.breathing == 0; }},
    Edge<ModuleState>{"any", "beacon while it breathes", "same", "breathe starts again", [](const Module& t) { return obeyed<TelegramKind::beacon>(t) && t.before.breathing != 0; }},
    Edge<ModuleState>{"any", "beacon of another plate", "same", "nothing but a blip", [](const Module& t) { return is_heard(t, TelegramKind::beacon) && !is_own(t); }},
    Edge<ModuleState>{"any", "no beacon for the time", "same", "it breathes no longer", [](const Module& t) { return is_due(t, Timer::breathe); }},
    Edge<ModuleState>{"any", "its plate has left", "same", "it breathes no longer", [](const Module& t) { return obeyed<TelegramKind::left>(t) && t.before.breathing != 0; }, announces},
    Edge<ModuleState>{"any", "another plate has left", "same", "nothing but a blip", [](const Module& t) { return is_heard(t, TelegramKind::left) && !is_own(t); }, announces},
    // The local button.
    Edge<ModuleState>{"normal", "local press, load lit", "normal", "a fade to nothing", [](const Module& t) { return is_release(t) && fades(t) && t.before.target > 0; }},
    Edge<ModuleState>{"normal", "local press, load dark", "normal", "a fade to full", [](const Module& t) { return is_release(t) && fades(t) && t.before.target == 0; }},
    Edge<ModuleState>{"normal", "button comes up, its press has acted", "normal", "nothing", [](const Module& t) { return stays_in(t, Mode::normal) && is_release(t) && !fades(t); }},
};
// clang-format on

template <class State, std::size_t count>
constexpr std::array<Edge<State>, count + common_edges> with_common(
    const std::array<Edge<State>, count>& own) {
  std::array<Edge<State>, count + common_edges> all{};
  std::copy(own.begin(), own.end(), all.begin());
  add_common(all, count);
  return all;
}

constexpr auto all_plate_edges = with_common(own_plate_edges);
constexpr auto all_module_edges = with_common(own_module_edges);

constexpr std::array all_plate_states = {
    VisibleState{Mode::normal, Pattern::dark},   VisibleState{Mode::normal, Pattern::blip},
    VisibleState{Mode::normal, Pattern::refuse}, VisibleState{Mode::setup, Pattern::blink},
    VisibleState{Mode::setup, Pattern::refuse},
};
constexpr std::array all_module_states = {
    VisibleState{Mode::normal, Pattern::dark},    VisibleState{Mode::normal, Pattern::blip},
    VisibleState{Mode::normal, Pattern::breathe}, VisibleState{Mode::normal, Pattern::steady},
    VisibleState{Mode::setup, Pattern::blink},    VisibleState{Mode::setup, Pattern::steady},
};

consteval bool every_pattern_is_somewhere() {
  const auto is_in = [](const auto& states, Pattern pattern) {
    return std::any_of(states.begin(), states.end(),
                       [pattern](const VisibleState& state) { return state.shown == pattern; });
  };
  for (const Pattern pattern : sim::all_of<Pattern>()) {
    if (!is_in(all_plate_states, pattern) && !is_in(all_module_states, pattern)) return false;
  }
  return true;
}
static_assert(every_pattern_is_somewhere(), "in which mode does who show it?");

constexpr std::array all_plate_timers = {Timer::debounce, Timer::hold, Timer::time_out, Timer::beacon,
                                         Timer::refuse,   Timer::blip, Timer::sleep};
constexpr std::array all_module_timers = {Timer::debounce, Timer::hold,    Timer::time_out,
                                          Timer::steady,   Timer::breathe, Timer::blip,
                                          Timer::sleep,    Timer::flash,   Timer::store};

template <class State>
void count(Visits& visits, std::span<const Edge<State>> edges, std::span<const VisibleState> states,
           std::span<const Timer> timers, const Transition<State>& transition) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (edges[i].taken(transition)) ++visits.edges[i];
  }
  for (std::size_t i = 0; i < states.size(); ++i) {
    if (states[i].mode == transition.after.mode && states[i].shown == transition.after.shown)
      ++visits.states[i];
  }
  for (std::size_t i = 0; i < timers.size(); ++i) {
    if (is_due(transition, timers[i])) ++visits.timers[i];
  }
}

void add_up(std::vector<std::uint64_t>& sum, const std::vector<std::uint64_t>& other) {
  std::transform(sum.begin(), sum.end(), other.begin(), sum.begin(), std::plus<>{});
}

void add_up(Visits& sum, const Visits& other) {
  add_up(sum.edges, other.edges);
  add_up(sum.states, other.states);
  add_up(sum.timers, other.timers);
  for (std::size_t i = 0; i < sum.possible.size(); ++i)
    sum.possible[i] = sum.possible[i] || other.possible[i];
}

template <class State>
void take_possible(Visits& visits, std::span<const Edge<State>> edges, const Family& family) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (edges[i].possible == nullptr || edges[i].possible(family)) visits.possible[i] = true;
  }
}

Visits no_visits(std::size_t edges, std::size_t states, std::size_t timers) {
  return {std::vector<std::uint64_t>(edges), std::vector<std::uint64_t>(states),
          std::vector<std::uint64_t>(timers), std::vector<bool>(edges)};
}

}  // namespace

std::span<const Edge<PlateState>> plate_edges() {
  return all_plate_edges;
}
std::span<const Edge<ModuleState>> module_edges() {
  return all_module_edges;
}
std::span<const VisibleState> plate_states() {
  return all_plate_states;
}
std::span<const VisibleState> module_states() {
  return all_module_states;
}
std::span<const Timer> plate_timers() {
  return all_plate_timers;
}
std::span<const Timer> module_timers() {
  return all_module_timers;
}

Coverage::Coverage()
    : plates_(no_visits(all_plate_edges.size(), all_plate_states.size(), all_plate_timers.size())),
      modules_(no_visits(all_module_edges.size(), all_module_states.size(), all_module_timers.size())) {}

void Coverage::take_family(const Family& family) {
  rows_.try_emplace(family.name,
                    RowVisits{family.plate.machine, family.module.machine,
                              std::vector<std::uint64_t>(family.plate.machine.rows.size()),
                              std::vector<std::uint64_t>(family.module.machine.rows.size())});
  take_possible(plates_, plate_edges(), family);
  take_possible(modules_, module_edges(), family);
}

void Coverage::plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) {
  const PlateState before = state;
  RowsTaken taken;
  react(turn.family(), stimulus, state, effects, &taken);
  if (const auto visits = rows_.find(turn.family().name); visits != rows_.end()) {
    for (const std::uint16_t row : taken) ++visits->second.plate[row];
  }
  count(plates_, plate_edges(), plate_states(), plate_timers(),
        {turn.family(), &stimulus, before, state, effects});
}

void Coverage::module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
                      Effects& effects) {
  const ModuleState before = state;
  RowsTaken taken;
  react(turn.family(), stimulus, state, effects, &taken);
  if (const auto visits = rows_.find(turn.family().name); visits != rows_.end()) {
    for (const std::uint16_t row : taken) ++visits->second.module[row];
  }
  count(modules_, module_edges(), module_states(), module_timers(),
        {turn.family(), &stimulus, before, state, effects});
}

void Coverage::plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState& left) {
  const Effects none;
  count(plates_, plate_edges(), plate_states(), plate_timers(), {turn.family(), nullptr, before, left, none});
}

void Coverage::module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) {
  const Effects none;
  count(modules_, module_edges(), module_states(), module_timers(),
        {turn.family(), nullptr, before, left, none});
}

void Coverage::add(const Coverage& other) {
  add_up(plates_, other.plates_);
  add_up(modules_, other.modules_);
  for (const auto& [name, visits] : other.rows_) {
    const auto [mine, fresh] = rows_.try_emplace(name, visits);
    if (fresh) continue;
    add_up(mine->second.plate, visits.plate);
    add_up(mine->second.module, visits.module);
  }
}

}  // namespace drybus::model
