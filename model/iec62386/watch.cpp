#include "model/iec62386/watch.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::iec62386 {

using model::tr;

namespace {

std::string names(const Site& site, const std::vector<std::uint32_t>& devices) {
  std::vector<std::string> all;
  for (const std::uint32_t each : devices) all.push_back(site.name(each));
  if (all.size() > 6)
    return tr("{} and {} more", fmt::format("{}", fmt::join(all.begin(), all.begin() + 5, ", ")),
              all.size() - 5);
  return fmt::format("{}", fmt::join(all, ", "));
}

}  // namespace

Watch::Watch(const Scenario& scenario, World& world, const sim::Record& record)
    : scenario_(scenario),
      site_(scenario.site),
      world_(world),
      record_(record),
      in_round_(site_.controllers.size()),
      takes_stock_(site_.controllers.size()),
      expected_(site_.gear.size()),
      ran_out_(site_.gear.size()),
      over_64_(site_.lines.size()),
      dtr0_last_(site_.lines.size()),
      dtr0_by_(site_.controllers.size()) {
  for (const GearSpec& gear : site_.gear) randoms_.push_back(gear.memory.random);
}

// --- findings as such ---

protocol::Found* Watch::find_open(FindingId id, std::uint32_t number) {
  const auto found = std::find_if(open_.begin(), open_.end(),
                                  [&](const Open& open) { return open.id == id && open.number == number; });
  return found == open_.end() ? nullptr : &findings_[found->finding];
}

void Watch::open(FindingId id, std::uint32_t number, const std::vector<std::uint32_t>& devices,
                 std::string text, std::vector<sim::EntryId> because) {
  if (protocol::Found* found = find_open(id, number)) {
    for (const std::uint32_t each : devices) {
      const std::string& name = site_.name(each);
      if (std::find(found->devices.begin(), found->devices.end(), name) == found->devices.end())
        found->devices.push_back(name);
    }
    return;
  }
  protocol::Found found;
  found.kind = static_cast<std::size_t>(id);
  found.at = world_.now;
  for (const std::uint32_t each : devices) found.devices.push_back(site_.name(each));
  found.text = std::move(text);
  found.because = std::move(because);
  open_.push_back({id, number, findings_.size()});
  findings_.push_back(std::move(found));
}

void Watch::close(FindingId id, std::uint32_t number) {
  const auto found = std::find_if(open_.begin(), open_.end(),
                                  [&](const Open& open) { return open.id == id && open.number == number; });
  if (found == open_.end()) return;
  findings_[found->finding].until = world_.now;
  open_.erase(found);
}

void Watch::at_once(FindingId id, std::uint32_t each, std::string text, std::vector<sim::EntryId> because) {
  const auto same = std::find_if(findings_.begin(), findings_.end(), [&](const protocol::Found& found) {
    return found.kind == static_cast<std::size_t>(id) && found.at == world_.now;
  });
  if (same != findings_.end()) {
    same->devices.push_back(site_.name(each));
    return;
  }
  protocol::Found found;
  found.kind = static_cast<std::size_t>(id);
  found.at = world_.now;
  found.until = world_.now;
  found.devices = {site_.name(each)};
  found.text = std::move(text);
  found.because = std::move(because);
  findings_.push_back(std::move(found));
}

void Watch::keep(FindingId id, std::uint32_t number, const Gear& gear, const std::string& text,
                 std::vector<sim::EntryId> because) {
  if (gear.empty()) return close(id, number);
  std::vector<std::uint32_t> devices;
  for (const Index each : gear) devices.push_back(device(each));
  open(id, number, devices, fmt::format("{}: {}", names(site_, devices), text), std::move(because));
}

Index Watch::group_of(Index gear) const {
  return world_.group(site_.gear[gear].line);
}

std::uint32_t Watch::device(Index gear) const {
  return site_.device_of_gear(gear);
}

bool Watch::round_in(Index group) const {
  for (std::size_t i = 0; i < in_round_.size(); ++i) {
    if (in_round_[i] && world_.group(site_.controllers[i].line) == group) return true;
  }
  return false;
}

// --- what holds for a while ---

void Watch::state_changed(sim::EntryId entry) {
  lines(entry);
  for (Index group = 0; group < site_.lines.size(); ++group) {
    if (world_.group(group) != group || round_in(group)) continue;
    shared_addresses(group, entry);
    addresses_missing(group, entry);
    bool any = false;
    for (Index gear = 0; gear < site_.gear.size(); ++gear)
      any = any || (group_of(gear) == group && world_.gear[gear].initialised);
    if (!any) close(FindingId::left_initialised, group);
  }
}

void Watch::shared_addresses(Index group, sim::EntryId entry) {
  std::map<ShortAddress, Gear> by_address;
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    const GearState& state = world_.gear[gear];
    if (group_of(gear) == group && state.memory.short_address != no_short && !state.dead)
      by_address[state.memory.short_address].push_back(gear);
  }
  for (unsigned address = 0; address < short_addresses; ++address) {
    const Gear& gear = by_address[static_cast<ShortAddress>(address)];
    const bool shared = gear.size() > 1;
    const bool twins = shared && std::all_of(gear.begin(), gear.end(), [&](Index each) {
                         return world_.gear[each].memory.random == world_.gear[gear.front()].memory.random &&
                                world_.gear[each].memory.random != last_random;
                       });
    const std::uint32_t number = (std::uint32_t{group} << 8U) | address;
    std::vector<sim::EntryId> because;
    for (const Index each : gear) {
      if (world_.beside[each].programmed_by != sim::no_entry)
        because.push_back(world_.beside[each].programmed_by);
    }
    std::sort(because.rbegin(), because.rend());
    because.erase(std::unique(because.begin(), because.end()), because.end());
    if (because.empty()) because.push_back(entry);
    keep(FindingId::random_twins, number, twins ? gear : Gear{},
         tr("drew the same random address, were found as one, and both took short address {}", address),
         because);
    keep(FindingId::shared_short_address, number, shared && !twins ? gear : Gear{},
         tr("both have short address {}, act as one, and answer at once", address), because);
  }
}

void Watch::addresses_missing(Index group, sim::EntryId entry) {
  Gear ran_out;
  Gear too_many;
  Gear others;
  sim::EntryId when_ran_out = sim::no_entry;
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    const ShortAddress address = world_.gear[gear].memory.short_address;
    if (group_of(gear) != group || !expected_[gear]) continue;
    const auto& intended = site_.gear[gear].intended;
    const bool unnamed =
        address == no_short || (ran_out_[gear] != sim::no_entry && intended && *intended != address);
    if (!unnamed) {
      ran_out_[gear] = sim::no_entry;
    } else if (ran_out_[gear] != sim::no_entry) {
      ran_out.push_back(gear);
      when_ran_out = ran_out_[gear];
    } else if (over_64_[group] != sim::no_entry) {
      too_many.push_back(gear);
    } else {
      others.push_back(gear);
    }
  }
  keep(FindingId::init_ran_out, group, ran_out,
       tr("initialise ran out after 15 minutes, before it had its number; nothing told of it"),
       {when_ran_out});
  keep(FindingId::over_64, group, too_many, tr("all 64 short addresses were given when it was found"),
       {over_64_[group]});
  keep(FindingId::no_short_address, group, others,
       tr("has no short address, and obeys only what is said to all"), {entry});
}

void Watch::lines(sim::EntryId entry) {
  for (Index line = 0; line < site_.lines.size(); ++line) {
    const LineNow& now = world_.lines[line];
    const std::uint32_t number = line;
    const std::vector<std::uint32_t> devices = {site_.device_of_line(line)};
    const auto when = [&](FindingId id, bool so, std::string text) {
      if (so) {
        open(id, number, devices, std::move(text), {entry});
      } else {
        close(id, number);
      }
    };
    std::uint32_t load = 0;
    for (std::size_t i = 0; i < site_.gear.size(); ++i)
      load += site_.gear[i].line == line ? site_.gear[i].current_ua : 0;
    for (std::size_t i = 0; i < site_.controllers.size(); ++i) {
      const ControllerSpec& spec = site_.controllers[i];
      if (spec.line == line && world_.controllers[i].plugged && !spec.supplies_line) load += spec.current_ua;
    }
    const std::uint32_t supply = (now.supply_on ? site_.lines[line].supply_ma : 0) + now.second_supply_ma;
    Gear holding;
    for (Index gear = 0; gear < site_.gear.size(); ++gear) {
      if (site_.gear[gear].line == line && world_.beside[gear].holds_low) holding.push_back(gear);
    }
    when(FindingId::mains_on_line, now.mains_on_it,
         tr("a phase is on the pair: its supply and its gear are dead, and it is dangerous to touch"));
    when(FindingId::line_shorted, now.shorted || !holding.empty(),
         holding.empty()
             ? tr("its two wires touch: nobody can send, and all gear is at its system failure level")
             : tr("{} holds it low: nobody can send, and all gear is at its system failure level",
                  site_.gear[holding.front()].name));
    const bool too_little = now.supply_on && load > supply * 1000 && now.joined_to == no_index;
    when(FindingId::line_overloaded, too_little || supply > 250,
         too_little
             ? tr("what hangs on it draws {} mA, and its supply gives {} mA", (load + 999) / 1000, supply)
             : tr("its supplies give {} mA together; 250 mA is the most", supply));
    if (now.joined_to == no_index) close(FindingId::lines_joined, line);
  }
}

// --- addressing ---

void Watch::searchers(Index group, sim::EntryId entry) {
  std::vector<std::uint32_t> searching;
  for (std::size_t i = 0; i < in_round_.size(); ++i) {
    if (in_round_[i] && world_.group(site_.controllers[i].line) == group)
      searching.push_back(static_cast<std::uint32_t>(i));
  }
  if (searching.size() < 2) return close(FindingId::two_searchers, group);
  open(FindingId::two_searchers, group, searching,
       tr("{} address on the same line at the same time: each moves the other's search address and DTR0",
          names(site_, searching)),
       {entry});
}

void Watch::job_begun(Index controller, sim::EntryId entry) {
  const Controller::Job job = world_.controllers[controller].job;
  takes_stock_[controller] = job == Controller::Job::inventory;
  if (job != Controller::Job::addressing) return;
  in_round_[controller] = true;
  searchers(world_.group(site_.controllers[controller].line), entry);
}

void Watch::job_over(Index controller, sim::EntryId entry) {
  if (takes_stock_[controller]) {
    takes_stock_[controller] = false;
    close(FindingId::randomised_again, controller);
  }
  if (!in_round_[controller]) return;
  in_round_[controller] = false;
  const Index group = world_.group(site_.controllers[controller].line);
  searchers(group, entry);
  if (round_in(group)) return;
  const bool searched = world_.controllers[controller].round.searcher.compares > 0;
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    if (searched && group_of(gear) == group) expected_[gear] = true;
  }
  left_initialised(group, entry);
  state_changed(entry);
}

void Watch::left_initialised(Index group, sim::EntryId entry) {
  Gear left;
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    if (group_of(gear) == group && world_.gear[gear].initialised) left.push_back(gear);
  }
  keep(FindingId::left_initialised, group, left,
       tr("still initialised, though nobody addresses any more: the next search on this line finds it, too"),
       {entry});
}

void Watch::no_number(Index controller, sim::EntryId entry) {
  over_64_[world_.group(site_.controllers[controller].line)] = entry;
}

void Watch::swapped(Index gear, sim::EntryId) {
  expected_[gear] = true;
  randoms_[gear] = world_.gear[gear].memory.random;
  close(FindingId::old_groups, gear);
  close(FindingId::old_scenes, gear);
}

// --- what happens in a moment ---

void Watch::frame(const BitFrame& frame, sim::EntryId entry, Index sender) {
  const Index group = world_.group(site_.controllers[sender].line);
  for (Index line = 0; line < site_.lines.size(); ++line) {
    if (world_.lines[line].joined_to != group) continue;
    const std::uint32_t first = site_.device_of_line(group);
    const std::uint32_t second = site_.device_of_line(line);
    open(FindingId::lines_joined, line, {first, second},
         tr("{} and {} are one: what {} sends is heard on both", site_.name(first), site_.name(second),
            site_.controllers[sender].name),
         {entry});
  }
  const Said said = read(frame);
  if (!said.special || said.command == nullptr || said.command->op != Op::dtr0) return;
  dtr0_last_[group] = dtr0_by_[sender] = entry;
}

void Watch::cannot_send(Index controller, sim::EntryId entry) {
  if (site_.controllers[controller].has_bridge) return;
  const std::string& name = site_.controllers[controller].name;
  open(FindingId::polarity, controller, {controller},
       tr("{} minds which way round its pair is, and neither hears nor sends; the gear does not mind", name),
       {entry});
}

void Watch::unheard(Index gear, sim::EntryId entry) {
  const Index line = site_.gear[gear].line;
  const GearSpec& spec = site_.gear[gear];
  const double drop = drop_v(spec.at_m, site_.lines[line].core_mm2, site_.lines[line].supply_ma);
  open(FindingId::far_end_drop, line, {device(gear)},
       tr("{} answers, and nobody hears it: {} V fall on {:.0f} m of {} mm2 when it pulls the line low; 2 V "
          "is the most",
          spec.name, model::with_decimal_mark(fmt::format("{:.1f}", drop)), spec.at_m,
          model::with_decimal_mark(fmt::format("{}", site_.lines[line].core_mm2))),
       {entry});
}

void Watch::fault(const Fault& fault, sim::EntryId entry) {
  if (fault.kind != FaultKind::lamp) return;
  const std::uint32_t each = device(fault.first);
  if (!fault.on) return close(FindingId::unswitched, each);
  if (world_.gear[fault.first].motion.to != 0)
    open(FindingId::unswitched, each, {each}, tr("{} stays dark, and still answers", site_.name(each)),
         {entry});
}

void Watch::gear_did(Index gear, const Effects& effects, sim::EntryId entry, sim::EntryId cause, Index sender,
                     Level) {
  const bool by_frame = sender != no_index;
  const Said said = by_frame ? read(frame_of(record_[cause])) : Said{};
  if (by_frame) followed(gear, effects, said, cause);
  if (by_frame) settings(gear, effects, said);
  if (effects.has(Did::dtr0_used)) dtr(gear, cause, sender);
  moments(gear, effects, entry, cause, sender);
  lights(gear, effects, entry);
  if (effects.has(Did::programmed)) world_.beside[gear].programmed_by = entry;
  if (effects.has(Did::init_ran_out) && round_in(group_of(gear))) ran_out_[gear] = entry;
  if (effects.has(Did::wants_random)) {
    const RandomAddress before = std::exchange(randoms_[gear], world_.gear[gear].memory.random);
    for (Index i = 0; i < site_.controllers.size(); ++i) {
      const auto& known = world_.controllers[i].known;
      if (std::find(known.begin(), known.end(), before) == known.end() || before == 0) continue;
      open(FindingId::randomised_again, i, {device(gear)},
           tr("{} knows gear on this line by random addresses, which are no longer theirs",
              site_.controllers[i].name),
           {entry});
    }
  }
  const bool addresses =
      effects.has(Did::programmed) || effects.has(Did::init_ended) || effects.has(Did::init_ran_out);
  if (addresses && !round_in(group_of(gear))) state_changed(entry);
}

/// What it followed, that nobody in this run gave it.
void Watch::followed(Index gear, const Effects& effects, const Said& said, sim::EntryId cause) {
  if (said.command == nullptr || said.special) return;
  GearSide& side = world_.beside[gear];
  const std::uint32_t each = device(gear);
  const bool moved = effects.has(Did::level);
  if (moved && said.target.kind == Target::Kind::group &&
      ((side.kept_groups >> said.target.number) & 1U) != 0) {
    open(FindingId::old_groups, gear, {each},
         tr("{} follows group {}, which nobody here gave it", site_.name(each), said.target.number), {cause});
  }
  if (effects.has(Did::scene) && ((side.kept_scenes >> said.number) & 1U) != 0) {
    open(FindingId::old_scenes, gear, {each},
         tr("{} goes to level {} in scene {}, which nobody here set", site_.name(each),
            world_.gear[gear].memory.scenes.at(said.number), said.number),
         {cause});
  }
}

/// What is set in this run is no longer kept from a former life.
void Watch::settings(Index gear, const Effects& effects, const Said& said) {
  GearSide& side = world_.beside[gear];
  const auto without = [&said](std::uint16_t flags) {
    return static_cast<std::uint16_t>(flags & ~(1U << said.number));
  };
  if (effects.has(Did::group_changed)) side.kept_groups = without(side.kept_groups);
  if (effects.has(Did::scene_changed)) side.kept_scenes = without(side.kept_scenes);
  if (effects.has(Did::reset)) side.kept_groups = side.kept_scenes = 0;
  if (side.kept_groups == 0) close(FindingId::old_groups, gear);
  if (side.kept_scenes == 0) close(FindingId::old_scenes, gear);
}

void Watch::dtr(Index gear, sim::EntryId cause, Index sender) {
  const sim::EntryId written = dtr0_last_[group_of(gear)];
  if (sender == no_index || written == sim::no_entry || record_[written].who == sender) return;
  if (dtr0_by_[sender] == sim::no_entry) return;
  const auto value = [&](sim::EntryId entry) { return static_cast<unsigned>(record_[entry].b & 0xFFU); };
  if (value(written) == value(dtr0_by_[sender])) return;
  at_once(FindingId::dtr_trodden, device(gear),
          tr("{} put {} into DTR0, then {} put {} there: the command that followed took that one",
             site_.controllers[sender].name, value(dtr0_by_[sender]), site_.name(record_[written].who),
             value(written)),
          {cause, written});
}

void Watch::moments(Index gear, const Effects& effects, sim::EntryId entry, sim::EntryId cause,
                    Index sender) {
  const std::uint32_t each = device(gear);
  const std::string& name = site_.name(each);
  const GearState& state = world_.gear[gear];
  const std::string frame = sender == no_index ? std::string{} : in_words(frame_of(record_[cause]));
  if (effects.has(Did::twice_missed)) {
    const sim::EntryId first = world_.beside[gear].first_of_two;
    const std::string once = in_words(frame_of(record_[first]));
    at_once(
        FindingId::twice_missed, each,
        sender == no_index
            ? tr("{} heard \"{}\" once, and no second one within 100 ms; it counts only when it comes twice",
                 name, once)
            : tr("{} heard \"{}\" once, and then \"{}\"; it counts only when it comes twice", name, once,
                 frame),
        {entry, first});
  }
  if (effects.has(Did::clipped))
    at_once(FindingId::limits_clip, each,
            tr("{} went to {} only: its levels go from {} to {}", name, state.motion.to,
               state.memory.min_level, state.memory.max_level),
            {entry});
  if (effects.has(Did::mask_ignored))
    at_once(FindingId::mask_mistaken, each, tr("{} was sent level 255, which changes nothing", name),
            {entry});
  if (effects.has(Did::wrong_type))
    at_once(FindingId::wrong_type, each,
            tr("{} is of device type {}, and no frame just before \"{}\" named that", name,
               site_.gear[gear].kind.type, frame),
            {entry});
  const bool waking =
      world_.beside[gear].timers.at(static_cast<std::size_t>(Timer::ready)) != sim::EventQueue::none;
  if (effects.has(Did::not_ready) && waking)
    at_once(FindingId::powered_late, each,
            tr("{} had just got its mains, and did not hear \"{}\"", name, frame), {entry});
}

void Watch::lights(Index gear, const Effects& effects, sim::EntryId entry) {
  const std::uint32_t each = device(gear);
  const std::string& name = site_.name(each);
  const GearState& state = world_.gear[gear];
  const GearSide& side = world_.beside[gear];
  if (effects.has(Did::power_on_level) && state.memory.power_on == 254 && state.motion.to != 0 &&
      side.before_cut == 0)
    at_once(FindingId::lit_at_power_up, each, tr("{} was off, and lit up when the mains came back", name),
            {entry});
  const LineNow& line = world_.lines[site_.gear[gear].line];
  const bool by_itself = !line.shorted && !line.mains_on_it && !line.supply_on;
  if (effects.has(Did::failure_level) && state.memory.system_failure == 254 && side.before_failure != 254 &&
      by_itself)
    at_once(FindingId::lit_at_line_failure, each, tr("{} went to full when the line lost its supply", name),
            {entry});
  if (!effects.has(Did::level)) return;
  if (state.motion.lasts >= std::chrono::seconds{30})
    at_once(FindingId::fade_surprise, each,
            tr("{} takes {} for its way, and seems dead meanwhile", name,
               model::duration_text(state.motion.lasts)),
            {entry});
  if (state.lamp_failed && state.motion.to != 0) {
    open(FindingId::unswitched, each, {each}, tr("{} stays dark, and still answers", name), {entry});
  } else {
    close(FindingId::unswitched, each);
  }
}

}  // namespace drybus::iec62386
