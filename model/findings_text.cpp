// Findings in words: what happened with its times, and what a person can do.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/describe.h"
#include "model/findings.h"

namespace drybus::model {

namespace {

/// Everything that a sentence may need.
class Narrator {
 public:
  Narrator(const Scenario& scenario, const World& world, const sim::Record& record, const Observation& observation)
      : scenario_(scenario), world_(world), record_(record), observation_(observation) {}

  [[nodiscard]] std::string text() const {
    switch (observation_.id) {
      case FindingId::setup_split: return setup_split();
      case FindingId::assign_unheard: return assign_unheard();
      case FindingId::press_misread: return press_misread();
      case FindingId::two_plates_in_setup:
        return fmt::format("{} are in setup at once{}. A module in setup takes the first assign it hears, whichever"
                           " plate it comes from.", names(0), evidence());
      case FindingId::shared_address:
        return fmt::format("{} hold the same address {}{}. They answer to everything together.", names(0),
                           address(first()), evidence());
      case FindingId::wrong_address:
        return fmt::format("{} holds {}, but {} was intended{}.", first_name(), address(first()), intended(first()),
                           evidence());
      case FindingId::unaddressed:
        return fmt::format("{} has no address; {} was intended{}.", first_name(), intended(first()),
                           observation_.evidence.empty() ? "; nobody put it in setup" : evidence());
      case FindingId::orphan_address:
        return fmt::format("{} holds {}, but no plate has that site and zone{}. Nothing can reach it.", first_name(),
                           address(first()), evidence());
      case FindingId::site_overlap: return site_overlap();
      case FindingId::factory_site:
        return fmt::format("{} has site number {}, as every device from the factory{}. Every new module obeys it, and"
                           " a neighbour's new modules would too.", first_name(), factory_site(), evidence());
      case FindingId::zone_zero:
        return fmt::format("{} is in setup with its zone at 0{}. Zone 0 cannot be assigned: it refuses.",
                           first_name(), evidence());
      case FindingId::out_of_reach: return out_of_reach();
      case FindingId::telegram_lost: return telegram_lost();
      case FindingId::blip_asleep:
        return fmt::format("{} heard a telegram and showed nothing: its blips had fallen asleep{}. The wiring is not"
                           " to blame.", first_name(), evidence());
      case FindingId::powers_up_lit:
        return fmt::format("{} came up at full when its power returned: its power-up mode is full{}.", first_name(),
                           evidence());
      case FindingId::stuck_button:
        return fmt::format("A button of {} has been down for more than {}{}.", first_name(),
                           duration_text(family().stuck_after), evidence());
      case FindingId::write_lost:
        return fmt::format("{}'s power went while it was writing its memory{}. It is as from the factory again.",
                           first_name(), evidence());
    }
    return {};
  }

  [[nodiscard]] std::string remedy() const {
    switch (observation_.id) {
      case FindingId::setup_split:
        return fmt::format("{} until its indicator blinks, while {} still blinks; then go on from channel 0. If both"
                           " are dark, begin again, and be back within {}.", to_setup(first()), names(1),
                           duration_text(time_out(first())));
      case FindingId::assign_unheard: return assign_again();
      case FindingId::press_misread:
        return misread_in_setup()
                   ? fmt::format("Look at {}'s indicator before pressing: it blinks in setup. {} to enter setup again.",
                                 first_name(), to_setup(first()))
                   : fmt::format("Look at {}'s indicator before pressing: it was still blinking. {} if it is to take"
                                 " an address.", first_name(), to_setup(first()));
      case FindingId::two_plates_in_setup:
        return fmt::format("Take {} out of setup before anything is assigned.", names(1));
      case FindingId::shared_address:
        return fmt::format("Give all but one of {} its own address: {}, step the plate to a free channel and assign.",
                           names(0), to_setup(observation_.devices.back(), false));
      case FindingId::wrong_address: return address_it(first(), "again");
      case FindingId::unaddressed: return address_it(first(), "now");
      case FindingId::orphan_address:
        return fmt::format("Set a plate's switches to site {}, zone {}; or address {} again from the plate it belongs"
                           " to.", memory(first()).address.site, memory(first()).address.zone, first_name());
      case FindingId::site_overlap:
        return "Choose a site number that no neighbour uses, set it on every plate of ours and address our modules"
               " again.";
      case FindingId::factory_site:
        return fmt::format("Set {}'s site switches to a number of the site's own, other than {}, before assigning.",
                           first_name(), factory_site());
      case FindingId::zone_zero:
        return fmt::format("Set {}'s zone switches to 1 or more; then step to the channel and assign.", first_name());
      case FindingId::out_of_reach:
        return fmt::format("Check the bus between {} and {}.{}", first_name(), names(1), caution());
      case FindingId::telegram_lost: return "Press again: nothing on the bus repeats a lost telegram by itself.";
      case FindingId::blip_asleep:
        return fmt::format("Press {}'s button once to wake its blips, then try again.", first_name());
      case FindingId::powers_up_lit:
        return fmt::format("Address {} with a site number other than the factory's: that sets its power-up mode to"
                           " off.", first_name());
      case FindingId::stuck_button:
        return fmt::format("Free the button of {}; if it comes back, replace the device.{}", first_name(), caution());
      case FindingId::write_lost:
        return address_it(first(), "again") + " Leave the power on for a second after assigning.";
    }
    return {};
  }

 private:
  [[nodiscard]] static std::string caution() { return fmt::format(" {}", safety_caution); }
  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] const Family& family() const { return site().family; }
  [[nodiscard]] DeviceId first() const { return observation_.devices.front(); }
  [[nodiscard]] std::string first_name() const { return site().name(first()); }
  [[nodiscard]] int factory_site() const { return family().module.factory_site; }
  [[nodiscard]] const ModuleMemory& memory(DeviceId module) const {
    return world_.modules[site().module_index(module)].memory;
  }

  [[nodiscard]] std::string names(std::size_t from) const {
    std::vector<std::string> list;
    for (std::size_t i = from; i < observation_.devices.size(); ++i) list.push_back(site().name(observation_.devices[i]));
    if (list.size() < 2) return list.empty() ? "the others" : list.front();
    const std::string last = list.back();
    list.pop_back();
    return fmt::format("{} and {}", fmt::join(list, ", "), last);
  }

  [[nodiscard]] std::string address(DeviceId module) const {
    return memory(module).addressed() ? to_string(memory(module).address) : "no address";
  }
  [[nodiscard]] std::string intended(DeviceId module) const {
    const auto& wanted = site().modules[site().module_index(module)].intended;
    return wanted ? to_string(*wanted) : "none";
  }

  /// "hold P1 set for 5 s"
  [[nodiscard]] std::string to_setup(DeviceId device, bool capital = true) const {
    const bool plate = site().is_plate(device);
    return fmt::format("{} {} for {}", capital ? "Hold" : "hold",
                       buttons_text(site(), device, plate ? family().plate.setup_gesture : Buttons{1}),
                       duration_text(plate ? family().plate.setup_hold : family().module.setup_hold));
  }

  [[nodiscard]] sim::Duration time_out(DeviceId device) const {
    return site().is_plate(device) ? family().plate.time_out.after : family().module.time_out.after;
  }

  /// One entry with its time and, where it is not itself one, the step behind it.
  [[nodiscard]] std::string told(sim::EntryId id) const {
    const sim::Entry& entry = record_[id];
    std::string words = fmt::format("{} at {}", describe(scenario_, entry), clock_text(entry.at));
    const sim::EntryId step = step_behind(record_, id);
    if (step == sim::no_entry || step == id) return words;
    const sim::Entry& began = record_[step];
    return fmt::format("{} ({} at {})", words, describe(scenario_, scenario_.people[began.who].script[began.a]),
                       clock_text(began.at));
  }

  /// ": A at 0:05.0 (hold ... at 0:00.0); B at ..."
  [[nodiscard]] std::string evidence() const {
    std::vector<std::string> clauses;
    for (const sim::EntryId id : observation_.evidence) {
      if (what(record_[id]) == What::step) continue;
      clauses.push_back(told(id));
    }
    return clauses.empty() ? "" : fmt::format(": {}", fmt::join(clauses, "; "));
  }

  [[nodiscard]] std::string setup_split() const {
    const bool plate = site().is_plate(first());
    const TimeOut& rule = plate ? family().plate.time_out : family().module.time_out;
    return fmt::format("{} is out of setup while {} still in it. {}'s time-out is {}, counted from {}{}.",
                       first_name(), observation_.devices.size() > 2 ? names(1) + " are" : names(1) + " is",
                       first_name(), duration_text(rule.after),
                       rule.from == CountedFrom::entry ? "entry" : "the last press", evidence());
  }

  [[nodiscard]] std::string assign_unheard() const {
    const sim::Entry& offer = record_[observation_.evidence.back()];
    std::string text = fmt::format("{} offered {} at {} and nobody took it.", first_name(),
                                   to_string(Address{unpack(offer.b).site, unpack(offer.b).zone, unpack(offer.b).channel}),
                                   clock_text(offer.at));
    if (observation_.devices.size() == 1) return text + " No module had been in setup.";
    for (std::size_t i = 1; i < observation_.devices.size(); ++i) text += why_not(observation_.devices[i]);
    return text;
  }

  [[nodiscard]] std::string why_not(DeviceId module) const {
    for (const sim::EntryId id : observation_.evidence) {
      const sim::Entry& entry = record_[id];
      if (entry.who == module && what(entry) == What::lost) return fmt::format(" {}.", told(id));
    }
    for (const sim::EntryId id : observation_.evidence) {
      const sim::Entry& entry = record_[id];
      if (entry.who == module && what(entry) == What::mode) {
        return fmt::format(" {} was in normal mode: {}.", site().name(module), told(id));
      }
    }
    return fmt::format(" {} was not in setup.", site().name(module));
  }

  [[nodiscard]] std::string assign_again() const {
    if (observation_.devices.size() == 1) {
      return "Put the module in setup first: hold its button until it blinks. Then assign again.";
    }
    return fmt::format("{} until it blinks, then assign again from {}.", to_setup(observation_.devices[1]), first_name());
  }

  [[nodiscard]] const sim::Entry& misread_entry() const {
    const auto at = std::find_if(observation_.evidence.begin(), observation_.evidence.end(),
                                 [&](sim::EntryId id) { return what(record_[id]) == What::misread; });
    return record_[*at];
  }
  [[nodiscard]] bool misread_in_setup() const { return misread_entry().b != 0; }

  [[nodiscard]] std::string press_misread() const {
    const sim::Entry& press = misread_entry();
    const std::string pressed = buttons_text(site(), press.who, static_cast<Buttons>(press.a));
    std::string why;
    for (const sim::EntryId id : observation_.evidence) {
      if (what(record_[id]) == What::mode) why = fmt::format(": {}", told(id));
    }
    if (why.empty() && misread_in_setup()) why = ": it had never entered setup";
    return fmt::format("{} was pressed at {} for {}, but {} took it as in {}{}.", pressed, clock_text(press.at),
                       misread_in_setup() ? "setup" : "normal mode", first_name(),
                       misread_in_setup() ? "normal mode" : "setup", why);
  }

  [[nodiscard]] std::string site_overlap() const {
    return fmt::format("{} belongs to a neighbour, is within reach and has our site number {}{}. Each side's presses"
                       " reach the other's modules.", first_name(), world_.plates[first()].site, evidence());
  }

  [[nodiscard]] std::string out_of_reach() const {
    const sim::Entry& missed = record_[observation_.evidence.front()];
    return fmt::format("{} cannot reach {}: {} did not arrive at {}.{}", first_name(), names(1),
                       to_string(unpack(missed.b)), clock_text(missed.at), broken_links());
  }

  [[nodiscard]] std::string broken_links() const {
    std::string text;
    for (const auto& impairment : world_.medium.impairments()) {
      if (impairment.state == sim::LinkState::noisy) continue;
      text += fmt::format(" Link {} is {}.", site().link_name(impairment.link),
                          impairment.state == sim::LinkState::open ? "open" : "shorted");
    }
    return text;
  }

  [[nodiscard]] std::string telegram_lost() const {
    std::vector<std::string> clauses;
    for (const sim::EntryId id : observation_.evidence) {
      if (what(record_[id]) != What::sent_whole) clauses.push_back(told(id));
    }
    return fmt::format("A telegram was lost, and nobody was told: {}.", fmt::join(clauses, "; "));
  }

  [[nodiscard]] std::string address_it(DeviceId module, std::string_view when) const {
    const auto& wanted = site().modules[site().module_index(module)].intended;
    if (!wanted) return fmt::format("Address {} {}.", site().name(module), when);
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
      const PlateState& state = world_.plates[plate];
      if (site().is_neighbour(plate) || state.site != wanted->site || state.zone != wanted->zone) continue;
      return fmt::format("Address {} {}: {}, step it to channel {}, {}, then press {}.", site().name(module), when,
                         to_setup(plate, false), wanted->channel, to_setup(module, false),
                         buttons_text(site(), plate, only(family().plate.assign)));
    }
    return fmt::format("Address {} {}: set a plate's switches to site {}, zone {}, put it and the module in setup and"
                       " assign channel {}.", site().name(module), when, wanted->site, wanted->zone, wanted->channel);
  }

  const Scenario& scenario_;
  const World& world_;
  const sim::Record& record_;
  const Observation& observation_;
};

}  // namespace

Finding in_words(const Scenario& scenario, const World& world, const sim::Record& record,
                 const Observation& observation) {
  const Narrator narrator{scenario, world, record, observation};
  return {observation.id,       observation.at,   observation.until, observation.devices,
          observation.evidence, narrator.text(), narrator.remedy()};
}

}  // namespace drybus::model
