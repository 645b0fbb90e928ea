#include "model/recovery/aim.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <map>
#include <set>

#include "model/family/switch_bank.h"
#include "model/findings/findings.h"
#include "model/planning/plan.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

PlateSetting setting_of(const Address& address) {
  return {address.site, address.zone};
}

const Possibility& likeliest(std::span<const Possibility> possible) {
  return *std::max_element(possible.begin(), possible.end(), [](const Possibility& a, const Possibility& b) {
    return a.probability < b.probability;
  });
}

/// What a module will hold once it has written.
const ModuleMemory& memory_of(const World& world, std::size_t module) {
  const ModuleState& state = world.modules[module];
  return state.storing != 0 ? state.writing : state.memory;
}

class Aiming {
 public:
  Aiming(const Scenario& asked, std::span<const Possibility> possible)
      : asked_(asked), possible_(possible), likeliest_(likeliest(possible)), reach_(asked.site.network) {}

  Aim take() {
    intend();
    renumber();
    set_plates();
    check_reach();
    return std::move(aim_);
  }

 private:
  [[nodiscard]] const Site& site() const { return asked_.site; }
  [[nodiscard]] unsigned most_channels() const {
    unsigned most = 0;
    site().each_family([&](const Family& each) { most = std::max(most, unsigned{each.plate.channels}); });
    return most;
  }
  [[nodiscard]] bool own_plate(std::size_t plate) const { return !site().plates[plate].neighbour; }

  // --- addresses ---

  void intend() {
    aim_.addresses.resize(site().modules.size());
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const ModuleSpec& module = site().modules[i];
      if (module.neighbour) {
        if (module.memory.addressed()) taken_.insert({module.memory.address, i});
      } else if (module.intended) {
        take_intended(i, *module.intended);
      }
    }
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (!site().modules[i].neighbour && !site().modules[i].intended) keep(i);
    }
  }

  void take_intended(std::size_t module, const Address& address) {
    const std::string& name = site().modules[module].name;
    aim_.addresses[module] = address;
    const auto [holder, fresh] = taken_.insert({address, module});
    if (!fresh) {
      aim_.obstacles.push_back(tr("{} and {} are both meant to have {}: no two can.",
                                  site().modules[holder->second].name, name, to_string(address)));
    }
    if (address.zone == 0 || address.channel == 0 || address.channel > most_channels()) {
      aim_.obstacles.push_back(
          tr("{} is meant to have {}, which no plate here can assign.", name, to_string(address)));
    }
  }

  /// Nobody said what it shall hold: what it had, on a channel of its own.
  void keep(std::size_t module) {
    const ModuleMemory& at_first = site().modules[module].memory;
    const ModuleMemory& now = memory_of(likeliest_.world, module);
    if (!at_first.addressed() && !now.addressed()) return;
    Address address = at_first.addressed() ? at_first.address : now.address;
    if (taken_.contains(address)) {
      const Address wanted = address;
      for (address.channel = 1; address.channel <= most_channels() && taken_.contains(address);)
        ++address.channel;
      if (address.channel > most_channels()) {
        aim_.obstacles.push_back(
            tr("No channel is left for {} in {}/{}.", site().modules[module].name, wanted.site, wanted.zone));
        return;
      }
      aim_.changes.push_back(tr("{} gets {}: {} is {}'s.", site().modules[module].name, to_string(address),
                                to_string(wanted), site().modules[taken_.at(wanted)].name));
    }
    taken_.insert({address, module});
    aim_.addresses[module] = address;
  }

  // --- site numbers ---

  [[nodiscard]] bool within_reach(std::size_t neighbour) const {
    for (std::size_t plate = 0; plate < site().plates.size(); ++plate) {
      if (own_plate(plate) &&
          reach_.path(site().network, static_cast<DeviceId>(neighbour), static_cast<DeviceId>(plate)))
        return true;
    }
    return false;
  }

  void renumber() {
    std::map<std::uint8_t, std::size_t> neighbours;
    for (std::size_t plate = 0; plate < site().plates.size(); ++plate) {
      if (own_plate(plate) || !within_reach(plate)) continue;
      for (const Possibility& possibility : possible_)
        neighbours.insert({possibility.world.plates[plate].site, plate});
    }
    std::set<std::uint8_t> ours;
    for (const auto& address : aim_.addresses) {
      if (address) ours.insert(address->site);
    }
    for (const std::uint8_t number : ours) {
      const auto clash = neighbours.find(number);
      if (clash != neighbours.end()) {
        move_away(number, neighbours, ours,
                  tr("{} next door has it as well, and is within reach", site().plates[clash->second].name));
      } else if (site().is_factory_site(number)) {
        move_away(number, neighbours, ours, tr("it is the factory's, which every new module obeys"));
      }
    }
  }

  void move_away(std::uint8_t number, const std::map<std::uint8_t, std::size_t>& neighbours,
                 const std::set<std::uint8_t>& ours, const std::string& why) {
    const auto fits = [&](unsigned candidate) {
      const auto as_number = static_cast<std::uint8_t>(candidate);
      return !site().is_factory_site(candidate) && candidate != 0 && !neighbours.contains(as_number) &&
             !ours.contains(as_number);
    };
    std::optional<std::uint8_t> free;
    for (const SiteNumber& planned : make_plan(site()).numbers) {
      if (planned.given == number && fits(planned.planned)) free = planned.planned;
    }
    for (unsigned candidate = 2; !free && candidate <= site().largest_site_number(); ++candidate) {
      if (fits(candidate)) free = static_cast<std::uint8_t>(candidate);
    }
    if (!free) {
      aim_.obstacles.push_back(tr("Site number {} cannot stay, for {}; but no other is free.", number, why));
      return;
    }
    renumbered_[number] = *free;
    for (auto& address : aim_.addresses) {
      if (address && address->site == number) address->site = *free;
    }
    aim_.changes.push_back(tr("Our site number becomes {} instead of {}: {}.", *free, number, why));
  }

  // --- plates ---

  [[nodiscard]] PlateSetting renumbered(PlateSetting setting) const {
    const auto found = renumbered_.find(setting.site);
    if (found != renumbered_.end()) setting.site = found->second;
    return setting;
  }

  [[nodiscard]] PlateSetting now(std::size_t plate) const {
    const PlateState& state = likeliest_.world.plates[plate];
    return {state.site, state.zone};
  }

  /// As the installer set it in the script, if they did.
  [[nodiscard]] PlateSetting as_scripted(std::size_t plate) const {
    PlateSetting setting{site().plates[plate].site, site().plates[plate].zone};
    for (const Step& step : asked_.people[0].script) {
      if (step.kind != StepKind::switches || step.device != plate) continue;
      setting.site = step.site.value_or(setting.site);
      setting.zone = step.zone.value_or(setting.zone);
    }
    return setting;
  }

  void set_plates() {
    std::set<PlateSetting> needed;
    for (const auto& address : aim_.addresses) {
      if (address) needed.insert(setting_of(*address));
    }
    aim_.plates.resize(site().plates.size());
    std::vector<bool> spare(site().plates.size(), false);
    for (std::size_t plate = 0; plate < site().plates.size(); ++plate) {
      const PlateSetting as_built{site().plates[plate].site, site().plates[plate].zone};
      aim_.plates[plate] = renumbered(now(plate));
      if (!own_plate(plate)) {
        aim_.plates[plate] = now(plate);
        continue;
      }
      spare[plate] = true;
      for (const PlateSetting setting : {as_scripted(plate), as_built, now(plate)}) {
        if (!needed.contains(renumbered(setting))) continue;
        aim_.plates[plate] = renumbered(setting);
        spare[plate] = false;
        break;
      }
      // Another has the same already: this one can be set otherwise should that be needed.
      for (std::size_t other = 0; other < plate; ++other)
        spare[plate] = spare[plate] || (own_plate(other) && aim_.plates[other] == aim_.plates[plate]);
    }
    for (const PlateSetting& setting : needed) find_plate_for(setting, spare);
  }

  void find_plate_for(const PlateSetting& setting, std::vector<bool>& spare) {
    std::optional<std::size_t> best;
    for (std::size_t plate = 0; plate < site().plates.size(); ++plate) {
      if (!own_plate(plate)) continue;
      if (aim_.plates[plate] == setting) return;
      if (spare[plate] && (!best || distance(plate, setting) < distance(*best, setting))) best = plate;
    }
    if (!best) {
      aim_.obstacles.push_back(
          tr("No plate of ours is free to be set to site {}, zone {}.", setting.site, setting.zone));
      return;
    }
    const PlateFamily& family = site().plate_family(static_cast<DeviceId>(*best));
    if (setting.site > family.site_switches.largest() || setting.zone > family.zone_switches.largest()) {
      aim_.obstacles.push_back(tr("The switches of {} cannot show site {}, zone {}.",
                                  site().plates[*best].name, setting.site, setting.zone));
    }
    aim_.plates[*best] = setting;
    spare[*best] = false;
  }

  /// How many switches stand otherwise, in the likeliest world.
  [[nodiscard]] int distance(std::size_t plate, const PlateSetting& setting) const {
    const PlateSetting is = now(plate);
    const auto apart = [](unsigned a, unsigned b) { return std::popcount(a ^ b); };
    return 4 * apart(is.site, setting.site) + apart(is.zone, setting.zone);
  }

  void check_reach() {
    for (std::size_t i = 0; i < aim_.addresses.size(); ++i) {
      if (!aim_.addresses[i]) continue;
      bool reached = false;
      for (std::size_t plate = 0; plate < site().plates.size(); ++plate) {
        reached = reached || (own_plate(plate) && aim_.plates[plate] == setting_of(*aim_.addresses[i]) &&
                              reach_.path(site().network, static_cast<DeviceId>(plate), site().module_id(i)));
      }
      if (!reached && aim_.obstacles.empty()) {
        aim_.obstacles.push_back(
            tr("No plate of ours that could assign {} reaches {}: it needs one on its bus. {}",
               to_string(*aim_.addresses[i]), site().modules[i].name, in_words_spoken(safety_caution)));
      }
    }
  }

  const Scenario& asked_;
  std::span<const Possibility> possible_;
  const Possibility& likeliest_;
  sim::Medium reach_;  ///< with every link sound
  Aim aim_;
  std::map<Address, std::size_t> taken_;
  std::map<std::uint8_t, std::uint8_t> renumbered_;
};

sim::Duration setup_left(const World& world, DeviceId device) {
  const sim::EventQueue::Handle handle =
      world.devices[device].timers[static_cast<std::size_t>(Timer::time_out)];
  return handle == sim::EventQueue::none ? sim::Duration::zero() : world.queue.due(handle) - world.now;
}

void look_at_setup(Outlook& outlook, const World& world, DeviceId device, std::uint8_t channel) {
  if (world.devices[device].mode != Mode::setup) {
    outlook.in_normal_mode = true;
    return;
  }
  const sim::Duration left = setup_left(world, device);
  outlook.soonest = outlook.in_setup ? std::min(outlook.soonest, left) : left;
  outlook.latest = std::max(outlook.latest, left);
  outlook.same_channel = outlook.same_channel && (!outlook.in_setup || outlook.channel == channel);
  outlook.channel = channel;
  outlook.in_setup = true;
}

void look_at_plate(Outlook& outlook, const PlateState& plate, const PlateSetting& aim, bool first) {
  const PlateSetting is{plate.site, plate.zone};
  outlook.wrong_switches = outlook.wrong_switches || is != aim;
  outlook.same_switches = outlook.same_switches && (first || is == outlook.switches);
  outlook.switches = is;
}

void look_at_module(Outlook& outlook, const ModuleMemory& memory, const std::optional<Address>& aim) {
  if (!aim) return;
  outlook.to_address = outlook.to_address || memory.address != *aim;
  if (memory.power_up != PowerUp::full) return;
  outlook.lit.push_back(memory.address.site);
}

Step mended(std::uint32_t link) {
  Step step;
  step.kind = StepKind::fault;
  step.fault.kind = FaultKind::mend;
  step.fault.link = link;
  return step;
}

Step replaced_load(DeviceId module) {
  Step step;
  step.kind = StepKind::fault;
  step.fault.kind = FaultKind::new_load;
  step.fault.device = module;
  return step;
}

/// A step for each button of a set.
template <class Add>
void free_buttons(DeviceId device, Buttons set, Add add) {
  for (; set != 0; set = static_cast<Buttons>(set & (set - 1))) {
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = FaultKind::freed;
    step.fault.device = device;
    step.fault.button = static_cast<Button>(std::countr_zero(set));
    add(step);
  }
}

template <class Add>
void repairs_in(const Site& site, const World& world, Add add) {
  for (const sim::Medium::Impairment& impairment : world.medium.impairments()) {
    if (impairment.state != sim::LinkState::sound) add(mended(impairment.link));
  }
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (!site.is_neighbour(device)) free_buttons(device, world.devices[device].stuck, add);
  }
  for (std::size_t i = 0; i < world.loads.size(); ++i) {
    if (world.loads[i].dead != 0 && !site.modules[i].neighbour) add(replaced_load(site.module_id(i)));
  }
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.is_neighbour(device) || world.devices[device].powered != 0) continue;
    Step step;
    step.kind = StepKind::power;
    step.device = device;
    step.on = true;
    add(step);
  }
}

}  // namespace

Aim aim_of(const Scenario& asked, std::span<const Possibility> possible) {
  return Aiming{asked, possible}.take();
}

std::vector<Outlook> outlooks(const Scenario& asked, const Aim& aim, std::span<const Possibility> possible) {
  const Site& site = asked.site;
  std::vector<Outlook> all(site.device_count());
  for (const Possibility& possibility : possible) {
    const World& world = possibility.world;
    const bool first = &possibility == &possible.front();
    for (DeviceId device = 0; device < site.device_count(); ++device) {
      Outlook& outlook = all[device];
      const bool plate = site.is_plate(device);
      look_at_setup(outlook, world, device, plate ? world.plates[device].channel : std::uint8_t{0});
      if (plate) {
        look_at_plate(outlook, world.plates[device], aim.plates[device], first);
      } else {
        const std::size_t module = site.module_index(device);
        look_at_module(outlook, memory_of(world, module), aim.addresses[module]);
      }
      outlook.deaf_for = std::max(outlook.deaf_for, world.medium.nodes()[device].deaf_for);
    }
  }
  for (Outlook& outlook : all) {
    std::sort(outlook.lit.begin(), outlook.lit.end());
    outlook.lit.erase(std::unique(outlook.lit.begin(), outlook.lit.end()), outlook.lit.end());
  }
  return all;
}

std::vector<Outlook> doubtful(const Scenario& asked, const Aim& aim, std::vector<Outlook> outlooks) {
  const Site& site = asked.site;
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.is_neighbour(device)) continue;
    Outlook& outlook = outlooks[device];
    outlook.wrong_switches = site.is_plate(device);
    outlook.same_switches = !site.is_plate(device);
    outlook.to_address = !site.is_plate(device) && aim.addresses[site.module_index(device)].has_value();
  }
  return outlooks;
}

std::vector<Step> repairs(const Scenario& asked, std::span<const Possibility> possible) {
  std::vector<Step> all;
  for (const Possibility& possibility : possible) {
    repairs_in(asked.site, possibility.world, [&all](const Step& step) {
      const bool known = std::any_of(all.begin(), all.end(), [&step](const Step& other) {
        return other.kind == step.kind && other.device == step.device &&
               other.fault.kind == step.fault.kind && other.fault.link == step.fault.link &&
               other.fault.device == step.fault.device && other.fault.button == step.fault.button;
      });
      if (!known) all.push_back(step);
    });
  }
  return all;
}

std::vector<Step> repairs_of_everything(const Site& site) {
  std::vector<Step> all;
  for (std::uint32_t link = 0; link < site.network.links.size(); ++link) {
    const sim::Link& ends = site.network.links[link];
    const bool radio = site.network.media[site.network.nodes[ends.a].medium].kind == sim::MediumKind::radio;
    const bool of_a_plate = ends.a < site.plates.size() || ends.b < site.plates.size();
    if (!radio || of_a_plate) all.push_back(mended(link));
  }
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    const std::size_t buttons = site.is_plate(device) ? site.plate_family(device).buttons.size() : 1;
    if (site.is_neighbour(device)) continue;
    free_buttons(device, static_cast<Buttons>((1u << buttons) - 1),
                 [&all](const Step& step) { all.push_back(step); });
  }
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (!site.modules[i].neighbour) all.push_back(replaced_load(site.module_id(i)));
  }
  return all;
}

}  // namespace drybus::model
