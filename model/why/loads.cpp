#include "model/why/loads.h"

#include <fmt/format.h>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// A scene of a scene of a scene: further back nobody follows.
constexpr int deepest = 8;

Telegram telegram_of(const sim::Entry& heard) {
  return unpack(heard.b);
}

bool is_timer(const sim::Entry& entry, Timer timer) {
  return what(entry) == What::timer && static_cast<Timer>(entry.a) == timer;
}

}  // namespace

void Loads::level(DeviceId module, sim::EntryId before) {
  const sim::EntryId id = level_set(module, before);
  id == sim::no_entry ? came_on(module, before) : set_by(module, id);
  missing_.level_kept(module, id);
}

/// The entry that last gave the load a level: not the flash of an identification that is over, nor a fade that was let run
/// to its end; but one that a telegram ended on its way.
sim::EntryId Loads::level_set(DeviceId module, sim::EntryId before) const {
  const sim::EntryId id = history_.last(before, [&](const sim::Entry& entry) {
    if (entry.who != module) return false;
    if (what(entry) == What::level) return true;
    return what(entry) == What::level_reached && entry.cause != sim::no_entry &&
           what(history_[entry.cause]) == What::heard;
  });
  if (id == sim::no_entry || history_[id].cause == sim::no_entry) return id;
  if (!is_timer(history_[history_[id].cause], Timer::flash)) return id;
  return level_set(module, history_.last(What::level, module, id));
}

void Loads::set_by(DeviceId module, sim::EntryId id) {
  const sim::EntryId cause = history_[id].cause;
  if (cause == sim::no_entry || ++depth_ > deepest) return;
  const What kind = what(history_[cause]);
  if (kind == What::began) return came_on(module, id);
  if (kind == What::power) return by_power(module, cause);
  if (kind == What::heard) return by_telegram(module, cause);
  const std::string& name = history_.site().name(module);
  happened_.step(id, tr("{}'s local button was pressed", name),
                 tr("{} button was pressed at {}{}", happened_.whose(module), clock_text(history_[id].at),
                    history_.in_brackets(id)));
}

void Loads::by_telegram(DeviceId module, sim::EntryId heard) {
  happened_.heard(heard);
  const Telegram telegram = telegram_of(history_[heard]);
  switch (telegram.kind) {
    case TelegramKind::recall:
      happened_.deeper();
      scene(module, telegram.argument, heard);
      break;
    case TelegramKind::raise:
    case TelegramKind::lower:
      stopped_too_late(module, heard);
      moved(module, heard);
      break;
    case TelegramKind::stop:
      moved(module, heard);
      break;
    case TelegramKind::beacon:
    case TelegramKind::left:
    case TelegramKind::identify:
    case TelegramKind::assign:
    case TelegramKind::on:
    case TelegramKind::off:
    case TelegramKind::store:
    case TelegramKind::ask:
      break;
  }
  happened_.address(module, heard);
}

/// From where it was moved, or what was stopped.
void Loads::moved(DeviceId module, sim::EntryId heard) {
  const sim::EntryId earlier = level_set(module, heard);
  happened_.deeper();
  earlier == sim::no_entry ? came_on(module, heard) : set_by(module, earlier);
}

/// A raise or lower that nothing stopped: its stop was lost, or never left the plate.
void Loads::stopped_too_late(DeviceId module, sim::EntryId heard) {
  const auto sender = static_cast<DeviceId>(history_[heard].a);
  for (sim::EntryId id = heard + 1; id < history_.end(); ++id) {
    const sim::Entry& entry = history_[id];
    const What kind = what(entry);
    const bool lost =
        kind == What::lost && (entry.who == module || entry.who == sender) && lost_sender(entry) == sender;
    const bool unsent = (kind == What::gave_up || kind == What::dropped) && entry.who == sender;
    if (kind == What::heard && entry.who == module && telegram_of(entry).kind == TelegramKind::stop) return;
    if ((!lost && !unsent) || telegram_of(entry).kind != TelegramKind::stop) continue;
    if (unsent) return happened_.not_sent(id);
    entry.who == module ? happened_.lost(id) : happened_.loss(id);
    return;
  }
}

// --- what was stored ---

void Loads::scene(DeviceId module, std::uint8_t number, sim::EntryId before) {
  const sim::EntryId written = history_.last(before, [&](const sim::Entry& entry) {
    if (entry.who != module) return false;
    if (lost_memory(entry)) return true;
    if (what(entry) != What::store_begun || entry.cause == sim::no_entry) return false;
    const sim::Entry& cause = history_[entry.cause];
    return what(cause) == What::heard && telegram_of(cause).kind == TelegramKind::store &&
           telegram_of(cause).argument == number;
  });
  if (written == sim::no_entry) return scene_at_start(module, number);
  if (lost_memory(history_[written])) return happened_.torn(written);
  happened_.heard(history_[written].cause);
  moved(module, history_[written].cause);
}

void Loads::by_power(DeviceId module, sim::EntryId power) {
  const std::string& name = history_.site().name(module);
  const bool on = history_[power].a != 0;
  const std::string whose = happened_.whose(module);
  const std::string when = clock_text(history_[power].at);
  const std::string brackets = history_.in_brackets(power);
  happened_.step(power, on ? tr("{}'s power came back", name) : tr("{}'s power went", name),
                 on ? tr("{} power came back at {}{}", whose, when, brackets)
                    : tr("{} power went at {}{}", whose, when, brackets));
  if (on) came_on(module, power);
}

void Loads::came_on(DeviceId module, sim::EntryId before) {
  happened_.power_up(module, before);
  kept(module, before);
}

/// The level that a power-up mode of last brings back.
void Loads::kept(DeviceId module, sim::EntryId before) {
  if (happened_.power_up_held(module, before) != PowerUp::last) return;
  const sim::EntryId off = history_.last(before, [&](const sim::Entry& entry) {
    return what(entry) == What::power && entry.who == module && entry.a == 0;
  });
  if (off == sim::no_entry) return last_level_at_start(module);
  const sim::EntryId earlier = level_set(module, off);
  happened_.deeper();
  if (earlier != sim::no_entry && was_on_its_way(earlier, off)) by_power(module, off);
  earlier == sim::no_entry ? came_on(module, off) : set_by(module, earlier);
}

/// What was set had not come to its end by then: so the moment is a cause, too.
bool Loads::was_on_its_way(sim::EntryId set, sim::EntryId then) const {
  const sim::Entry& entry = history_[set];
  return what(entry) == What::level &&
         entry.at + sim::Duration{static_cast<std::int64_t>(entry.b)} > history_[then].at;
}

// --- as the run began ---

void Loads::last_level_at_start(DeviceId module) {
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  ModuleMemory other = was;
  other.last_level = was.last_level == 0 ? full_level : Level{0};
  const std::string level = percent_text(was.last_level);
  happened_.add({0,
                 sim::start_of_run,
                 tr("{}'s last level was {} when the run began", history_.site().name(module), level),
                 tr("{} last level was {} when the run began", happened_.whose(module), level),
                 std::nullopt,
                 {{{change::Memory{module, other}},
                   tr("had its last level been {}", percent_text(other.last_level))}}});
}

void Loads::scene_at_start(DeviceId module, std::uint8_t number) {
  if (number == 0 || number > max_scenes) return;
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  const Level level = was.scenes[number - 1u];
  if (level == no_scene_level) return;
  ModuleMemory other = was;
  other.scenes[number - 1u] = level == 0 ? full_level : Level{0};
  const std::string was_at = percent_text(level);
  happened_.add({0,
                 sim::start_of_run,
                 tr("{} scene {} was {} when the run began", happened_.name_with_s(module), number, was_at),
                 tr("{} scene {} was {} when the run began", happened_.whose(module), number, was_at),
                 std::nullopt,
                 {{{change::Memory{module, other}},
                   tr("had that scene been {}", percent_text(other.scenes[number - 1u]))}}});
}

}  // namespace drybus::model
