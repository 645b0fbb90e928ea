// Findings whose words need more than a sentence.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <iterator>

#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/record/way_into_setup.h"
#include "model/words/words.h"
#include "model/world/partners.h"

namespace drybus::model {

namespace {

sim::EntryId last_change(const sim::Record& record, std::uint32_t link, sim::EntryId before) {
  for (sim::EntryId id = before; id-- > 1;) {
    if (what(record[id]) == What::link && record[id].a == link) return id;
  }
  return sim::no_entry;
}

/// The links as they were before an entry.
class LinksThen {
 public:
  LinksThen(const sim::Record& record, const Site& site, sim::EntryId before)
      : network_(site.network), state_(site.network.links.size(), sim::LinkState::sound) {
    for (sim::EntryId id = 1; id < before; ++id) {
      if (what(record[id]) == What::link)
        state_[record[id].a] = static_cast<sim::LinkState>(record[id].b & 0xff);
    }
  }

  [[nodiscard]] bool open(std::uint32_t link) const { return state_[link] == sim::LinkState::open; }
  [[nodiscard]] bool shorted(std::uint32_t link) const { return state_[link] == sim::LinkState::shorted; }

  /// For every node, the link by which it is come to from `start`; over the air one link is all there may be.
  template <class MayPass>
  [[nodiscard]] std::vector<std::uint32_t> ways_from(sim::NodeId start, MayPass may_pass) const {
    std::vector<std::uint32_t> by(network_.nodes.size(), none);
    std::vector<sim::NodeId> met{start};
    const bool radio = network_.media[network_.nodes[start].medium].kind == sim::MediumKind::radio;
    for (std::size_t i = 0; i < met.size() && !(radio && i > 0); ++i) {
      for (const std::uint32_t link : network_.nodes[met[i]].links) {
        const sim::NodeId next = other_end(link, met[i]);
        if (next == start || by[next] != none || !may_pass(link)) continue;
        by[next] = link;
        met.push_back(next);
      }
    }
    return by;
  }
  [[nodiscard]] sim::NodeId other_end(std::uint32_t link, sim::NodeId end) const {
    const sim::Link& ends = network_.links[link];
    return ends.a == end ? ends.b : ends.a;
  }

  static constexpr std::uint32_t none = ~0u;

 private:
  const sim::Network& network_;
  std::vector<sim::LinkState> state_;
};

/// Open links on the way from one to the other, and shorted ones that are joined to either.
std::vector<std::uint32_t> links_that_matter(const sim::Record& record, const Site& site, sim::EntryId before,
                                             DeviceId from, DeviceId to) {
  const LinksThen then{record, site, before};
  std::vector<std::uint32_t> found;
  const auto by = then.ways_from(from, [](std::uint32_t) { return true; });
  for (sim::NodeId node = to; node != from && by[node] != LinksThen::none;
       node = then.other_end(by[node], node)) {
    if (then.open(by[node])) found.push_back(by[node]);
  }
  for (const DeviceId end : {from, to}) {
    const auto joined = then.ways_from(end, [&](std::uint32_t link) { return !then.open(link); });
    for (std::uint32_t link = 0; link < site.network.links.size(); ++link) {
      const sim::Link& ends = site.network.links[link];
      const auto met = [&](sim::NodeId node) { return node == end || joined[node] != LinksThen::none; };
      if (then.shorted(link) && (met(ends.a) || met(ends.b))) found.push_back(link);
    }
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  return found;
}

}  // namespace

// --- texts that need more than a sentence ---

bool Narrator::timed_out(DeviceId device) const {
  return std::any_of(observation_.evidence.begin(), observation_.evidence.end(), [&](sim::EntryId id) {
    const sim::Entry& entry = record_[id];
    return entry.who == device && what(entry) == What::mode && static_cast<Mode>(entry.a) == Mode::normal &&
           static_cast<ModeReason>(entry.b) == ModeReason::time_out;
  });
}

bool Narrator::offer_lapsed(DeviceId device) const {
  if (site().is_plate(device)) return false;
  const sim::Duration confirm = site().module_family(device).confirm;
  const sim::EntryId left = evidence_of(device, What::mode);
  if (confirm == sim::Duration::zero() || left == sim::no_entry || !timed_out(device)) return false;
  for (sim::EntryId id = left; id-- > 1;) {
    const sim::Entry& entry = record_[id];
    if (entry.who != device) continue;
    if (what(entry) == What::mode) return false;
    if (what(entry) == What::heard && unpack(entry.b).kind == TelegramKind::assign)
      return record_[left].at - entry.at >= confirm;
  }
  return false;
}

std::string Narrator::setup_split() const {
  const std::size_t waiting = observation_.devices.size() - 1;
  std::string text =
      is_over() ? plural("{} was out of setup while {} was still in it.",
                         "{} was out of setup while {} were still in it.", waiting, first_name(), names(1))
                : plural("{} is out of setup while {} is still in it.",
                         "{} is out of setup while {} are still in it.", waiting, first_name(), names(1));
  if (offer_lapsed(first())) {
    text += " " + tr("An offered address has to be confirmed within {}.",
                     duration_text(site().module_family(first()).confirm));
  } else if (timed_out(first())) {
    const std::string after = duration_text(site().time_out(first()).after);
    text += " " + (site().time_out(first()).from == CountedFrom::entry
                       ? tr("{}'s time-out is {}, counted from entry.", first_name(), after)
                       : tr("{}'s time-out is {}, counted from the last press.", first_name(), after));
  }
  return text + how_it_came();
}

std::string Narrator::bring_together() const {
  const std::size_t waiting = observation_.devices.size() - 1;
  const std::string text =
      site().is_plate(first())
          ? plural("{} until its indicator blinks, while {} still blinks; then go on from channel 0.",
                   "{} until its indicator blinks, while {} still blink; then go on from channel 0.", waiting,
                   to_setup(first()), names(1))
          : plural("{} until its indicator blinks, while {} still blinks; then assign.",
                   "{} until its indicator blinks, while {} still blink; then assign.", waiting,
                   to_setup(first()), names(1));
  if (!timed_out(first()))
    return text + " " +
           (waiting == 1 ? tr("If both are dark, begin again.") : tr("If all are dark, begin again."));
  const std::string after = duration_text(site().time_out(first()).after);
  return text + " " +
         (waiting == 1 ? tr("If both are dark, begin again, and be back within {}.", after)
                       : tr("If all are dark, begin again, and be back within {}.", after));
}

Address Narrator::offered() const {
  const Telegram telegram = unpack(record_[offer()].b);
  return {telegram.site, telegram.zone, telegram.channel};
}

std::string Narrator::assign_unheard() const {
  const std::string when = clock_text(record_[offer()].at) + in_brackets(offer());
  if (!was_sent()) {
    return tr("{} was to offer {}, but could not send it at {}: nobody heard it.", first_name(),
              to_string(offered()), when);
  }
  std::string text = tr("{} offered {} at {} and nobody took it.", first_name(), to_string(offered()), when);
  if (observation_.until && *observation_.until > observation_.at) {
    text += " " + tr("It offered the same again, the last time at {}.", clock_text(*observation_.until));
  }
  if (observation_.devices.size() == 1) return text + " " + tr("No module was in setup.");
  for (const DeviceId module : had_not()) text += why_not(module);
  const std::vector<DeviceId> done = had_taken_one();
  if (done.empty()) return text;
  if (done.size() == 1) return text + why_not(done.front());
  std::vector<std::string> names;
  for (const DeviceId module : done) names.push_back(site().name(module));
  return text + " " + tr("{} were in normal mode: they had taken an address before.", list(std::move(names)));
}

std::vector<DeviceId> Narrator::had_taken_one() const {
  std::vector<DeviceId> done;
  std::copy_if(observation_.devices.begin() + 1, observation_.devices.end(), std::back_inserter(done),
               [&](DeviceId module) {
                 const sim::EntryId left = evidence_of(module, What::mode);
                 return left != sim::no_entry && evidence_of(module, What::lost) == sim::no_entry &&
                        static_cast<ModeReason>(record_[left].b) == ModeReason::assigned;
               });
  return done;
}

std::vector<DeviceId> Narrator::had_not() const {
  const std::vector<DeviceId> done = had_taken_one();
  std::vector<DeviceId> rest;
  std::copy_if(observation_.devices.begin() + 1, observation_.devices.end(), std::back_inserter(rest),
               [&](DeviceId module) { return std::find(done.begin(), done.end(), module) == done.end(); });
  return rest;
}

std::string Narrator::orphan_address() const {
  const std::string address = to_string(address_then(first()));
  const auto neighbour = neighbour_who_reaches(site(), world_, first());
  const std::string text =
      is_over() ? tr("{} held {}, but no plate here had that site and zone, and so none can reach it.",
                     first_name(), address)
      : !neighbour
          ? tr("{} holds {}, but no plate here has that site and zone, and so none can reach it.",
               first_name(), address)
          : tr("{} holds {}, but no plate here has that site and zone: only the neighbour's {} can reach it.",
               first_name(), address, site().name(*neighbour));
  return text + how_it_came();
}

std::string Narrator::why_not(DeviceId module) const {
  if (const sim::EntryId lost = evidence_of(module, What::lost); lost != sim::no_entry)
    return sentence(lost, false);
  if (const sim::EntryId power = evidence_of(module, What::power); power != sim::no_entry)
    return " " + tr("{} had no power.", site().name(module)) + sentence(power);
  if (!is_joined(site(), first(), module))
    return " " + tr("{} was in setup, out of {}'s reach.", site().name(module), first_name());
  if (offer_lapsed(module)) {
    return " " +
           tr("{} was in setup and kept it in mind, and nobody confirmed it with {} within {}.",
              site().name(module), buttons_text(site(), module, only(0)),
              duration_text(site().module_family(module).confirm)) +
           sentence(evidence_of(module, What::mode));
  }
  const std::string normal = " " + tr("{} was in normal mode.", site().name(module));
  const sim::EntryId left = evidence_of(module, What::mode);
  return left == sim::no_entry ? normal : normal + sentence(left);
}

DeviceId Narrator::wanted_module() const {
  const auto fits = std::find_if(
      observation_.devices.begin() + 1, observation_.devices.end(),
      [&](DeviceId module) { return site().modules[site().module_index(module)].intended == offered(); });
  if (fits != observation_.devices.end()) return *fits;
  const std::vector<DeviceId> waiting = had_not();
  return waiting.empty() ? no_device : waiting.front();
}

std::string Narrator::assign_again() const {
  const std::string assign = buttons_text(site(), first(), only(site().plate_family(first()).assign));
  if (!was_sent())
    return tr("Wait until the bus is quiet; then, with {} in setup at channel {}, press {} again.",
              first_name(), offered().channel, assign);
  const DeviceId module = wanted_module();
  if (module == no_device) {
    // Which module was meant is not known, and there may be none.
    const ModuleFamily& usual = site().family_of(first()).module;
    const SupplyGesture& gesture = usual.supply_gesture;
    const std::string way =
        gesture.times != 0 ? tr("switch its supply off and on {} times, each time on for less than {}",
                                gesture.times, duration_text(gesture.on_for))
                           : tr("hold its {} button for {}", usual.button, duration_text(usual.setup_hold));
    return tr(
        "Put the module in setup first: {}, until it blinks. Then, with {} in setup at channel {}, press {} "
        "again.",
        way, first_name(), offered().channel, assign);
  }
  const sim::EntryId lost = evidence_of(module, What::lost);
  const bool cut_off = lost != sim::no_entry && why_lost(record_[lost]) == sim::Loss::no_path;
  return (cut_off ? mend_the_way(first(), site().name(module)) + " " : "") +
         tr("See that {} blinks; if it does not, {}. Then, with {} in setup at channel {}, {} again.",
            site().name(module), to_setup(module, false), first_name(), offered().channel,
            offer_sentence(site(), first(), module));
}

const sim::Entry& Narrator::misread_entry() const {
  return record_[evidence_of(first(), What::misread)];
}

std::string Narrator::press_misread() const {
  const sim::Entry& press = misread_entry();
  const std::string buttons = buttons_text(site(), press.who, static_cast<Buttons>(press.a));
  const std::string text = misread_in_setup()
                               ? tr("{} was pressed at {} as if {} were in setup, but it was in normal mode.",
                                    buttons, clock_text(press.at), first_name())
                               : tr("{} was pressed at {} as if {} were in normal mode, but it was in setup.",
                                    buttons, clock_text(press.at), first_name());
  if (const sim::EntryId mode = evidence_of(first(), What::mode); mode != sim::no_entry)
    return text + sentence(mode);
  return text + (misread_in_setup() ? " " + tr("It had never entered setup.") : "");
}

std::string Narrator::look_first() const {
  if (!misread_in_setup()) {
    return tr(
        "Look at {}'s indicator before pressing: in setup it blinks. See whether it still does; {} if"
        " it is to be in setup and does not.",
        first_name(), to_setup(first(), false));
  }
  const bool never = evidence_of(first(), What::mode) == sim::no_entry;
  return never ? tr("Look at {}'s indicator before pressing: in setup it blinks. {} to enter setup.",
                    first_name(), to_setup(first()))
               : tr("Look at {}'s indicator before pressing: in setup it blinks. {} to enter setup again.",
                    first_name(), to_setup(first()));
}

std::string Narrator::leave_one_in_setup() const {
  std::vector<std::string> foreign;
  std::vector<std::string> ours;
  for (const DeviceId plate : observation_.devices)
    (site().is_neighbour(plate) ? foreign : ours).push_back(site().name(plate));
  std::string text;
  if (ours.size() > 1) {
    ours.erase(ours.begin());
    text = tr("Take {} out of setup before anything is assigned.", list(ours));
  }
  if (foreign.empty()) return text;
  return text + (text.empty() ? "" : " ") +
         plural("Wait until the neighbour's {} is out of setup before anything is assigned.",
                "Wait until the neighbour's {} are out of setup before anything is assigned.", foreign.size(),
                list(foreign));
}

std::string Narrator::unaddressed() const {
  const std::string text = tr("{} has no address; {} was intended.", first_name(), intended(first()));
  if (!observation_.evidence.empty()) return text + how_it_came();
  return text + " " + tr("By {} nobody had put it in setup.", clock_text(world_.now));
}

std::string Narrator::out_of_reach() const {
  const sim::EntryId missed = observation_.evidence.front();
  const std::string telegram = spoken(unpack(record_[missed].b));
  const std::string when = clock_text(record_[missed].at) + in_brackets(missed);
  return (is_over() ? tr("{} could not reach {}: \"{}\" did not arrive at {}.", first_name(), names(1),
                         telegram, when)
                    : tr("{} cannot reach {}: \"{}\" did not arrive at {}.", first_name(), names(1), telegram,
                         when)) +
         broken_links() + wrong_bus();
}

std::string Narrator::broken_links() const {
  std::string text;
  std::vector<std::uint32_t> told;
  for (std::size_t i = 1; i < observation_.devices.size(); ++i) {
    const sim::EntryId missed = observation_.evidence[i - 1];
    for (const std::uint32_t link :
         links_that_matter(record_, site(), missed, first(), observation_.devices[i])) {
      if (std::find(told.begin(), told.end(), link) != told.end()) continue;
      told.push_back(link);
      const sim::EntryId broke = last_change(record_, link, missed);
      const bool open = static_cast<sim::LinkState>(record_[broke].b & 0xff) == sim::LinkState::open;
      const std::string since = clock_text(record_[broke].at);
      text += " " + (open ? tr("Link {} was open from {} on.", site().link_name(link), since)
                          : tr("Link {} was shorted from {} on.", site().link_name(link), since));
    }
  }
  return text;
}

std::vector<DeviceId> Narrator::on_another_bus() const {
  const auto medium = [&](DeviceId device) { return site().network.nodes[device].medium; };
  std::vector<DeviceId> apart;
  std::copy_if(observation_.devices.begin() + 1, observation_.devices.end(), std::back_inserter(apart),
               [&](DeviceId module) { return medium(module) != medium(first()); });
  return apart;
}

std::string Narrator::wrong_bus() const {
  std::vector<std::string> names;
  for (const DeviceId module : on_another_bus()) names.push_back(site().name(module));
  if (names.empty()) return {};
  const std::size_t count = names.size();
  return " " + plural("{} is on another bus, where no plate has its site and zone.",
                      "{} are on another bus, where no plate has their site and zone.", count,
                      list(std::move(names)));
}

std::string Narrator::within_reach() const {
  if (on_another_bus().size() + 1 < observation_.devices.size()) return mend_the_way(first(), names(1));
  return plural("Join {} to the bus of {}, or address it from a plate on its own bus.",
                "Join {} to the bus of {}, or address them from a plate on their own bus.",
                observation_.devices.size() - 1, names(1), first_name()) +
         caution();
}

std::string Narrator::mend_the_way(DeviceId from, const std::string& to) const {
  if (family().medium == sim::MediumKind::radio) {
    return tr("It is too far from {} to {}, or too much lies between: bring them nearer to each other.",
              site().name(from), to) +
           caution();
  }
  return tr("Check the bus from {} to {}.", site().name(from), to) + caution();
}

std::string Narrator::stuck_button_name() const {
  const sim::Entry& closed = record_[observation_.evidence.front()];
  return buttons_text(site(), first(), only(static_cast<Button>(closed.a)));
}

std::string Narrator::stuck_button() const {
  const sim::EntryId closed = observation_.evidence.front();
  const std::string from = clock_text(record_[closed].at);
  const std::string most = duration_text(site().family_of(first()).stuck_after);
  return is_over() ? tr("{} was down from {} to {}{}, for longer than {}: that counts as stuck.",
                        stuck_button_name(), from, clock_text(*observation_.until), in_brackets(closed), most)
                   : tr("{} has been down since {}{}, for longer than {}: that counts as stuck.",
                        stuck_button_name(), from, in_brackets(closed), most);
}

std::string Narrator::make_it_come_up_dark() const {
  if (memory(first()).address.site == factory_site()) {
    return tr("Address {} with a site number other than the factory's: that sets its power-up mode to off.",
              first_name());
  }
  return tr("Address {} once with another site number and then with its own again: a changed site number sets"
            " its power-up mode to off. Nothing is in setup while the plate's switches are changed.",
            first_name()) +
         caution_for_switches();
}

std::string Narrator::write_again() const {
  const bool dead = world_.devices[first()].powered == 0;
  const auto& intended = site().modules[site().module_index(first())].intended;
  // A family that keeps what was there before the write: it may have its address still, and it was a scene that was lost.
  const bool has_address = site().family_of(first()).module.memory.torn_write == TornWrite::before &&
                           memory(first()).addressed() && (!intended || memory(first()).address == *intended);
  return (dead ? tr("Restore {}'s power.", first_name()) + caution() + " " : "") +
         (has_address
              ? tr("Store again what it was told. Leave the power on for a second after storing.")
              : address_it(first(), true) + " " + tr("Leave the power on for a second after assigning."));
}

}  // namespace drybus::model
