#include <algorithm>
#include <bit>
#include <cmath>
#include <set>

#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/retelling.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// A button that is let go too early is let go after this much of the time needed.
constexpr double too_early = 0.7;
/// Beyond a time-out by this much.
constexpr sim::Duration beyond = 2s;
/// Spread of the logarithm of durations that are only about right, and of those told as exact; judgement.
constexpr double loose_spread = 0.3;
constexpr double told_spread = 0.15;
/// Of two modules the one in the same place is taken for the other so much more often.
constexpr double same_place_weight = 20;

double upper_tail(double sigmas) {
  return 0.5 * std::erfc(sigmas / std::sqrt(2.0));
}

bool is_act(const Step& step) {
  return step.kind == StepKind::press || step.kind == StepKind::hold;
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

/// Goes through a report and puts every cause wherever it can be.
class Placing {
 public:
  Placing(const Retelling& retelling, const Catalogue& catalogue)
      : retelling_(retelling),
        report_(retelling.report()),
        believed_(report_.believed),
        site_(believed_.site),
        script_(believed_.people.front().script),
        catalogue_(catalogue),
        times_(timetable(site_, believed_.times, believed_.people.front())) {
    find_standing();
    find_positions();
  }

  std::vector<PlacedChange> all() {
    for (step_ = 0; step_ < script_.size(); ++step_) place_slips();
    place_start_slips();
    for (std::size_t i = 0; i < site_.device_count(); ++i) place_device_faults(static_cast<DeviceId>(i));
    place_link_faults();
    place_neighbours();
    return std::move(out_);
  }

 private:
  // --- what is known of the run as told ---

  /// Where the installer stands before each step.
  void find_standing() {
    PlaceId at = believed_.people.front().place;
    for (const Step& step : script_) {
      standing_.push_back(at);
      at = place_for(site_, step).value_or(at);
    }
  }

  /// Steps before which something may break by itself. What breaks between two of them does the same as what
  /// breaks at the second: nothing is told apart but by an address that is given, a look, or somebody at the
  /// thing itself.
  void find_positions() {
    std::set<std::uint32_t> positions;
    std::set<std::uint32_t> looks;
    for (const Seen& seen : report_.seen)
      looks.insert(seen.after_step ? *seen.after_step + 1 : last_step() + 1);
    for (std::uint32_t i = 1; i < script_.size(); ++i) {
      if (is_assign(script_[i]) && retelling_.before_step(i).devices[script_[i].device].mode == Mode::setup)
        positions.insert(i);
    }
    for (const std::uint32_t look : looks) {
      // Before what was pressed for it, and just before it.
      std::uint32_t press = look;
      while (press > 0 && !(press < script_.size() && is_act(script_[press]))) --press;
      if (press > 0) positions.insert(press);
      if (look > 0 && look <= last_step()) positions.insert(look);
    }
    constexpr std::size_t most = 80;
    std::vector<std::uint32_t> all(positions.begin(), positions.end());
    for (std::size_t i = 0; i < std::min(most, all.size()); ++i)
      positions_.push_back(all[i * all.size() / std::min(most, all.size())]);
  }
  [[nodiscard]] std::uint32_t last_step() const {
    return script_.empty() ? 0 : static_cast<std::uint32_t>(script_.size() - 1);
  }

  [[nodiscard]] StepRef here() const { return {0, step_}; }
  [[nodiscard]] const Step& step() const { return script_[step_]; }
  [[nodiscard]] double chance(Mishap cause) const { return catalogue_.chance(cause); }
  [[nodiscard]] bool is_module(DeviceId device) const {
    return device != no_device && !site_.is_plate(device);
  }
  [[nodiscard]] bool is_gesture(const Step& of) const {
    return of.kind == StepKind::hold && of.buttons == site_.setup_gesture(of.device) &&
           of.duration >= site_.setup_hold(of.device);
  }
  [[nodiscard]] bool is_assign(const Step& of) const {
    return is_act(of) && site_.is_plate(of.device) && of.buttons == only(site_.family.plate.assign);
  }

  // --- adding ---

  PlacedChange& add(const PlacedCause& placed, double with_chance, Changes changes) {
    PlacedChange each;
    each.placed = placed;
    each.chance = std::clamp(with_chance, 1e-9, 0.5);
    each.changes = std::move(changes);
    if (is_module(each.placed.device)) {
      each.touches.push_back(each.placed.device);
    } else {
      each.traffic = true;
    }
    if (is_module(each.placed.other)) each.touches.push_back(each.placed.other);
    if (each.traffic && each.placed.step == step_ && is_slip_of_a_press(each.placed)) limit_to_setup(each);
    out_.push_back(std::move(each));
    return out_.back();
  }

  // --- how far a slip at a plate in setup can reach ---

  [[nodiscard]] bool is_slip_of_a_press(const PlacedCause& placed) const {
    return placed.device != no_device && !is_fault(placed.cause) && step_ < script_.size() && is_act(step());
  }

  [[nodiscard]] bool in_setup_before(DeviceId device, std::uint32_t index) const {
    return retelling_.before_step(index).devices[device].mode == Mode::setup;
  }

  /// What goes wrong in one setup of a plate is over, at the latest, with its next one: there the channel
  /// begins at 0 again. Not so when the plate is used in between, for it may still be in setup then.
  void limit_to_setup(PlacedChange& change) const {
    const DeviceId plate = change.placed.device;
    const auto steps = static_cast<std::uint32_t>(script_.size());
    std::uint32_t at = step_ + 1;
    while (at < steps && in_setup_before(plate, at)) ++at;
    while (at < steps && !(is_act(script_[at]) && script_[at].device == plate)) ++at;
    if (at >= steps || !is_gesture(script_[at])) return;
    ++at;
    while (at < steps && in_setup_before(plate, at)) ++at;
    if (at >= steps) return;
    change.until = at;
    for (const DeviceId module : our_modules()) {
      bool was = false;
      for (std::uint32_t i = step_; i <= at && !was; ++i) was = in_setup_before(module, i);
      if (was) change.touches.push_back(module);
    }
  }

  [[nodiscard]] PlacedCause placed_here(Mishap cause) const {
    PlacedCause placed;
    placed.cause = cause;
    placed.device = step().device;
    placed.step = step_;
    placed.buttons = step().buttons;
    placed.duration = step().duration;
    return placed;
  }

  /// Another step in place of the present one.
  [[nodiscard]] Changes instead(Step other) const {
    return {change::Insert{here(), {std::move(other)}}, change::Leave{here()}};
  }

  // --- slips ---

  void place_slips() {
    if (is_act(step())) {
      place_forgotten();
      place_repeated();
      place_early();
      site_.is_plate(step().device) ? place_wrong_buttons() : place_wrong_modules();
      if (is_assign(step())) place_at_assign();
      if (site_.is_plate(step().device)) place_lost_in_test();
    }
    if (step().kind == StepKind::switches) {
      place_forgotten();
      place_wrong_switches_in_step();
    }
    place_times();
  }

  void place_forgotten() { add(placed_here(Mishap::forgot), chance(Mishap::forgot), {change::Skip{here()}}); }

  void place_repeated() {
    if (step().kind != StepKind::press) return;
    // Put in before, so that whoever looked after the press saw what both of them did.
    add(placed_here(Mishap::repeated), chance(Mishap::repeated), {change::Insert{here(), {step()}}});
    Step bouncing = step();
    bouncing.bounce = site_.family.debounce * 3 / 2 + 3ms;
    if (bouncing.bounce > bouncing.duration) return;
    add(placed_here(Mishap::bounced), chance(Mishap::bounced), instead(bouncing));
  }

  void place_early() {
    if (!is_gesture(step())) return;
    PlacedCause placed = placed_here(Mishap::let_go_early);
    const auto needed = static_cast<double>(site_.setup_hold(step().device).count());
    placed.duration = std::chrono::round<std::chrono::milliseconds>(
        sim::Duration{static_cast<std::int64_t>(needed * too_early)});
    add(placed, chance(Mishap::let_go_early), {change::Last{here(), placed.duration}});
  }

  void place_wrong_buttons() {
    if (std::popcount(step().buttons) != 1) return;
    const std::size_t buttons = site_.family.plate.buttons.size();
    for (std::size_t i = 0; i < buttons; ++i) {
      Step other = step();
      other.buttons = only(static_cast<Button>(i));
      if (other.buttons == step().buttons) continue;
      PlacedCause placed = placed_here(Mishap::wrong_button);
      placed.buttons = other.buttons;
      add(placed, chance(Mishap::wrong_button) / static_cast<double>(buttons - 1), instead(other));
    }
  }

  [[nodiscard]] double likeness(DeviceId a, DeviceId b) const {
    return site_.place(a) == site_.place(b) ? same_place_weight : 1;
  }

  void place_wrong_modules() {
    const DeviceId right = step().device;
    double all = 0;
    for (const DeviceId other : our_modules()) all += other == right ? 0 : likeness(other, right);
    for (const DeviceId other : our_modules()) {
      if (other == right) continue;
      const double share = likeness(other, right) / all;
      Step taken = step();
      taken.device = other;
      PlacedCause placed = placed_here(Mishap::wrong_module);
      placed.other = other;
      add(placed, chance(Mishap::wrong_module) * share, instead(taken));
      if (!is_gesture(step())) continue;
      placed.cause = Mishap::second_module;
      PlacedChange& second =
          add(placed, chance(Mishap::second_module) * share, {change::Insert{here(), {taken}}});
      second.touches = {other};
    }
  }

  [[nodiscard]] std::vector<DeviceId> our_modules() const {
    std::vector<DeviceId> modules;
    for (std::size_t i = 0; i < site_.modules.size(); ++i) {
      if (!site_.modules[i].neighbour) modules.push_back(site_.module_id(i));
    }
    return modules;
  }

  // --- telegrams lost and writes cut short ---

  void place_at_assign() {
    const World& before = retelling_.before_step(step_);
    for (const DeviceId module : our_modules()) {
      if (before.devices[module].mode != Mode::setup) continue;
      add_power_cut(module, step_, chance(Mishap::power_cut));
      place_lost(module, chance(Mishap::telegram_lost));
      place_write_lost(module);
    }
    add_power_cut(no_device, step_, chance(Mishap::power_cut) / static_cast<double>(1 + positions_.size()));
  }

  void place_lost(DeviceId module, double with_chance) {
    Step deaf;
    deaf.kind = StepKind::fault;
    deaf.fault.kind = FaultKind::deaf;
    deaf.fault.device = module;
    deaf.fault.count = 1;
    PlacedCause placed = placed_here(Mishap::telegram_lost);
    placed.device = module;
    add(placed, with_chance, {change::Insert{here(), {deaf}}});
  }

  /// Whoever is looked at after a press may have missed its telegram.
  void place_lost_in_test() {
    if (is_assign(step()) && retelling_.before_step(step_).devices[step().device].mode == Mode::setup) return;
    std::set<DeviceId> looked_at;
    for (const Seen& seen : report_.seen) {
      const std::uint32_t after = seen.after_step.value_or(static_cast<std::uint32_t>(script_.size()));
      if (is_module(seen.device) && after >= step_ && nothing_sent_between(step_ + 1, after))
        looked_at.insert(seen.device);
    }
    // By the time that somebody calls, another press would have cleared it up.
    for (const DeviceId module : looked_at)
      place_lost(module, chance(Mishap::telegram_lost) * catalogue_.false_alarm);
  }

  [[nodiscard]] bool nothing_sent_between(std::uint32_t from, std::uint32_t last) const {
    for (std::uint32_t i = from; i <= last && i < script_.size(); ++i) {
      if (is_act(script_[i]) && site_.is_plate(script_[i].device)) return false;
    }
    return true;
  }

  void place_write_lost(DeviceId module) {
    const sim::Instant pressed = times_.begins[step_] + walk_before(step_);
    const sim::Duration on_the_bus =
        site_.family.bus.frame_time(encode(Telegram{TelegramKind::assign, 1, 1, 1, 0}));
    Step off;
    off.kind = StepKind::power;
    off.device = module;
    off.on = false;
    off.at = pressed + on_the_bus + site_.family.module.store / 2;
    Step on = off;
    on.on = true;
    on.at = *off.at + 1s;
    PlacedCause placed = placed_here(Mishap::write_lost);
    placed.device = module;
    add(placed, chance(Mishap::write_lost), {change::Meanwhile{{off, on}}});
  }

  [[nodiscard]] sim::Duration walk_before(std::uint32_t index) const {
    const auto there = place_for(site_, script_[index]);
    return there ? site_.walk(standing_[index], *there) : sim::Duration::zero();
  }

  // --- how long things took ---

  /// Waits and ways may have been longer or shorter; what matters is on which side of a time-out they ended.
  void place_times() {
    const bool wait = step().kind == StepKind::wait;
    const sim::Duration told = wait ? step().duration : walk_before(step_);
    if (told <= sim::Duration::zero()) return;
    const bool loose = std::binary_search(report_.loose.begin(), report_.loose.end(), step_) || !wait;
    const double spread = loose ? loose_spread : told_spread;
    const sim::Instant begins = times_.begins[step_];
    const sim::Instant ends = begins + told;
    std::set<sim::Duration> tried;
    for (const sim::Instant due : time_outs_pending()) {
      if (due > ends) {
        const sim::Duration really = std::chrono::ceil<std::chrono::seconds>(due - begins + beyond);
        if (tried.insert(really).second) add_time(Mishap::took_longer, told, really, spread, wait);
      } else if (wait && due - beyond > begins) {
        const sim::Duration really = std::chrono::floor<std::chrono::seconds>(due - begins - beyond);
        if (tried.insert(really).second) add_time(Mishap::took_shorter, told, really, spread, wait);
      }
    }
  }

  /// When setup or blips of anything end by themselves, as it stood when the step began.
  [[nodiscard]] std::set<sim::Instant> time_outs_pending() const {
    const World& world = retelling_.before_step(step_);
    const World& after = retelling_.before_step(step_ + 1);
    std::set<sim::Instant> due;
    for (const World* each : {&world, &after}) {
      for (const DeviceState& device : each->devices) {
        for (const Timer timer : {Timer::time_out, Timer::sleep}) {
          const auto handle = device.timers[static_cast<std::size_t>(timer)];
          if (handle != sim::EventQueue::none && each->queue.due(handle) > times_.begins[step_]) {
            due.insert(std::chrono::round<std::chrono::seconds>(each->queue.due(handle)));
          }
        }
      }
    }
    while (due.size() > 12) due.erase(std::prev(due.end()));
    return due;
  }

  void add_time(Mishap cause, sim::Duration told, sim::Duration really, double spread, bool wait) {
    const double ratio = static_cast<double>(really.count()) / static_cast<double>(told.count());
    const double by_spread = upper_tail(std::abs(std::log(ratio)) / spread);
    PlacedCause placed = placed_here(cause);
    placed.duration = really;
    placed.device = no_device;
    Changes changes;
    if (wait) {
      changes.push_back(change::Last{here(), really});
    } else {
      Step dawdle;
      dawdle.kind = StepKind::wait;
      dawdle.duration = really - told;
      changes.push_back(change::Insert{here(), {dawdle}});
    }
    const double minutes = sim::seconds(really) / 60;
    const double slip = chance(cause) / (1 + minutes / 10);
    add(placed, std::max(by_spread, slip), std::move(changes));
  }

  // --- switches and memories ---

  void place_start_slips() {
    for (std::size_t i = 0; i < site_.plates.size(); ++i) {
      const PlateSpec& plate = site_.plates[i];
      if (plate.neighbour) continue;
      const auto sites = one_switch_off(site_.family.plate.site_switches, plate.site);
      const auto zones = one_switch_off(site_.family.plate.zone_switches, plate.zone);
      const double share = chance(Mishap::switch_wrong) / static_cast<double>(sites.size() + zones.size());
      for (const std::uint8_t number : sites)
        add_switches(static_cast<DeviceId>(i), number, plate.zone, share);
      for (const std::uint8_t number : zones)
        add_switches(static_cast<DeviceId>(i), plate.site, number, share);
    }
    for (const DeviceId module : our_modules()) place_other_addresses(module);
  }

  void add_switches(DeviceId plate, std::uint8_t number, std::uint8_t zone, double with_chance) {
    PlacedCause placed;
    placed.cause = Mishap::switch_wrong;
    placed.device = plate;
    placed.address = {number, zone, 0};
    add(placed, with_chance, {change::Switches{plate, number, zone}});
  }

  void place_wrong_switches_in_step() {
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
    add_number(site_.family.plate.site_switches, step().site, true);
    add_number(site_.family.plate.zone_switches, step().zone, false);
  }

  void place_other_addresses(DeviceId module) {
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
    if (believed.addressed()) add_memory(module, factory_memory(site_.family.module).address, 2 * share);
  }

  /// Of some site that has nothing to do with this one.
  [[nodiscard]] Address foreign_address() const {
    std::uint8_t number = site_.family.plate.site_switches.largest();
    const auto used = [&](std::uint8_t candidate) {
      return candidate == site_.family.module.factory_site ||
             std::any_of(site_.plates.begin(), site_.plates.end(),
                         [&](const PlateSpec& p) { return p.site == candidate; });
    };
    while (number > 1 && used(number)) --number;
    return {number, 1, 1};
  }

  void add_memory(DeviceId module, const Address& address, double with_chance) {
    ModuleMemory memory = site_.modules[site_.module_index(module)].memory;
    const bool addressed = address.channel != 0;
    memory.address = address;
    if (!addressed) memory = factory_memory(site_.family.module);
    if (addressed && address.site != site_.family.module.factory_site) memory.power_up = PowerUp::off;
    PlacedCause placed;
    placed.cause = Mishap::other_address;
    placed.device = module;
    placed.address = address;
    add(placed, with_chance, {change::Memory{module, memory}});
  }

  // --- things that break by themselves ---

  /// From the beginning, before each position, and before whatever is done at the device itself.
  [[nodiscard]] std::vector<std::optional<std::uint32_t>> moments(DeviceId device = no_device) const {
    std::set<std::uint32_t> all(positions_.begin(), positions_.end());
    for (std::uint32_t i = 1; i < script_.size() && device != no_device && !site_.is_plate(device); ++i) {
      if (is_act(script_[i]) && script_[i].device == device) all.insert(i);
    }
    std::vector<std::optional<std::uint32_t>> moments{std::nullopt};
    moments.insert(moments.end(), all.begin(), all.end());
    return moments;
  }

  /// The beginning and a few positions, for what is rare.
  [[nodiscard]] std::vector<std::optional<std::uint32_t>> few_moments() const {
    std::vector<std::optional<std::uint32_t>> moments{std::nullopt};
    for (const std::uint32_t position : few_positions()) moments.emplace_back(position);
    return moments;
  }
  [[nodiscard]] std::vector<std::uint32_t> few_positions() const {
    constexpr std::size_t most = 4;
    std::vector<std::uint32_t> spread;
    const std::size_t count = std::min(most, positions_.size());
    for (std::size_t i = 0; i < count; ++i)
      spread.push_back(positions_[(i + 1) * positions_.size() / count - 1]);
    return spread;
  }

  [[nodiscard]] static Changes before(std::optional<std::uint32_t> at, std::vector<Step> steps) {
    return {change::Insert{{0, at.value_or(0)}, std::move(steps)}};
  }

  void place_device_faults(DeviceId device) {
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
      add(placed, chance(Mishap::dead_device) / static_cast<double>(when.size()), before(at, {off}));
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

  void add_power_cut(DeviceId device, std::uint32_t position, double with_chance) {
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
    add(placed, with_chance, before(position, {off, on}));
  }

  /// From the beginning, or since it was first or last pressed.
  void place_stuck(DeviceId device) {
    const std::size_t buttons = site_.is_plate(device) ? site_.family.plate.buttons.size() : 1;
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
      for (const auto& at : when) {
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
        add(placed, chance(Mishap::stuck_button) / static_cast<double>(when.size() * buttons),
            before(at, {stuck}));
      }
    }
  }

  // --- links ---

  void place_link_faults() {
    for (std::uint32_t link = 0; link < site_.network.links.size(); ++link) {
      const sim::Link& ends = site_.network.links[link];
      const sim::MediumKind kind = site_.network.media[site_.network.nodes[ends.a].medium].kind;
      // On radio it is only of interest whether a module hears a plate.
      if (kind == sim::MediumKind::radio && (ends.a >= site_.plates.size() || !is_device_module(ends.b)))
        continue;
      place_link_fault(link, FaultKind::open, Mishap::open_link, 0, 1);
      if (kind == sim::MediumKind::line)
        place_link_fault(link, FaultKind::shorted, Mishap::shorted_link, 0, 1);
      // Which telegrams are lost is chance: several rates stand for several courses that it can take.
      for (const std::uint32_t ppb : {30'000'000u, 8'000'000u}) {
        place_link_fault(link, FaultKind::noisy, Mishap::noisy_link, ppb, 2);
      }
    }
  }

  [[nodiscard]] bool is_device_module(sim::NodeId node) const {
    return node >= site_.plates.size() && node < site_.device_count();
  }

  /// Modules that no longer hear some plate when the link is open.
  [[nodiscard]] std::vector<DeviceId> beyond_link(std::uint32_t link) const {
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

  void place_link_fault(std::uint32_t link, FaultKind kind, Mishap cause, std::uint32_t ppb,
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
      PlacedChange& added =
          add(placed, chance(cause) / static_cast<double>(when.size() * shares), before(at, {broken}));
      added.touches = touched;
      added.traffic = false;
    }
  }

  // --- neighbours ---

  /// Somebody next door presses on or off just before something is seen.
  void place_neighbours() {
    std::set<std::uint32_t> looks;
    for (const Seen& seen : report_.seen)
      looks.insert(seen.after_step ? *seen.after_step + 1 : static_cast<std::uint32_t>(script_.size()));
    while (looks.size() > 6) looks.erase(looks.begin());
    for (std::size_t i = 0; i < site_.plates.size(); ++i) {
      if (!site_.plates[i].neighbour) continue;
      const auto plate = static_cast<DeviceId>(i);
      for (const Address& number : numbers_of_ours(plate)) {
        for (const std::uint32_t look : looks) place_neighbour_press(plate, number, look, looks.size());
      }
    }
  }

  /// The site and zone that a neighbour's plate has, and those of ours which it may have.
  [[nodiscard]] std::vector<Address> numbers_of_ours(DeviceId neighbour) const {
    std::vector<Address> numbers{{site_.plates[neighbour].site, site_.plates[neighbour].zone, 0}};
    for (const PlateSpec& plate : site_.plates) {
      if (!plate.neighbour) numbers.push_back({plate.site, plate.zone, 0});
    }
    return numbers;
  }

  void place_neighbour_press(DeviceId plate, const Address& number, std::uint32_t look, std::size_t looks) {
    const PlateFamily& family = site_.family.plate;
    for (const Command command : {Command::on, Command::off}) {
      for (std::size_t i = 0; i < family.buttons.size(); ++i) {
        if (family.press[i].command != command) continue;
        add_neighbour_press(plate, number, static_cast<Button>(i), look,
                            chance(Mishap::neighbour) / static_cast<double>(2 * looks));
        break;
      }
    }
  }

  void add_neighbour_press(DeviceId plate, const Address& number, Button button, std::uint32_t look,
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

  const Retelling& retelling_;
  const Report& report_;
  const Scenario& believed_;
  const Site& site_;
  const std::vector<Step>& script_;
  const Catalogue& catalogue_;
  Timetable times_;
  std::vector<PlaceId> standing_;
  std::vector<std::uint32_t> positions_;
  std::uint32_t step_ = 0;
  std::vector<PlacedChange> out_;
};

}  // namespace

std::vector<PlacedChange> place_causes(const Retelling& retelling, const Catalogue& catalogue) {
  return Placing{retelling, catalogue}.all();
}

}  // namespace drybus::model
