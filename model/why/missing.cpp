#include "model/why/missing.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "model/devices/module.h"
#include "model/people/setup_steps.h"
#include "model/record/describe.h"
#include "model/record/way_into_setup.h"
#include "model/words/words.h"
#include "model/world/installer.h"
#include "model/world/partners.h"

namespace drybus::model {

namespace {

constexpr sim::Duration sure = std::chrono::milliseconds{500};
/// Long enough for a telegram and a write to memory after the last press of a procedure.
constexpr sim::Duration settling = std::chrono::seconds{1};

}  // namespace

// --- setup ---

void Missing::not_in_setup(DeviceId device, sim::EntryId before, sim::Instant at) {
  const sim::EntryId mode = history_.last_mode(device, before);
  const bool tried = by_supply(history_.site(), device) ? slow_throws(device, mode, before, at)
                                                        : failed_holds(device, mode, before);
  if (mode != sim::no_entry) return happened_.mode(mode);
  if (!tried) nobody_held(device, before, at);
}

/// Holds that were meant to be the gesture and were not long enough, or met a device without power; latest first.
bool Missing::failed_holds(DeviceId device, sim::EntryId after, sim::EntryId before) {
  const sim::Duration needed = history_.site().setup_hold(device);
  bool any = false;
  for (sim::EntryId id = before; id-- > after + 1;) {
    if (what(history_[id]) != What::step) continue;
    const Step& step = history_.step_of(id);
    if (step.kind != StepKind::hold || step.device != device ||
        step.buttons != history_.site().setup_gesture(device))
      continue;
    if (!history_.powered(device, id)) {
      const sim::EntryId power = history_.last(What::power, device, id);
      happened_.step(power, tr("{}'s power was off when it was held", history_.site().name(device)));
      any = true;
      continue;
    }
    const auto ref = history_.original(id);
    if (step.duration > needed || !ref) continue;
    const std::string held = duration_text(step.duration);
    const std::string takes = duration_text(needed);
    const std::string gesture = history_.gesture_text(device);
    happened_.add({0,
                   history_[id].at,
                   tr("{} was held for {} only, and setup takes {}", gesture, held, takes),
                   tr("{} was held for {} only, and setup takes {}, at {}{}", gesture, held, takes,
                      clock_text(history_[id].at), history_.in_brackets(id)),
                   ref,
                   {{{change::Last{*ref, needed + sure}},
                     tr("had it been held for {}", duration_text(needed + sure))}}});
    any = true;
  }
  return any;
}

/// Waits and walks between two entries, as changes that make them last no time.
void Missing::leave_out_waits(sim::EntryId from, sim::EntryId to, std::vector<Change>& changes) const {
  for (sim::EntryId id = from + 1; id < to; ++id) {
    const sim::Entry& entry = history_[id];
    if (what(entry) == What::walked) {
      changes.emplace_back(change::Walk{static_cast<PlaceId>(entry.a), static_cast<PlaceId>(entry.b), {}});
    } else if (what(entry) == What::step && history_.step_of(id).kind == StepKind::wait) {
      if (const auto ref = history_.original(id)) changes.emplace_back(change::Last{*ref, {}});
    }
  }
}

/// Throws of a module's supply that were meant to be the gesture, with too long a time on between two of them.
bool Missing::slow_throws(DeviceId module, sim::EntryId after, sim::EntryId before, sim::Instant at) {
  const sim::Duration on_for = history_.site().module_family(module).supply_gesture.on_for;
  std::vector<Change> quicker;
  sim::EntryId on = sim::no_entry;
  sim::EntryId last_slow = sim::no_entry;
  for (sim::EntryId id = after + 1; id < before; ++id) {
    const sim::Entry& entry = history_[id];
    if (what(entry) != What::power || entry.who != module) continue;
    if (entry.a != 0) {
      on = id;
    } else if (on != sim::no_entry && entry.at - history_[on].at >= on_for) {
      const std::size_t known = quicker.size();
      leave_out_waits(on, id, quicker);
      if (quicker.size() > known) last_slow = on;
    }
  }
  if (last_slow == sim::no_entry) return false;
  const std::string name = history_.site().name(module);
  const std::string too_long = duration_text(on_for);
  Lead lead{0,
            history_[last_slow].at,
            tr("{}'s supply was left on for {} or longer between two throws, and is counted afresh then",
               name, too_long),
            tr("{} supply was left on for {} or longer between two throws, and is counted afresh then, the "
               "last time from {} on{}",
               happened_.whose(module), too_long, clock_text(history_[last_slow].at),
               history_.in_brackets(last_slow)),
            history_.step_behind(last_slow),
            {{std::move(quicker), tr("had nobody waited between the throws of {}'s supply", name)}}};
  std::vector<Way> ways = ways_into_setup(module, before, at);
  std::move(ways.begin(), ways.end(), std::back_inserter(lead.ways));
  happened_.add(std::move(lead));
  return true;
}

void Missing::nobody_held(DeviceId device, sim::EntryId before, sim::Instant at) {
  happened_.add({0, at, tr("until then nobody had put {} in setup", history_.site().name(device)),
                 tr("nobody had put {} in setup", happened_.who(device)), std::nullopt,
                 ways_into_setup(device, before, at)});
}

/// The device put in setup by `at`: by somebody else, before the step that led to the entry `before`, and before whatever came
/// last.
std::vector<Way> Missing::ways_into_setup(DeviceId device, sim::EntryId before, sim::Instant at) const {
  const std::vector<Step> steps = setup_steps(history_, device);
  const std::string act = by_supply(history_.site(), device) ? way_into_setup(history_.site(), device)
                                                             : describe(history_.scenario(), steps.front());
  std::vector<Way> ways;
  if (const auto done = done_by(steps, at, history_.scenario().times)) {
    const sim::Instant from = *std::get<change::Meanwhile>(*done).steps.front().at;
    ways.push_back({{*done}, tr("had somebody done so at {} ({})", clock_text(from), act)});
  }
  const std::string first = tr("had somebody done so first ({})", act);
  if (before < history_.end()) {
    const sim::EntryId step = history_.step_entry(before);
    const auto ref = step == sim::no_entry ? std::nullopt : history_.original(step);
    if (ref) ways.push_back({{change::Insert{*ref, steps}}, first});
  }
  ways.push_back({{insert_now(steps, at)}, first});
  return ways;
}

void Missing::not_stepped(DeviceId plate, sim::EntryId before, sim::Instant at, std::uint8_t channel) {
  const Button next = history_.site().plate_family(plate).next;
  if (next == no_button) return;
  const std::string button = buttons_text(history_.site(), plate, only(next));
  const std::vector<Step> steps(channel, press(plate, next));
  Lead lead{0,
            at,
            tr("until then nobody had pressed {} to step it to a channel", button),
            tr("nobody had pressed {}", button),
            std::nullopt,
            {}};
  const sim::EntryId step = before < history_.end() ? history_.step_entry(before) : sim::no_entry;
  const auto ref = step == sim::no_entry ? std::nullopt : history_.original(step);
  const Change inserted = ref ? Change{change::Insert{*ref, steps}} : insert_now(steps, at);
  lead.ways.push_back({{inserted}, tr("had {} been pressed first", button)});
  happened_.add(std::move(lead));
}

void Missing::not_used(DeviceId plate, sim::Instant at) {
  const Button next = history_.site().plate_family(plate).next;
  if (next == no_button) return;
  std::vector<Step> steps = setup_steps(history_, plate);
  steps.push_back(press(plate, next));
  const std::string act =
      describe(history_.scenario(), steps[0]) + ", " + describe(history_.scenario(), steps[1]);
  happened_.add({0,
                 at,
                 tr("until then nobody had put {} in setup and stepped it", history_.site().name(plate)),
                 tr("nobody had put {} in setup and stepped it", happened_.who(plate)),
                 std::nullopt,
                 {{{insert_now(steps, at)}, tr("had somebody done so first ({})", act)}}});
}

// --- addresses ---

std::uint8_t Missing::channel_for(DeviceId module) const {
  const auto& intended = history_.site().modules[history_.site().module_index(module)].intended;
  return intended ? intended->channel : std::uint8_t{1};
}

bool Missing::meant_for(const Offer& offer, DeviceId module) const {
  const auto& intended = history_.site().modules[history_.site().module_index(module)].intended;
  switch (offer.fate) {
    case Offer::Fate::taken:
      return false;
    case Offer::Fate::ignored:
    case Offer::Fate::unconfirmed:
    case Offer::Fate::lost:
    case Offer::Fate::unsent:
      return intended ? offer.address == *intended : !offer.taken_by_another;
    case Offer::Fate::no_address:
    case Offer::Fate::refused:
    case Offer::Fate::misread:
      return offer.plate == plate_for(module);
  }
  return false;
}

void Missing::address_kept(DeviceId module, sim::EntryId after) {
  const std::vector<Offer> offers = offers_to(history_, module, after, history_.end());
  const Offer* best = nullptr;
  for (const Offer& offer : offers) {
    if (offer.fate == Offer::Fate::taken) continue;
    if (!is_joined(history_.site(), offer.plate, module) && !meant_for(offer, module)) continue;
    if (best == nullptr || meant_for(offer, module) || !meant_for(*best, module)) best = &offer;
  }
  if (best == nullptr) return nothing_offered(module, after);
  if (best->fate == Offer::Fate::unconfirmed) return not_confirmed(module, *best);
  const bool on_the_bus = best->fate == Offer::Fate::ignored || best->fate == Offer::Fate::lost;
  on_the_bus ? ignored(module, *best) : not_offered(*best, module);
  if (meant_for(*best, module)) return;
  // Somebody else's offers: had it taken one, that would not have been its own.
  happened_.next_group();
  nothing_offered(module, after);
}

void Missing::ignored(DeviceId module, const Offer& offer) {
  const std::string it = happened_.who(module);
  const std::string& name = history_.site().name(module);
  const bool for_another = offer.taken_by_another && !meant_for(offer, module);
  if (offer.fate == Offer::Fate::lost) {
    if (what(history_[offer.entry]) == What::lost) happened_.lost(offer.entry);
  } else if (!for_another) {
    const std::string address = to_string(offer.address);
    happened_.add({0,
                   offer.at,
                   tr("{} offered {}, and {} ignored it: it was in normal mode",
                      history_.site().name(offer.plate), address, name),
                   tr("the offer of {} at {} found {} in normal mode", address, clock_text(offer.at), it),
                   history_.step_behind(offer.entry),
                   {{{change::InSetup{module, offer.at}}, tr("had {} been in setup then", name)}}});
  }
  happened_.deeper();
  if (!history_.in_setup(module, offer.entry)) not_in_setup(module, offer.entry, offer.at);
}

void Missing::not_confirmed(DeviceId module, const Offer& offer) {
  const Site& site = history_.site();
  const std::string address = to_string(offer.address);
  const std::string within = duration_text(site.module_family(module).confirm);
  const std::string button = buttons_text(site, module, only(0));
  Step press_it = press(module, 0);
  press_it.at = offer.at + settling;
  happened_.add({0,
                 offer.at,
                 tr("{} offered {}, and nobody confirmed it with {} within {}", site.name(offer.plate),
                    address, button, within),
                 tr("nobody confirmed the offer of {} at {} with {} within {}", address, clock_text(offer.at),
                    button, within),
                 history_.step_behind(offer.entry),
                 {{{change::Meanwhile{{press_it}}}, tr("had somebody pressed {} then", button)}}});
}

void Missing::not_offered(const Offer& offer, DeviceId module) {
  const sim::EntryId id = offer.entry;
  const sim::Entry& entry = history_[id];
  const std::string& plate = history_.site().name(offer.plate);
  const std::string when = clock_text(offer.at);
  const std::uint8_t channel = channel_for(module);
  switch (offer.fate) {
    case Offer::Fate::no_address:
      return zone_was_zero(offer, module);
    case Offer::Fate::refused: {
      if (static_cast<Refusal>(entry.a) == Refusal::zone_zero) {
        return zone_was_zero(offer, module);
      }
      happened_.add(
          {0,
           offer.at,
           tr("{} refused to assign: it stood at channel 0", plate),
           tr("{} refused to assign at {}: it stood at channel 0", plate, when),
           history_.step_behind(id),
           {{{change::InSetup{offer.plate, offer.at, channel}}, tr("had it stood at channel {}", channel)}}});
      happened_.deeper();
      return not_stepped(offer.plate, id, offer.at, channel);
    }
    case Offer::Fate::misread: {
      const std::string button = buttons_text(history_.site(), offer.plate, static_cast<Buttons>(entry.a));
      happened_.add({0,
                     offer.at,
                     tr("{} was pressed when {} was in normal mode, so nothing was offered", button, plate),
                     tr("{} was pressed at {} when the plate was in normal mode", button, when),
                     history_.step_behind(id),
                     {{{change::InSetup{offer.plate, offer.at, channel}},
                       tr("had {} been in setup then, at channel {}", plate, channel)}}});
      happened_.deeper();
      return not_in_setup(offer.plate, id, offer.at);
    }
    case Offer::Fate::unsent:
      return happened_.not_sent(id);
    case Offer::Fate::taken:
    case Offer::Fate::ignored:
    case Offer::Fate::unconfirmed:
    case Offer::Fate::lost:
      return;
  }
}

/// The plate's zone switches stood at 0 when it was to assign.
void Missing::zone_was_zero(const Offer& offer, DeviceId module) {
  const std::string& plate = history_.site().name(offer.plate);
  const std::string when = clock_text(offer.at);
  const bool refused = offer.fate == Offer::Fate::refused;
  const auto& intended = history_.site().modules[history_.site().module_index(module)].intended;
  const std::uint8_t right = intended && intended->zone != 0 ? intended->zone : std::uint8_t{1};
  happened_.add({0,
                 offer.at,
                 refused ? tr("{} refused to assign: its zone was 0", plate)
                         : tr("{} offered zone 0, which is in no address", plate),
                 refused ? tr("{} refused to assign at {}: its zone was 0", plate, when)
                         : tr("{} offered zone 0 at {}, which is in no address", plate, when),
                 history_.step_behind(offer.entry),
                 {{{change::Switches{offer.plate, history_.site().plates[offer.plate].site, right}},
                   tr("had its zone been {}", right)}}});
  happened_.deeper();
  happened_.switches(offer.plate, offer.entry);
}

DeviceId Missing::plate_for(DeviceId module) const {
  const Site& site = history_.site();
  const auto& intended = site.modules[site.module_index(module)].intended;
  DeviceId first_own = no_device;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (site.is_neighbour(plate)) continue;
    if (first_own == no_device) first_own = plate;
    const PlateState& state = world_.plates[plate];
    if (intended && state.site == intended->site && state.zone == intended->zone) return plate;
  }
  return first_own;
}

Step Missing::press(DeviceId device, Button button) const {
  return push_step(StepKind::press, device, only(button), history_.scenario().times.press);
}

/// What is still lacking, as things stand, for the module to take an address from the plate.
std::vector<Step> Missing::steps_to_address(DeviceId module, DeviceId plate, bool module_first) const {
  const PlateFamily& family = history_.site().plate_family(plate);
  const PlateState& state = world_.plates[plate];
  const bool plate_in_setup = world_.devices[plate].mode == Mode::setup;
  std::vector<Step> steps;
  if (state.zone == 0) {
    Step switches;
    switches.kind = StepKind::switches;
    switches.device = plate;
    switches.zone = std::uint8_t{1};
    steps.push_back(switches);
  }
  const auto hold_module = [&] {
    if (world_.devices[module].mode != Mode::setup) add_setup_steps(history_.site(), module, sure, steps);
  };
  if (module_first) hold_module();
  if (!plate_in_setup) add_setup_steps(history_.site(), plate, sure, steps);
  const std::uint8_t wanted = channel_for(module);
  const std::uint8_t now = plate_in_setup ? state.channel : first_channel(family);
  const Button towards = wanted > now ? family.next : family.previous;
  if (towards != no_button) {
    steps.insert(steps.end(), static_cast<std::size_t>(std::abs(int{wanted} - int{now})),
                 press(plate, towards));
  }
  if (!module_first) hold_module();
  if (family.assign != no_button) steps.push_back(press(plate, family.assign));
  if (confirmed_within(history_.site(), module) > sim::Duration::zero()) steps.push_back(press(module, 0));
  steps.push_back(wait_step(settling));
  return steps;
}

void Missing::nothing_offered(DeviceId module, sim::EntryId after) {
  const DeviceId plate = plate_for(module);
  if (plate == no_device) return;
  const sim::Instant at = world_.now;
  const auto list = [&](const std::vector<Step>& steps) {
    std::string text;
    for (const Step& step : steps) {
      if (step.kind == StepKind::wait) continue;
      if (!text.empty()) text += ", ";
      text += describe(history_.scenario(), step);
    }
    return text;
  };
  const std::string& name = history_.site().name(module);
  const bool afresh = after == sim::no_entry;
  const std::string when = afresh ? "" : clock_text(history_[after].at);
  Lead lead{0,
            at,
            afresh ? tr("until then nobody had offered {} an address", name)
                   : tr("after {} nobody offered {} an address", when, name),
            afresh ? tr("nobody had offered {} one", happened_.who(module))
                   : tr("nobody offered {} one after {}", happened_.who(module), when),
            std::nullopt,
            {}};
  for (const bool module_first : {true, false}) {
    const std::vector<Step> steps = steps_to_address(module, plate, module_first);
    lead.ways.push_back({{insert_now(steps, at)}, tr("had somebody done so ({})", list(steps))});
  }
  happened_.add(std::move(lead));
}

/// The installer does these just before what they were at, at that moment; who has done a step and waits for the hour of
/// the next does them in between.
Change Missing::insert_now(std::vector<Step> steps, sim::Instant at) const {
  StepRef here = step_at(history_.scenario(), 0, at);
  const PersonState& installer = world_.people.front();
  const bool between_two = installer.done == 0 && steps_begun(installer) == installer.step;
  if (at == world_.now && between_two) here.step = installer.step;
  const std::size_t count = history_.scenario().people.front().script.size();
  if (here.step < count) {
    // Named as the original names it; what was put in has no name there, so the step after it has to do.
    for (std::uint32_t step = here.step; step < count; ++step) {
      const auto original = history_.original_step({0, step});
      if (original) return change::Insert{*original, std::move(steps)};
    }
  }
  return change::Insert{{0, history_.original_length(0)}, std::move(steps)};
}

// --- loads ---

void Missing::level_kept(DeviceId module, sim::EntryId after) {
  const auto commands = [](TelegramKind kind) {
    return kind == TelegramKind::on || kind == TelegramKind::off || kind == TelegramKind::recall ||
           kind == TelegramKind::raise || kind == TelegramKind::lower;
  };
  for (sim::EntryId id = history_.end(); id-- > after + 1;) {
    const sim::Entry& entry = history_[id];
    if (entry.who != module || (what(entry) != What::heard && what(entry) != What::lost)) continue;
    const Telegram telegram = unpack(entry.b);
    const ModuleMemory& memory = world_.modules[history_.site().module_index(module)].memory;
    if (!commands(telegram.kind)) continue;
    if (what(entry) == What::lost && !is_meant(history_.site().module_family(module), memory, telegram))
      continue;
    const sim::EntryId obeyed = history_.next(
        id, [&](const sim::Entry& each) { return each.cause == id && what(each) == What::obeyed; });
    if (obeyed != sim::no_entry) return;  // and found it there already
    if (what(entry) == What::lost) {
      happened_.lost(id);
    } else if (obeys(memory, telegram.site, telegram.zone) &&
               !understands(history_.site().module_family(module), telegram)) {
      not_understood(module, id);
    } else {
      happened_.address(module, id);
      happened_.switches(entry.a, id);
    }
    return;
  }
}

void Missing::not_understood(DeviceId module, sim::EntryId heard) {
  const Site& site = history_.site();
  const sim::Entry& entry = history_[heard];
  const auto plate = static_cast<DeviceId>(entry.a);
  const std::string telegram = spoken(unpack(entry.b));
  happened_.add({0,
                 entry.at,
                 tr("{} heard \"{}\" from {}, which is of another generation, and had no use for it",
                    site.name(module), telegram, site.name(plate)),
                 tr("{} heard \"{}\" from {} at {}, which is of another generation, and had no use for it{}",
                    happened_.who(module), telegram, site.name(plate), clock_text(entry.at),
                    history_.in_brackets(heard)),
                 history_.step_behind(heard),
                 {{{change::Generation{module, site.plates[plate].family,
                                       site.modules[site.module_index(module)].memory}},
                   tr("had {} been of {}'s generation", site.name(module), site.name(plate))}}});
}

}  // namespace drybus::model
