#include "model/why/offers.h"

#include <fmt/format.h>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

Address address_in(const Telegram& telegram) {
  return {telegram.site, telegram.zone, telegram.channel};
}

bool is_assign(const sim::Entry& entry) {
  return unpack(entry.b).kind == TelegramKind::assign;
}

/// What became of an offer that a module in setup keeps until somebody confirms it.
Offer::Fate fate_of_kept(const History& history, DeviceId module, sim::EntryId heard) {
  for (sim::EntryId id = heard + 1; id < history.end(); ++id) {
    const sim::Entry& entry = history[id];
    if (entry.who != module) continue;
    if (what(entry) == What::heard && is_assign(entry)) break;
    if (what(entry) != What::mode) continue;
    const bool assigned = static_cast<ModeReason>(entry.b) == ModeReason::assigned;
    return assigned ? Offer::Fate::taken : Offer::Fate::unconfirmed;
  }
  return Offer::Fate::unconfirmed;
}

/// Whether another module that has to be asked twice kept the offer and was pressed.
bool is_confirmed_at_another(const History& history, DeviceId module, sim::EntryId sent) {
  const sim::Entry& whole = history[sent];
  for (sim::EntryId id = sent + 1; id < history.end() && history[id].at == whole.at; ++id) {
    const sim::Entry& entry = history[id];
    const bool kept = what(entry) == What::heard && entry.cause == sent && entry.who != module &&
                      !history.site().is_plate(entry.who) && history.in_setup(entry.who, id) &&
                      history.site().module_family(entry.who).confirm > sim::Duration::zero();
    if (kept && fate_of_kept(history, entry.who, id) == Offer::Fate::taken) return true;
  }
  return false;
}

/// What became of a telegram that was sent whole, at one receiver.
Offer offer_sent(const History& history, DeviceId module, sim::EntryId sent) {
  const sim::Entry& whole = history[sent];
  Offer offer{Offer::Fate::lost, sent, whole.at, whole.who, address_in(unpack(whole.b)), false};
  for (sim::EntryId id = sent + 1; id < history.end() && history[id].at == whole.at; ++id) {
    const sim::Entry& entry = history[id];
    if (what(entry) == What::mode && static_cast<ModeReason>(entry.b) == ModeReason::assigned &&
        static_cast<Mode>(entry.a) == Mode::normal) {
      (entry.who == module ? offer.fate = Offer::Fate::taken : offer.fate);
      offer.taken_by_another = offer.taken_by_another || entry.who != module;
    }
    // What was lost and is heard all the same, in a run where it is, comes right after its loss.
    if (entry.who != module || (entry.cause != sent && entry.cause != offer.entry)) continue;
    if (what(entry) != What::heard && what(entry) != What::lost) continue;
    offer.entry = id;
    if (what(entry) == What::heard) offer.fate = Offer::Fate::ignored;
  }
  offer.taken_by_another = offer.taken_by_another || is_confirmed_at_another(history, module, sent);
  const bool meant_something = offers_address(unpack(whole.b));
  if (offer.fate != Offer::Fate::taken && !meant_something) {
    offer.fate = Offer::Fate::no_address;
    offer.entry = sent;
  } else if (offer.fate == Offer::Fate::ignored && history.in_setup(module, offer.entry) &&
             history.site().module_family(module).confirm > sim::Duration::zero()) {
    offer.fate = fate_of_kept(history, module, offer.entry);
  }
  return offer;
}

}  // namespace

std::vector<Offer> offers_to(const History& history, DeviceId module, sim::EntryId after,
                             sim::EntryId before) {
  std::vector<Offer> offers;
  for (sim::EntryId id = after + 1; id < before; ++id) {
    const sim::Entry& entry = history[id];
    switch (what(entry)) {
      case What::sent_whole:
        if (is_assign(entry)) offers.push_back(offer_sent(history, module, id));
        break;
      case What::gave_up:
      case What::dropped:
        if (is_assign(entry)) {
          offers.push_back(
              {Offer::Fate::unsent, id, entry.at, entry.who, address_in(unpack(entry.b)), false});
        }
        break;
      case What::refused:
        if (static_cast<Refusal>(entry.a) == Refusal::no_such_channel) break;
        if (entry.cause == sim::no_entry || what(history[entry.cause]) != What::contact) break;
        if (history[entry.cause].a != history.site().plate_family(entry.who).assign) break;
        offers.push_back({Offer::Fate::refused, id, entry.at, entry.who, {}, false});
        break;
      case What::misread:
        if (!history.site().is_plate(entry.who) || entry.b == 0) break;
        if (entry.a != only(history.site().plate_family(entry.who).assign)) break;
        offers.push_back({Offer::Fate::misread, id, entry.at, entry.who, {}, false});
        break;
      case What::began:
      case What::step:
      case What::walked:
      case What::arrived:
      case What::contact:
      case What::gesture:
      case What::mode:
      case What::channel:
      case What::timer:
      case What::queued:
      case What::deferred:
      case What::sent:
      case What::heard:
      case What::lost:
      case What::assign_ignored:
      case What::obeyed:
      case What::indicator:
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
        break;
    }
  }
  return offers;
}

std::string describe(const History& history, DeviceId module, const Offer& offer) {
  const std::string& plate = history.site().name(offer.plate);
  const std::string& name = history.site().name(module);
  const std::string address = to_string(offer.address);
  const PlateFamily& family = history.site().plate_family(offer.plate);
  switch (offer.fate) {
    case Offer::Fate::taken:
      return tr("{} offered {}: {} took it", plate, address, name);
    case Offer::Fate::ignored:
      return offer.taken_by_another
                 ? tr("{} offered {}: {} heard it in normal mode, and another module took it", plate, address,
                      name)
                 : tr("{} offered {}: {} heard it in normal mode", plate, address, name);
    case Offer::Fate::unconfirmed:
      return tr("{} offered {}: {} kept it in mind, and nobody confirmed it", plate, address, name);
    case Offer::Fate::lost:
      if (what(history[offer.entry]) == What::lost) {
        return tr("{} offered {}: {}", plate, address, describe(history.scenario(), history[offer.entry]));
      }
      return tr("{} offered {}: {} is on another bus", plate, address, name);
    case Offer::Fate::no_address:
      return tr("{} offered {}: zone 0 is in no address, and nobody can take it", plate, address);
    case Offer::Fate::unsent:
    case Offer::Fate::refused:
      return describe(history.scenario(), history[offer.entry]);
    case Offer::Fate::misread:
      return tr("{} was pressed on {}, which was in normal mode: no offer", family.name_of(family.assign),
                plate);
  }
  return {};
}

}  // namespace drybus::model
