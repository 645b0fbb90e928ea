#include "tools/panel/onlooker.h"

#include <algorithm>

namespace drybus::tools {

using model::What;

Onlooker::Onlooker(const model::Scenario& scenario)
    : devices_(scenario.site.device_count()),
      patterns_(scenario.site.device_count(), model::Pattern::dark),
      people_(scenario.people.size()) {}

void Onlooker::take_in(sim::EntryId id, const sim::Entry& entry) {
  switch (model::what(entry)) {
    case What::step:
      people_[entry.who].step_since = people_[entry.who].acting_since = entry.at;
      return;
    case What::walked:
      people_[entry.who].from = static_cast<model::PlaceId>(entry.a);
      people_[entry.who].to = static_cast<model::PlaceId>(entry.b);
      people_[entry.who].set_off = entry.at;
      return;
    case What::arrived:
      people_[entry.who].acting_since = entry.at;
      return;
    case What::mode:
      return mode(entry);
    case What::indicator:
      return indicator(entry);
    case What::sent:
      return sent(id, entry);
    case What::sent_whole:
      return sent_whole(id, entry);
    case What::heard:
      return heard(id, entry);
    case What::lost:
      return lost(entry);
    case What::assign_ignored:
      if (SeenTelegram* telegram = by_reception(entry)) {
        telegram->ignored.push_back(entry.who);
        ++telegram->changes;
      }
      return;
    case What::began:
    case What::contact:
    case What::misread:
    case What::gesture:
    case What::channel:
    case What::refused:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::gave_up:
    case What::dropped:
    case What::obeyed:
    case What::level:
    case What::level_reached:
    case What::store_begun:
    case What::stored:
    case What::store_torn:
    case What::power_up:
    case What::blips:
    case What::blip_unshown:
    case What::power:
    case What::switches:
    case What::link:
    case What::stuck:
    case What::deaf:
    case What::checked:
    case What::said:
      return;
  }
}

void Onlooker::indicator(const sim::Entry& entry) {
  const auto pattern = static_cast<model::Pattern>(entry.a);
  if (patterns_[entry.who] == pattern) return;  // shown anew, but the light goes on as it did
  patterns_[entry.who] = pattern;
  devices_[entry.who].indicator_since = entry.at;
}

void Onlooker::mode(const sim::Entry& entry) {
  if (static_cast<model::Mode>(entry.a) == model::Mode::setup) {
    devices_[entry.who].setup_since = entry.at;
    return;
  }
  if (static_cast<model::ModeReason>(entry.b) != model::ModeReason::assigned) return;
  SeenTelegram* telegram = by_reception(entry);
  if (telegram == nullptr) return;
  telegram->took.push_back(entry.who);
  ++telegram->changes;
}

void Onlooker::sent(sim::EntryId id, const sim::Entry& entry) {
  SeenTelegram telegram;
  telegram.sent = id;
  telegram.sender = entry.who;
  telegram.telegram = model::unpack(entry.b);
  telegram.begin = entry.at;
  telegram.end = sim::never;
  telegrams_.push_back(std::move(telegram));
  forget_old();
}

/// Those on the bus are never forgotten: what becomes of them is still to come.
void Onlooker::forget_old() {
  const auto over = [](const SeenTelegram& telegram) { return telegram.end != sim::never; };
  auto too_many =
      std::count_if(telegrams_.begin(), telegrams_.end(), over) - static_cast<std::ptrdiff_t>(kept_telegrams);
  std::erase_if(telegrams_, [&](const SeenTelegram& telegram) { return over(telegram) && too_many-- > 0; });
}

void Onlooker::sent_whole(sim::EntryId id, const sim::Entry& entry) {
  SeenTelegram* telegram = by_bits(entry.cause);
  if (telegram == nullptr) return;
  telegram->whole = id;
  telegram->end = entry.at;
  ++telegram->changes;
}

void Onlooker::heard(sim::EntryId id, const sim::Entry& entry) {
  SeenTelegram* telegram = by_bits(entry.cause);
  if (telegram == nullptr) return;
  telegram->heard.push_back(entry.who);
  telegram->last_heard = id;
  ++telegram->changes;
}

void Onlooker::lost(const sim::Entry& entry) {
  const auto loss = model::why_lost(entry);
  if (loss == sim::Loss::cut_short) return cut_short(entry);
  SeenTelegram* telegram = by_bits(entry.cause);
  if (telegram == nullptr) return;
  telegram->missed.push_back({entry.who, loss});
  ++telegram->changes;
}

/// The sender's power went: nobody hears it, and the record names only the sender.
void Onlooker::cut_short(const sim::Entry& entry) {
  for (SeenTelegram& telegram : telegrams_) {
    if (telegram.end != sim::never || telegram.sender != entry.who) continue;
    telegram.cut_short = true;
    telegram.end = entry.at;
    ++telegram.changes;
  }
}

SeenTelegram* Onlooker::by_bits(sim::EntryId cause) {
  if (cause == sim::no_entry) return nullptr;
  const auto found = std::find_if(telegrams_.rbegin(), telegrams_.rend(), [&](const SeenTelegram& telegram) {
    return telegram.sent == cause || telegram.whole == cause;
  });
  return found == telegrams_.rend() ? nullptr : &*found;
}

/// A reaction to a telegram is of the device that heard it last: reactions follow at once.
SeenTelegram* Onlooker::by_reception(const sim::Entry& reaction) {
  if (reaction.cause == sim::no_entry) return nullptr;
  const auto found = std::find_if(telegrams_.rbegin(), telegrams_.rend(), [&](const SeenTelegram& telegram) {
    return telegram.last_heard == reaction.cause;
  });
  return found == telegrams_.rend() ? nullptr : &*found;
}

}  // namespace drybus::tools
