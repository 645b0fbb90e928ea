// Findings whose words need more than a sentence.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/record/way_into_setup.h"

namespace drybus::model {

// --- texts that need more than a sentence ---

bool Narrator::timed_out(DeviceId device) const {
  return std::any_of(observation_.evidence.begin(), observation_.evidence.end(), [&](sim::EntryId id) {
    const sim::Entry& entry = record_[id];
    return entry.who == device && what(entry) == What::mode && static_cast<Mode>(entry.a) == Mode::normal &&
           static_cast<ModeReason>(entry.b) == ModeReason::time_out;
  });
}

std::string Narrator::setup_split() const {
  const bool one = observation_.devices.size() == 2;
  std::string text =
      fmt::format("{} {} out of setup while {} {} still in it.", first_name(), tense("is", "was"), names(1),
                  one ? tense("is", "was") : tense("are", "were"));
  if (timed_out(first())) {
    text += fmt::format(" {}'s time-out is {}, counted from {}.", first_name(),
                        duration_text(site().time_out(first()).after),
                        site().time_out(first()).from == CountedFrom::entry ? "entry" : "the last press");
  }
  return text + how_it_came();
}

std::string Narrator::bring_together() const {
  std::string text = fmt::format("{} until its indicator blinks, while {} still blink{}; then {}.",
                                 to_setup(first()), names(1), observation_.devices.size() == 2 ? "s" : "",
                                 site().is_plate(first()) ? "go on from channel 0" : "assign");
  text += fmt::format(" If {} are dark, begin again", observation_.devices.size() == 2 ? "both" : "all");
  if (timed_out(first()))
    text += fmt::format(", and be back within {}", duration_text(site().time_out(first()).after));
  return text + ".";
}

Address Narrator::offered() const {
  const Telegram telegram = unpack(record_[offer()].b);
  return {telegram.site, telegram.zone, telegram.channel};
}

std::string Narrator::assign_unheard() const {
  const std::string when = clock_text(record_[offer()].at) + in_brackets(offer());
  if (!was_sent()) {
    return fmt::format("{} was to offer {}, but could not send it at {}: nobody heard it.", first_name(),
                       to_string(offered()), when);
  }
  std::string text =
      fmt::format("{} offered {} at {} and nobody took it.", first_name(), to_string(offered()), when);
  if (observation_.until && *observation_.until > observation_.at) {
    text += fmt::format(" It offered the same again, the last time at {}.", clock_text(*observation_.until));
  }
  if (observation_.devices.size() == 1) return text + " No module was in setup.";
  for (std::size_t i = 1; i < observation_.devices.size(); ++i) text += why_not(observation_.devices[i]);
  return text;
}

std::string Narrator::why_not(DeviceId module) const {
  if (const sim::EntryId lost = evidence_of(module, What::lost); lost != sim::no_entry)
    return sentence(lost, false);
  const std::string normal = fmt::format(" {} was in normal mode.", site().name(module));
  const sim::EntryId left = evidence_of(module, What::mode);
  return left == sim::no_entry ? normal : normal + sentence(left);
}

DeviceId Narrator::wanted_module() const {
  const auto fits = std::find_if(
      observation_.devices.begin() + 1, observation_.devices.end(),
      [&](DeviceId module) { return site().modules[site().module_index(module)].intended == offered(); });
  return fits == observation_.devices.end() ? observation_.devices[1] : *fits;
}

std::string Narrator::assign_again() const {
  const std::string again =
      fmt::format("with {} in setup at channel {}, press {} again.", first_name(), offered().channel,
                  buttons_text(site(), first(), only(site().plate_family(first()).assign)));
  if (!was_sent()) return "Wait until the bus is quiet; then, " + again;
  if (observation_.devices.size() == 1) {
    const bool by_supply = family().module.supply_gesture.times != 0;
    const std::string way = by_supply || site().modules.empty()
                                ? way_into_setup(site(), site().module_id(0))
                                : fmt::format("hold its {} button for {}", family().module.button,
                                              duration_text(family().module.setup_hold));
    return fmt::format("Put the module in setup first: {}, until it blinks. Then, {}", way, again);
  }
  const DeviceId module = wanted_module();
  const sim::EntryId lost = evidence_of(module, What::lost);
  const bool cut_off = lost != sim::no_entry && why_lost(record_[lost]) == sim::Loss::no_path;
  return fmt::format("{}See that {} blinks; if it does not, {}. Then, {}",
                     cut_off ? mend_the_way(first(), site().name(module)) + " " : "", site().name(module),
                     to_setup(module, false), again);
}

const sim::Entry& Narrator::misread_entry() const {
  return record_[evidence_of(first(), What::misread)];
}

std::string Narrator::press_misread() const {
  const sim::Entry& press = misread_entry();
  const std::string text = fmt::format(
      "{} was pressed at {} as if {} were in {}, but it was in {}.",
      buttons_text(site(), press.who, static_cast<Buttons>(press.a)), clock_text(press.at), first_name(),
      misread_in_setup() ? "setup" : "normal mode", misread_in_setup() ? "normal mode" : "setup");
  if (const sim::EntryId mode = evidence_of(first(), What::mode); mode != sim::no_entry)
    return text + sentence(mode);
  return text + (misread_in_setup() ? " It had never entered setup." : "");
}

std::string Narrator::look_first() const {
  if (!misread_in_setup()) {
    return fmt::format(
        "Look at {}'s indicator before pressing: in setup it blinks. See whether it still does; {} if"
        " it is to be in setup and does not.",
        first_name(), to_setup(first(), false));
  }
  const bool never = evidence_of(first(), What::mode) == sim::no_entry;
  return fmt::format("Look at {}'s indicator before pressing: in setup it blinks. {} to enter setup{}.",
                     first_name(), to_setup(first()), never ? "" : " again");
}

std::string Narrator::leave_one_in_setup() const {
  std::vector<std::string> foreign;
  std::vector<std::string> ours;
  for (const DeviceId plate : observation_.devices)
    (site().is_neighbour(plate) ? foreign : ours).push_back(site().name(plate));
  std::string text;
  if (ours.size() > 1) {
    ours.erase(ours.begin());
    text = fmt::format("Take {} out of setup before anything is assigned.", list(ours));
  }
  if (foreign.empty()) return text;
  return fmt::format("{}{}Wait until the neighbour's {} out of setup before anything is assigned.", text,
                     text.empty() ? "" : " ", list(foreign) + (foreign.size() == 1 ? " is" : " are"));
}

std::string Narrator::unaddressed() const {
  const std::string text =
      fmt::format("{} has no address; {} was intended.", first_name(), intended(first()));
  if (!observation_.evidence.empty()) return text + how_it_came();
  return fmt::format("{} By {} nobody had put it in setup.", text, clock_text(world_.now));
}

std::string Narrator::out_of_reach() const {
  const sim::EntryId missed = observation_.evidence.front();
  return fmt::format("{} {} reach {}: \"{}\" did not arrive at {}{}.{}", first_name(),
                     tense("cannot", "could not"), names(1), to_string(unpack(record_[missed].b)),
                     clock_text(record_[missed].at), in_brackets(missed), broken_links());
}

std::string Narrator::broken_links() const {
  std::string text;
  for (std::uint32_t link = 0; link < site().network.links.size(); ++link) {
    const sim::EntryId last =
        last_before([link](const sim::Entry& entry) { return what(entry) == What::link && entry.a == link; });
    if (last == sim::no_entry) continue;
    const auto state = static_cast<sim::LinkState>(record_[last].b & 0xff);
    if (state != sim::LinkState::open && state != sim::LinkState::shorted) continue;
    text += fmt::format(" Link {} was {} from {} on.", site().link_name(link),
                        state == sim::LinkState::open ? "open" : "shorted", clock_text(record_[last].at));
  }
  return text;
}

std::string Narrator::mend_the_way(DeviceId from, const std::string& to) const {
  if (family().medium == sim::MediumKind::radio) {
    return fmt::format(
        "It is too far from {} to {}, or too much lies between: bring them nearer to each other.{}",
        site().name(from), to, caution());
  }
  return fmt::format("Check the bus from {} to {}.{}", site().name(from), to, caution());
}

std::string Narrator::stuck_button_name() const {
  const sim::Entry& closed = record_[observation_.evidence.front()];
  return buttons_text(site(), first(), only(static_cast<Button>(closed.a)));
}

std::string Narrator::stuck_button() const {
  const sim::EntryId closed = observation_.evidence.front();
  const std::string from = clock_text(record_[closed].at);
  return fmt::format("{} {}{}, for longer than {}: that counts as stuck.", stuck_button_name(),
                     observation_.until
                         ? fmt::format("was down from {} to {}", from, clock_text(*observation_.until))
                         : fmt::format("has been down since {}", from),
                     in_brackets(closed), duration_text(family().stuck_after));
}

std::string Narrator::make_it_come_up_dark() const {
  if (memory(first()).address.site == factory_site()) {
    return fmt::format(
        "Address {} with a site number other than the factory's: that sets its power-up mode to off.",
        first_name());
  }
  return fmt::format(
      "Address {} once with another site number and then with its own again: a changed site number sets"
      " its power-up mode to off. Nothing is in setup while the plate's switches are changed.{}",
      first_name(), caution_for_switches());
}

std::string Narrator::write_again() const {
  const bool dead = world_.devices[first()].powered == 0;
  return fmt::format("{}{} Leave the power on for a second after assigning.",
                     dead ? fmt::format("Restore {}'s power.{} ", first_name(), caution()) : "",
                     address_it(first(), "again"));
}

std::string Narrator::address_it(DeviceId module, std::string_view when) const {
  const auto& wanted = site().modules[site().module_index(module)].intended;
  if (!wanted) return fmt::format("Address {} {}.", site().name(module), when);
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    const PlateState& state = world_.plates[plate];
    if (site().is_neighbour(plate) || state.site != wanted->site || state.zone != wanted->zone) continue;
    const bool asks = site().plate_family(plate).assign == no_button;
    return fmt::format("Address {} {}: {}, step it to channel {}, {}, then {}.", site().name(module), when,
                       to_setup(plate, false), asks ? wanted->channel - 1 : wanted->channel,
                       to_setup(module, false), offer_sentence(site(), plate, module));
  }
  return fmt::format(
      "Address {} {}: set a plate's switches to site {}, zone {}, put it and the module in setup and"
      " assign channel {}.{}",
      site().name(module), when, wanted->site, wanted->zone, wanted->channel, caution_for_switches());
}

}  // namespace drybus::model
