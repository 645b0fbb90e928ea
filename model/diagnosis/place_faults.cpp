#include <algorithm>
#include <bit>
#include <cmath>
#include <iterator>

#include "model/diagnosis/placing.h"

namespace drybus::model {

using namespace std::chrono_literals;

namespace {

/// A room's breaker is off somewhat more seldom than a device in it is dead. Judgement.
constexpr double a_breaker = 0.75;

/// What is broken was broken from the beginning as often as not; the other moments share the rest. Judgement.
constexpr double broken_before = 0.5;

/// So often a button sticks while nobody touches it; judgement.
constexpr double stuck_untouched = 0.2;

/// Which telegrams noise takes is chance: two courses that it can take stand for all. Judgement.
constexpr double a_course_of_noise = 0.5;

double share_of(const std::optional<std::uint32_t>& at, std::size_t moments) {
  if (moments < 2) return 1;
  return at ? (1 - broken_before) / static_cast<double>(moments - 1) : broken_before;
}

/// A number with one of its switches set otherwise.
std::vector<std::uint8_t> one_switch_off(const SwitchBank& bank, std::uint8_t number) {
  std::vector<std::uint8_t> numbers;
  unsigned unit = 1;
  for (unsigned i = 0; i < bank.count; ++i) {
    if (bank.kind == SwitchBank::Kind::binary) {
      numbers.push_back(static_cast<std::uint8_t>(number ^ (1u << i)));
      continue;
    }
    const unsigned digit = number / unit % 10;
    if (digit < 9 && number + unit <= bank.largest())
      numbers.push_back(static_cast<std::uint8_t>(number + unit));
    if (digit > 0) numbers.push_back(static_cast<std::uint8_t>(number - unit));
    unit *= 10;
  }
  return numbers;
}

}  // namespace

// --- switches and memories ---

void Placing::place_start_slips() {
  for (std::size_t i = 0; i < site_.plates.size(); ++i) {
    const PlateSpec& plate = site_.plates[i];
    if (plate.neighbour || was_read(static_cast<DeviceId>(i))) continue;
    const auto sites = one_switch_off(site_.plate_family(static_cast<DeviceId>(i)).site_switches, plate.site);
    const auto zones = one_switch_off(site_.plate_family(static_cast<DeviceId>(i)).zone_switches, plate.zone);
    const double share = chance(Mishap::switch_wrong) / static_cast<double>(sites.size() + zones.size());
    for (const std::uint8_t number : sites) add_switches(static_cast<DeviceId>(i), number, plate.zone, share);
    for (const std::uint8_t number : zones) add_switches(static_cast<DeviceId>(i), plate.site, number, share);
  }
  for (const DeviceId module : our_modules()) place_other_addresses(module);
  for (const DeviceId module : our_modules()) place_other_generations(module);
}

bool Placing::was_read(DeviceId plate) const {
  return std::any_of(believed_.checks.begin(), believed_.checks.end(), [plate](const Check& check) {
    return check.fact == Fact::site && check.device == plate;
  });
}

void Placing::add_switches(DeviceId plate, std::uint8_t number, std::uint8_t zone, double with_chance) {
  PlacedCause placed;
  placed.cause = Mishap::switch_wrong;
  placed.device = plate;
  placed.address = {number, zone, 0};
  add(placed, with_chance, {change::Switches{plate, number, zone}});
}

void Placing::place_wrong_switches_in_step() {
  const auto add_number = [&](const SwitchBank& bank, const std::optional<std::uint8_t>& number,
                              bool is_site) {
    if (!number) return;
    for (const std::uint8_t wrong : one_switch_off(bank, *number)) {
      Step other = step();
      (is_site ? other.site : other.zone) = wrong;
      PlacedCause placed = placed_here(Mishap::switch_wrong);
      placed.address = {other.site.value_or(0), other.zone.value_or(0), 0};
      add(placed, chance(Mishap::switch_wrong) / bank.count, instead(other));
    }
  };
  add_number(site_.plate_family(step().device).site_switches, step().site, true);
  add_number(site_.plate_family(step().device).zone_switches, step().zone, false);
}

void Placing::place_other_addresses(DeviceId module) {
  const ModuleMemory& believed = site_.modules[site_.module_index(module)].memory;
  std::set<Address> others;
  for (const ModuleSpec& each : site_.modules) {
    if (each.intended && !each.neighbour) others.insert(*each.intended);
  }
  for (const PlateSpec& plate : site_.plates) {
    if (plate.neighbour) others.insert({plate.site, plate.zone, 1});
  }
  others.insert(foreign_address());
  others.erase(believed.address);
  const double share = chance(Mishap::other_address) / static_cast<double>(others.size() + 2);
  for (const Address& address : others) add_memory(module, address, share);
  if (believed.addressed())
    add_memory(module, factory_memory(site_.module_family(module)).address, 2 * share);
}

Address Placing::foreign_address() const {
  std::uint8_t number = site_.family.plate.site_switches.largest();
  const auto used = [&](std::uint8_t candidate) {
    return candidate == site_.family.module.factory_site ||
           std::any_of(site_.plates.begin(), site_.plates.end(),
                       [&](const PlateSpec& p) { return p.site == candidate; });
  };
  while (number > 1 && used(number)) --number;
  return {number, 1, 1};
}

void Placing::add_memory(DeviceId module, const Address& address, double with_chance) {
  ModuleMemory memory = site_.modules[site_.module_index(module)].memory;
  const bool addressed = address.channel != 0;
  memory.address = address;
  if (!addressed) memory = factory_memory(site_.module_family(module));
  if (addressed && address.site != site_.module_family(module).factory_site) memory.power_up = PowerUp::off;
  PlacedCause placed;
  placed.cause = Mishap::other_address;
  placed.device = module;
  placed.address = address;
  add(placed, with_chance, {change::Memory{module, memory}});
}

void Placing::place_other_generations(DeviceId module) {
  const ModuleSpec& believed = site_.modules[site_.module_index(module)];
  const auto others = static_cast<std::uint16_t>(site_.other_families.size());
  for (std::uint16_t family = 0; family <= others; ++family) {
    if (family == believed.family) continue;
    ModuleMemory memory = believed.memory;
    if (!memory.addressed())
      memory = factory_memory(family == 0 ? site_.family.module : site_.other_families[family - 1u].module);
    PlacedCause placed;
    placed.cause = Mishap::other_generation;
    placed.device = module;
    placed.family = family;
    // Modules of some families ask: then any other may hear something else.
    PlacedChange& change =
        add(placed, chance(Mishap::other_generation) / others, {change::Generation{module, family, memory}});
    const ModuleFamily& really = family == 0 ? site_.family.module : site_.other_families[family - 1u].module;
    change.traffic = change.traffic || really.ask > sim::Duration::zero();
  }
}

// --- things that break by themselves ---

std::vector<std::optional<std::uint32_t>> Placing::moments(DeviceId device) const {
  std::set<std::uint32_t> all(positions_.begin(), positions_.end());
  for (std::uint32_t i = 1; i < script_.size() && device != no_device && !site_.is_plate(device); ++i) {
    if (is_act(script_[i]) && script_[i].device == device) all.insert(i);
  }
  std::vector<std::optional<std::uint32_t>> moments{std::nullopt};
  moments.insert(moments.end(), all.begin(), all.end());
  return moments;
}

std::vector<std::optional<std::uint32_t>> Placing::few_moments() const {
  std::vector<std::optional<std::uint32_t>> moments{std::nullopt};
  for (const std::uint32_t position : few_positions()) moments.emplace_back(position);
  return moments;
}

std::vector<std::uint32_t> Placing::few_positions() const {
  constexpr std::size_t most = 4;
  std::vector<std::uint32_t> spread;
  const std::size_t count = std::min(most, positions_.size());
  for (std::size_t i = 0; i < count; ++i)
    spread.push_back(positions_[(i + 1) * positions_.size() / count - 1]);
  return spread;
}

/// Of what somebody stood through, some: a button sticks while nobody looks as well.
std::vector<std::uint32_t> Placing::few_waits() const {
  constexpr std::size_t most = 3;
  std::vector<std::uint32_t> waits;
  for (std::uint32_t i = 1; i < script_.size(); ++i) {
    if (script_[i].kind == StepKind::wait) waits.push_back(i);
  }
  std::vector<std::uint32_t> spread;
  const std::size_t count = std::min(most, waits.size());
  for (std::size_t i = 0; i < count; ++i) spread.push_back(waits[(i + 1) * waits.size() / count - 1]);
  return spread;
}

Changes Placing::before(std::optional<std::uint32_t> at, std::vector<Step> steps) {
  return {change::Insert{{0, at.value_or(0)}, std::move(steps)}};
}

void Placing::place_device_faults(DeviceId device) {
  if (site_.is_neighbour(device)) return;
  const auto when = moments(device);
  for (const auto& at : when) {
    Step off;
    off.kind = StepKind::power;
    off.device = device;
    off.on = false;
    PlacedCause placed;
    placed.cause = Mishap::dead_device;
    placed.device = device;
    placed.step = at;
    add(placed, chance(Mishap::dead_device) * share_of(at, when.size()), before(at, {off})).covers =
        covers(at, when.size());
  }
  const std::vector<std::uint32_t> cuts = few_positions();
  for (const std::uint32_t position : cuts) {
    add_power_cut(device, position, chance(Mishap::power_cut) / static_cast<double>(cuts.size()));
  }
  if (device == 0) {
    for (const std::uint32_t position : cuts) {
      add_power_cut(no_device, position,
                    chance(Mishap::power_cut) / static_cast<double>(1 + positions_.size()));
    }
  }
  place_stuck(device);
}

void Placing::place_breaker(PlaceId place) {
  std::vector<Step> off;
  std::vector<DeviceId> modules;
  for (const DeviceId module : our_modules()) {
    if (site_.place(module) != place) continue;
    modules.push_back(module);
    off.emplace_back().kind = StepKind::power;
    off.back().device = module;
    off.back().on = false;
  }
  if (modules.size() < 2) return;
  const auto when = moments();
  for (const auto& at : when) {
    PlacedCause placed;
    placed.cause = Mishap::dead_device;
    placed.place = place;
    placed.step = at;
    PlacedChange& added =
        add(placed, chance(Mishap::dead_device) * a_breaker * share_of(at, when.size()), before(at, off));
    added.covers = covers(at, when.size());
    added.touches = modules;
    added.traffic = false;
  }
}

void Placing::add_power_cut(DeviceId device, std::uint32_t position, double with_chance) {
  Step off;
  off.kind = StepKind::power;
  off.device = device;
  off.on = false;
  Step on = off;
  on.on = true;
  PlacedCause placed;
  placed.cause = Mishap::power_cut;
  placed.device = device;
  placed.step = position;
  add(placed, with_chance, before(position, {off, on})).covers = covers(position, few_positions().size() + 1);
}

void Placing::place_stuck(DeviceId device) {
  const std::size_t buttons = site_.is_plate(device) ? site_.plate_family(device).buttons.size() : 1;
  for (std::size_t i = 0; i < buttons; ++i) {
    const auto button = static_cast<Button>(i);
    std::vector<std::uint32_t> uses;
    for (std::uint32_t s = 0; s < script_.size(); ++s) {
      if (is_act(script_[s]) && script_[s].device == device && (script_[s].buttons & only(button)) != 0)
        uses.push_back(s);
    }
    std::vector<std::optional<std::uint32_t>> when{std::nullopt};
    if (!uses.empty()) when.emplace_back(uses.front() + 1);
    if (uses.size() > 1) when.emplace_back(uses.back() + 1);
    const std::size_t at_hand = when.size();
    for (const std::uint32_t wait : few_waits()) {
      if (std::find(when.begin(), when.end(), std::optional{wait}) == when.end()) when.emplace_back(wait);
    }
    for (std::size_t i = 0; i < when.size(); ++i) {
      const auto& at = when[i];
      // A button sticks when it is pressed, and seldom while nobody touches it.
      const double share = i < at_hand
                               ? share_of(at, at_hand) * (when.size() > at_hand ? 1 - stuck_untouched : 1)
                               : stuck_untouched / static_cast<double>(when.size() - at_hand);
      Step stuck;
      stuck.kind = StepKind::fault;
      stuck.fault.kind = FaultKind::stuck;
      stuck.fault.device = device;
      stuck.fault.button = button;
      PlacedCause placed;
      placed.cause = Mishap::stuck_button;
      placed.device = device;
      placed.buttons = only(button);
      placed.step = at;
      add(placed, chance(Mishap::stuck_button) * share / static_cast<double>(buttons), before(at, {stuck}))
          .covers = covers(at, when.size());
    }
  }
}

// --- links ---

void Placing::place_link_faults() {
  for (std::uint32_t link = 0; link < site_.network.links.size(); ++link) {
    const sim::Link& ends = site_.network.links[link];
    const sim::MediumKind kind = site_.network.media[site_.network.nodes[ends.a].medium].kind;
    // On radio it is only of interest whether a module hears a plate.
    if (kind == sim::MediumKind::radio && (ends.a >= site_.plates.size() || !is_device_module(ends.b)))
      continue;
    place_link_fault(link, FaultKind::open, Mishap::open_link, 0, 1);
    if (kind == sim::MediumKind::line) place_link_fault(link, FaultKind::shorted, Mishap::shorted_link, 0, 1);
    // Which telegrams are lost is chance: several rates stand for several courses that it can take.
    for (const std::uint32_t ppb : {30'000'000u, 8'000'000u}) {
      place_link_fault(link, FaultKind::noisy, Mishap::noisy_link, ppb, 2);
    }
  }
}

bool Placing::is_device_module(sim::NodeId node) const {
  return node >= site_.plates.size() && node < site_.device_count();
}

std::vector<DeviceId> Placing::beyond_link(std::uint32_t link) const {
  sim::Medium whole{site_.network};
  sim::Medium cut = whole;
  cut.set_link(site_.network, link, sim::LinkState::open);
  std::vector<DeviceId> cut_off;
  for (std::size_t i = 0; i < site_.modules.size(); ++i) {
    const DeviceId module = site_.module_id(i);
    for (std::size_t plate = 0; plate < site_.plates.size(); ++plate) {
      const auto from = static_cast<sim::NodeId>(plate);
      if (whole.path(site_.network, from, module) == cut.path(site_.network, from, module)) continue;
      cut_off.push_back(module);
      break;
    }
  }
  return cut_off;
}

void Placing::place_link_fault(std::uint32_t link, FaultKind kind, Mishap cause, std::uint32_t ppb,
                               std::size_t shares) {
  // Noise is of long standing, and costs most to follow.
  const auto when = kind == FaultKind::open    ? moments()
                    : kind == FaultKind::noisy ? std::vector<std::optional<std::uint32_t>>{std::nullopt}
                                               : few_moments();
  const std::vector<DeviceId> touched = kind == FaultKind::shorted ? our_modules() : beyond_link(link);
  for (const auto& at : when) {
    Step broken;
    broken.kind = StepKind::fault;
    broken.fault.kind = kind;
    broken.fault.link = link;
    broken.fault.bit_error_ppb = ppb;
    PlacedCause placed;
    placed.cause = cause;
    placed.link = link;
    placed.step = at;
    PlacedChange& added = add(placed, chance(cause) * share_of(at, when.size()) / static_cast<double>(shares),
                              before(at, {broken}));
    added.covers = kind == FaultKind::noisy ? a_course_of_noise : covers(at, when.size());
    added.touches = touched;
    added.traffic = false;
  }
}

// --- neighbours ---

void Placing::place_neighbours() {
  std::set<std::uint32_t> looks;
  for (const Seen& seen : report_.seen)
    looks.insert(seen.after_step ? *seen.after_step + 1 : static_cast<std::uint32_t>(script_.size()));
  constexpr std::size_t most = 6;
  // What somebody called about was there before the first answer, however many followed.
  while (report_.answers_from && looks.size() > most && *looks.rbegin() > *report_.answers_from)
    looks.erase(std::prev(looks.end()));
  while (looks.size() > most) looks.erase(looks.begin());
  for (std::size_t i = 0; i < site_.plates.size(); ++i) {
    if (!site_.plates[i].neighbour) continue;
    const auto plate = static_cast<DeviceId>(i);
    for (const Address& number : numbers_of_ours(plate)) {
      for (const std::uint32_t look : looks) place_neighbour_press(plate, number, look, looks.size());
    }
  }
}

std::vector<Address> Placing::numbers_of_ours(DeviceId neighbour) const {
  std::vector<Address> numbers{{site_.plates[neighbour].site, site_.plates[neighbour].zone, 0}};
  for (const PlateSpec& plate : site_.plates) {
    if (!plate.neighbour) numbers.push_back({plate.site, plate.zone, 0});
  }
  return numbers;
}

void Placing::place_neighbour_press(DeviceId plate, const Address& number, std::uint32_t look,
                                    std::size_t looks) {
  const PlateFamily& family = site_.plate_family(plate);
  for (const Command command : {Command::on, Command::off}) {
    for (std::size_t i = 0; i < family.buttons.size(); ++i) {
      if (!family.press[i].gives(command)) continue;
      add_neighbour_press(plate, number, static_cast<Button>(i), look,
                          chance(Mishap::neighbour) / static_cast<double>(2 * looks));
      break;
    }
  }
}

void Placing::add_neighbour_press(DeviceId plate, const Address& number, Button button, std::uint32_t look,
                                  double with_chance) {
  const sim::Instant seen_at = look < times_.begins.size() ? times_.begins[look] : times_.ends;
  Step press = push_step(StepKind::press, plate, only(button), believed_.times.press);
  press.at = std::max(sim::start_of_run, seen_at - 2s);
  PlacedCause placed;
  placed.cause = Mishap::neighbour;
  placed.device = plate;
  placed.buttons = only(button);
  placed.address = number;
  if (look > 0) placed.step = look - 1;
  Changes changes{change::Meanwhile{{press}}};
  const PlateSpec& spec = site_.plates[plate];
  if (spec.site != number.site || spec.zone != number.zone) {
    changes.push_back(change::Switches{plate, number.site, number.zone});
  }
  add(placed, with_chance, std::move(changes));
}

}  // namespace drybus::model
