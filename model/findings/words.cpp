// Findings in words: what happened with its times, and what a person can do.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/findings/findings.h"
#include "model/record/describe.h"

namespace drybus::model {

namespace {

/// Everything that a sentence may need.
class Narrator {
 public:
  Narrator(const Scenario& scenario, const World& world, const sim::Record& record,
           const Observation& observation)
      : scenario_(scenario), world_(world), record_(record), observation_(observation) {}

  [[nodiscard]] std::string text() const {
    switch (observation_.id) {
      case FindingId::setup_split:
        return setup_split();
      case FindingId::assign_unheard:
        return assign_unheard();
      case FindingId::press_misread:
        return press_misread();
      case FindingId::two_plates_in_setup:
        return fmt::format(
            "{} {} in setup at once. A module in setup takes the first assign it hears, whichever plate"
            " it comes from.{}",
            names(0), tense("are", "were"), how_it_came());
      case FindingId::shared_address:
        return fmt::format("{} {} the same address {}, and answer{} to everything together.{}", names(0),
                           tense("hold", "held"), to_string(address_then(first())), tense("", "ed"),
                           how_it_came());
      case FindingId::wrong_address:
        return fmt::format("{} {} {}, but {} was intended.{}", first_name(), tense("holds", "held"),
                           to_string(address_then(first())), intended(first()), how_it_came());
      case FindingId::unaddressed:
        return unaddressed();
      case FindingId::orphan_address:
        return fmt::format("{} {} {}, but no plate here {} that site and zone, and so none can reach it.{}",
                           first_name(), tense("holds", "held"), to_string(address_then(first())),
                           tense("has", "had"), how_it_came());
      case FindingId::site_overlap:
        return fmt::format(
            "{} belongs to a neighbour, {} within reach and {} our site number {}. Each side's presses"
            " can reach the other's modules.{}",
            first_name(), tense("is", "was"), tense("has", "had"), site_number_then(first()), how_it_came());
      case FindingId::factory_site:
        return fmt::format(
            "{} {} in setup with site number {}, as every device has from the factory. Every new module"
            " obeys it, and a neighbour's new modules would, too.{}",
            first_name(), tense("is", "was"), factory_site(), how_it_came());
      case FindingId::zone_zero:
        return fmt::format(
            "{} {} in setup with its zone switches at 0. Zone 0 cannot be assigned: the plate refuses.{}",
            first_name(), tense("is", "was"), how_it_came());
      case FindingId::out_of_reach:
        return out_of_reach();
      case FindingId::telegram_lost:
        return fmt::format("A telegram was lost, and nobody was told.{}", how_it_came());
      case FindingId::blip_asleep:
        return fmt::format(
            "{} heard a telegram and showed nothing: its blips had fallen asleep. The wiring is not to"
            " blame.{}",
            first_name(), how_it_came());
      case FindingId::powers_up_lit:
        return fmt::format("{} came up at full when its power came back, for its power-up mode was full.{}",
                           first_name(), how_it_came());
      case FindingId::stuck_button:
        return stuck_button();
      case FindingId::write_lost:
        return fmt::format(
            "{}'s power went while it was writing its memory. It was as from the factory again.{}",
            first_name(), how_it_came());
    }
    return {};
  }

  [[nodiscard]] std::string remedy() const {
    switch (observation_.id) {
      case FindingId::setup_split:
        return bring_together();
      case FindingId::assign_unheard:
        return assign_again();
      case FindingId::press_misread:
        return look_first();
      case FindingId::two_plates_in_setup:
        return leave_one_in_setup();
      case FindingId::shared_address:
        return fmt::format(
            "Give all but one of {} another address: {}, step the plate to a free channel, then press its"
            " {}.",
            names(0), to_setup(observation_.devices.back(), false), assign_button());
      case FindingId::wrong_address:
        return address_it(first(), "again");
      case FindingId::unaddressed:
        return address_it(first(), "now");
      case FindingId::orphan_address:
        return fmt::format(
            "Address {} again from the plate it belongs to, or set a plate's switches to site {}, zone"
            " {}.{}",
            first_name(), memory(first()).address.site, memory(first()).address.zone, caution_for_switches());
      case FindingId::site_overlap:
        return "Choose a site number that no neighbour uses, set it on every plate of ours and address our "
               "modules"
               " again." +
               caution_for_switches();
      case FindingId::factory_site:
        return fmt::format(
            "Set {}'s site switches to a number of the site's own, other than {}, before anything is"
            " assigned.{}",
            first_name(), factory_site(), caution_for_switches());
      case FindingId::zone_zero:
        return fmt::format(
            "Set {}'s zone switches to 1 or more. The supply is isolated for that, which ends every "
            "setup: put it and the module in setup again, step to the channel and assign.{}",
            first_name(), caution_for_switches());
      case FindingId::out_of_reach:
        return mend_the_way(first(), names(1));
      case FindingId::telegram_lost:
        return "Press again: nothing on the bus repeats a lost telegram by itself.";
      case FindingId::blip_asleep:
        return fmt::format("Press {} once to wake its blips, then try again.", any_button(first()));
      case FindingId::powers_up_lit:
        return make_it_come_up_dark();
      case FindingId::stuck_button:
        return fmt::format("Free {}; if it sticks again, replace the device.{}", stuck_button_name(),
                           caution());
      case FindingId::write_lost:
        return write_again();
    }
    return {};
  }

 private:
  [[nodiscard]] static std::string caution() { return fmt::format(" {}", safety_caution); }
  [[nodiscard]] static std::string caution_for_switches() {
    return fmt::format(" If the plate has to be opened for that: {}", safety_caution);
  }
  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] const Family& family() const { return site().family; }
  [[nodiscard]] DeviceId first() const { return observation_.devices.front(); }
  [[nodiscard]] std::string first_name() const { return site().name(first()); }
  [[nodiscard]] int factory_site() const { return family().module.factory_site; }
  [[nodiscard]] const ModuleMemory& memory(DeviceId module) const {
    return world_.modules[site().module_index(module)].memory;
  }

  // --- words ---

  [[nodiscard]] static std::string list(std::vector<std::string> names) {
    if (names.size() < 2) return names.empty() ? "the others" : names.front();
    const std::string last = names.back();
    names.pop_back();
    return fmt::format("{} and {}", fmt::join(names, ", "), last);
  }

  [[nodiscard]] std::string names(std::size_t from) const {
    std::vector<std::string> all;
    for (std::size_t i = from; i < observation_.devices.size(); ++i)
      all.push_back(site().name(observation_.devices[i]));
    return list(std::move(all));
  }

  /// A breach that still is, or one that was.
  [[nodiscard]] std::string_view tense(std::string_view now, std::string_view then) const {
    return observation_.until ? then : now;
  }

  [[nodiscard]] std::string intended(DeviceId module) const {
    const auto& wanted = site().modules[site().module_index(module)].intended;
    return wanted ? to_string(*wanted) : "none";
  }

  /// "hold P1 set for 5 s"
  [[nodiscard]] std::string to_setup(DeviceId device, bool capital = true) const {
    return fmt::format("{} {} for {}", capital ? "Hold" : "hold",
                       buttons_text(site(), device, site().setup_gesture(device)),
                       duration_text(site().setup_hold(device)));
  }

  [[nodiscard]] std::string assign_button() const { return family().plate.buttons[family().plate.assign]; }

  [[nodiscard]] std::string any_button(DeviceId device) const {
    return site().is_plate(device) ? fmt::format("any button of {}", site().name(device))
                                   : buttons_text(site(), device, 1);
  }

  // --- what was so then, not what is so at the end ---

  /// The last entry of a kind about a device until the finding began, `fits` permitting; no_entry where there is none.
  template <class Fits>
  [[nodiscard]] sim::EntryId last_before(Fits fits) const {
    sim::EntryId found = sim::no_entry;
    for (sim::EntryId id = 1; id <= record_.size() && record_[id].at <= observation_.at; ++id) {
      if (fits(record_[id])) found = id;
    }
    return found;
  }

  [[nodiscard]] Address address_then(DeviceId module) const {
    const sim::EntryId last = last_before([module](const sim::Entry& entry) {
      return entry.who == module &&
             ((what(entry) == What::stored && entry.b != 0) || what(entry) == What::store_torn);
    });
    if (last == sim::no_entry) return site().modules[site().module_index(module)].memory.address;
    return what(record_[last]) == What::stored ? stored_address(record_[last])
                                               : factory_memory(family().module).address;
  }

  [[nodiscard]] std::uint32_t site_number_then(DeviceId plate) const {
    const sim::EntryId last = last_before(
        [plate](const sim::Entry& entry) { return entry.who == plate && what(entry) == What::switches; });
    return last == sim::no_entry ? site().plates[plate].site : record_[last].a;
  }

  // --- how it came, with times ---

  /// "press P1 up at 0:07.3", with the name of whoever did it where it was not the installer.
  [[nodiscard]] std::string told_step(sim::EntryId id) const {
    const sim::Entry& began = record_[id];
    const Person& person = scenario_.people[began.who];
    return fmt::format("{}{} at {}", began.who == 0 ? "" : person.name + ": ",
                       describe(scenario_, person.script[began.a]), clock_text(began.at));
  }

  /// Switches, links and power are what the step itself was: saying it twice helps nobody.
  [[nodiscard]] bool is_the_step_itself(sim::EntryId id) const {
    const What kind = what(record_[id]);
    return kind == What::switches || kind == What::link || kind == What::power || kind == What::stuck;
  }

  /// " (press P1 up at 0:07.3)"; nothing when nobody's step led to the entry.
  [[nodiscard]] std::string in_brackets(sim::EntryId id) const {
    const sim::EntryId step = step_behind(record_, id);
    if (step == sim::no_entry) return {};
    const sim::Entry& began = record_[step];
    if (is_the_step_itself(id))
      return began.who == 0 ? "" : fmt::format(" ({})", scenario_.people[began.who].name);
    const sim::Entry& entry = record_[id];
    const bool by_itself =
        what(entry) == What::mode && static_cast<ModeReason>(entry.b) == ModeReason::time_out;
    return fmt::format(" ({}{})", by_itself ? "it had begun with: " : "", told_step(step));
  }

  /// " At 0:05.0 P1 entered setup: its button was held long enough (hold P1 set for 5 s at 0:00.0)."
  [[nodiscard]] std::string sentence(sim::EntryId id, bool with_step = true) const {
    return fmt::format(" At {} {}{}.", clock_text(record_[id].at), describe(scenario_, record_[id]),
                       with_step ? in_brackets(id) : "");
  }

  /// A sentence for each piece of evidence, in order of time; where there is none, since when it is so.
  [[nodiscard]] std::string how_it_came() const {
    std::string text;
    sim::EntryId told = sim::no_entry;
    for (const sim::EntryId id : observation_.evidence) {
      if (what(record_[id]) == What::step || what(record_[id]) == What::arrived) continue;
      const sim::EntryId step = step_behind(record_, id);
      text += sentence(id, step != told);
      told = step;
    }
    return text.empty()
               ? fmt::format(" It {} so from {} on.", tense("has been", "was"), clock_text(observation_.at))
               : text;
  }

  /// The first piece of evidence of a kind about a device.
  [[nodiscard]] sim::EntryId evidence_of(DeviceId device, What kind) const {
    const auto at =
        std::find_if(observation_.evidence.begin(), observation_.evidence.end(),
                     [&](sim::EntryId id) { return record_[id].who == device && what(record_[id]) == kind; });
    return at == observation_.evidence.end() ? sim::no_entry : *at;
  }

  // --- texts that need more than a sentence ---

  [[nodiscard]] bool timed_out(DeviceId device) const {
    return std::any_of(observation_.evidence.begin(), observation_.evidence.end(), [&](sim::EntryId id) {
      const sim::Entry& entry = record_[id];
      return entry.who == device && what(entry) == What::mode && static_cast<Mode>(entry.a) == Mode::normal &&
             static_cast<ModeReason>(entry.b) == ModeReason::time_out;
    });
  }

  [[nodiscard]] std::string setup_split() const {
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

  [[nodiscard]] std::string bring_together() const {
    std::string text = fmt::format("{} until its indicator blinks, while {} still blink{}; then {}.",
                                   to_setup(first()), names(1), observation_.devices.size() == 2 ? "s" : "",
                                   site().is_plate(first()) ? "go on from channel 0" : "assign");
    text += fmt::format(" If {} are dark, begin again", observation_.devices.size() == 2 ? "both" : "all");
    if (timed_out(first()))
      text += fmt::format(", and be back within {}", duration_text(site().time_out(first()).after));
    return text + ".";
  }

  [[nodiscard]] sim::EntryId offer() const { return observation_.evidence.back(); }
  [[nodiscard]] Address offered() const {
    const Telegram telegram = unpack(record_[offer()].b);
    return {telegram.site, telegram.zone, telegram.channel};
  }
  [[nodiscard]] bool was_sent() const { return what(record_[offer()]) == What::sent_whole; }

  [[nodiscard]] std::string assign_unheard() const {
    const std::string when = clock_text(record_[offer()].at) + in_brackets(offer());
    if (!was_sent()) {
      return fmt::format("{} was to offer {}, but could not send it at {}: nobody heard it.", first_name(),
                         to_string(offered()), when);
    }
    std::string text =
        fmt::format("{} offered {} at {} and nobody took it.", first_name(), to_string(offered()), when);
    if (observation_.until && *observation_.until > observation_.at) {
      text +=
          fmt::format(" It offered the same again, the last time at {}.", clock_text(*observation_.until));
    }
    if (observation_.devices.size() == 1) return text + " No module was in setup.";
    for (std::size_t i = 1; i < observation_.devices.size(); ++i) text += why_not(observation_.devices[i]);
    return text;
  }

  [[nodiscard]] std::string why_not(DeviceId module) const {
    if (const sim::EntryId lost = evidence_of(module, What::lost); lost != sim::no_entry)
      return sentence(lost, false);
    const std::string normal = fmt::format(" {} was in normal mode.", site().name(module));
    const sim::EntryId left = evidence_of(module, What::mode);
    return left == sim::no_entry ? normal : normal + sentence(left);
  }

  /// The module that the offer was meant for, as far as one can tell.
  [[nodiscard]] DeviceId wanted_module() const {
    const auto fits = std::find_if(
        observation_.devices.begin() + 1, observation_.devices.end(),
        [&](DeviceId module) { return site().modules[site().module_index(module)].intended == offered(); });
    return fits == observation_.devices.end() ? observation_.devices[1] : *fits;
  }

  [[nodiscard]] std::string assign_again() const {
    const std::string again =
        fmt::format("with {} in setup at channel {}, press {} again.", first_name(), offered().channel,
                    buttons_text(site(), first(), only(family().plate.assign)));
    if (!was_sent()) return "Wait until the bus is quiet; then, " + again;
    if (observation_.devices.size() == 1) {
      return fmt::format(
          "Put the module in setup first: hold its {} button for {}, until it blinks. Then, {}",
          family().module.button, duration_text(family().module.setup_hold), again);
    }
    const DeviceId module = wanted_module();
    const sim::EntryId lost = evidence_of(module, What::lost);
    const bool cut_off = lost != sim::no_entry && why_lost(record_[lost]) == sim::Loss::no_path;
    return fmt::format("{}See that {} blinks; if it does not, {}. Then, {}",
                       cut_off ? mend_the_way(first(), site().name(module)) + " " : "", site().name(module),
                       to_setup(module, false), again);
  }

  [[nodiscard]] const sim::Entry& misread_entry() const {
    return record_[evidence_of(first(), What::misread)];
  }
  [[nodiscard]] bool misread_in_setup() const { return misread_entry().b != 0; }

  [[nodiscard]] std::string press_misread() const {
    const sim::Entry& press = misread_entry();
    const std::string text = fmt::format(
        "{} was pressed at {} as if {} were in {}, but it was in {}.",
        buttons_text(site(), press.who, static_cast<Buttons>(press.a)), clock_text(press.at), first_name(),
        misread_in_setup() ? "setup" : "normal mode", misread_in_setup() ? "normal mode" : "setup");
    if (const sim::EntryId mode = evidence_of(first(), What::mode); mode != sim::no_entry)
      return text + sentence(mode);
    return text + (misread_in_setup() ? " It had never entered setup." : "");
  }

  [[nodiscard]] std::string look_first() const {
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

  [[nodiscard]] std::string leave_one_in_setup() const {
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

  [[nodiscard]] std::string unaddressed() const {
    const std::string text =
        fmt::format("{} has no address; {} was intended.", first_name(), intended(first()));
    if (!observation_.evidence.empty()) return text + how_it_came();
    return fmt::format("{} By {} nobody had put it in setup.", text, clock_text(world_.now));
  }

  [[nodiscard]] std::string out_of_reach() const {
    const sim::EntryId missed = observation_.evidence.front();
    return fmt::format("{} {} reach {}: \"{}\" did not arrive at {}{}.{}", first_name(),
                       tense("cannot", "could not"), names(1), to_string(unpack(record_[missed].b)),
                       clock_text(record_[missed].at), in_brackets(missed), broken_links());
  }

  /// The links that were open or shorted when the telegram did not arrive, and since when.
  [[nodiscard]] std::string broken_links() const {
    std::string text;
    for (std::uint32_t link = 0; link < site().network.links.size(); ++link) {
      const sim::EntryId last = last_before(
          [link](const sim::Entry& entry) { return what(entry) == What::link && entry.a == link; });
      if (last == sim::no_entry) continue;
      const auto state = static_cast<sim::LinkState>(record_[last].b & 0xff);
      if (state != sim::LinkState::open && state != sim::LinkState::shorted) continue;
      text += fmt::format(" Link {} was {} from {} on.", site().link_name(link),
                          state == sim::LinkState::open ? "open" : "shorted", clock_text(record_[last].at));
    }
    return text;
  }

  [[nodiscard]] std::string mend_the_way(DeviceId from, const std::string& to) const {
    if (family().medium == sim::MediumKind::radio) {
      return fmt::format(
          "It is too far from {} to {}, or too much lies between: bring them nearer to each other.{}",
          site().name(from), to, caution());
    }
    return fmt::format("Check the bus from {} to {}.{}", site().name(from), to, caution());
  }

  [[nodiscard]] std::string stuck_button_name() const {
    const sim::Entry& closed = record_[observation_.evidence.front()];
    return buttons_text(site(), first(), only(static_cast<Button>(closed.a)));
  }

  [[nodiscard]] std::string stuck_button() const {
    const sim::EntryId closed = observation_.evidence.front();
    const std::string from = clock_text(record_[closed].at);
    return fmt::format("{} {}{}, for longer than {}: that counts as stuck.", stuck_button_name(),
                       observation_.until
                           ? fmt::format("was down from {} to {}", from, clock_text(*observation_.until))
                           : fmt::format("has been down since {}", from),
                       in_brackets(closed), duration_text(family().stuck_after));
  }

  [[nodiscard]] std::string make_it_come_up_dark() const {
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

  [[nodiscard]] std::string write_again() const {
    const bool dead = world_.devices[first()].powered == 0;
    return fmt::format("{}{} Leave the power on for a second after assigning.",
                       dead ? fmt::format("Restore {}'s power.{} ", first_name(), caution()) : "",
                       address_it(first(), "again"));
  }

  [[nodiscard]] std::string address_it(DeviceId module, std::string_view when) const {
    const auto& wanted = site().modules[site().module_index(module)].intended;
    if (!wanted) return fmt::format("Address {} {}.", site().name(module), when);
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
      const PlateState& state = world_.plates[plate];
      if (site().is_neighbour(plate) || state.site != wanted->site || state.zone != wanted->zone) continue;
      return fmt::format("Address {} {}: {}, step it to channel {}, {}, then press {}.", site().name(module),
                         when, to_setup(plate, false), wanted->channel, to_setup(module, false),
                         buttons_text(site(), plate, only(family().plate.assign)));
    }
    return fmt::format(
        "Address {} {}: set a plate's switches to site {}, zone {}, put it and the module in setup and"
        " assign channel {}.{}",
        site().name(module), when, wanted->site, wanted->zone, wanted->channel, caution_for_switches());
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
  return {observation.id,       observation.at,  observation.until, observation.devices,
          observation.evidence, narrator.text(), narrator.remedy()};
}

}  // namespace drybus::model
