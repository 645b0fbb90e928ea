// One moment of a run, as findings ask of it.
#pragma once

#include <algorithm>

#include "model/findings/findings.h"
#include "model/world/partners.h"

namespace drybus::model {

/// Read-only view of a scenario and one moment of it.
struct Moment {
  const Scenario& scenario;
  const World& world;

  [[nodiscard]] const Site& site() const { return scenario.site; }
  [[nodiscard]] const DeviceState& device(DeviceId id) const { return world.devices[id]; }
  [[nodiscard]] const ModuleMemory& memory(DeviceId module) const {
    return world.modules[site().module_index(module)].memory;
  }
  [[nodiscard]] bool own(DeviceId id) const { return !site().is_neighbour(id); }
  [[nodiscard]] bool in_setup(DeviceId id) const { return device(id).mode == Mode::setup; }

  template <class Visit>
  void each_plate(Visit visit) const {
    for (DeviceId id = 0; id < site().plates.size(); ++id) visit(id);
  }
  template <class Visit>
  void each_module(Visit visit) const {
    for (std::size_t i = 0; i < site().modules.size(); ++i) visit(site().module_id(i));
  }

  /// Whether a plate with these switch settings is ours.
  [[nodiscard]] bool has_plate_for(const Address& address) const {
    bool found = false;
    each_plate([&](DeviceId plate) {
      found = found || (own(plate) && has_keys_for(site().plate_family(plate), world.plates[plate],
                                                   address.site, address.zone));
    });
    return found;
  }

  /// A telegram that never left its sender and that somebody waits for: beacons repeat by themselves.
  [[nodiscard]] bool is_missed_by_people(DeviceId sender, const Telegram& telegram) const {
    return own(sender) && telegram.kind != TelegramKind::beacon && telegram.kind != TelegramKind::left;
  }

  /// Whether the module would have done something on hearing the telegram.
  [[nodiscard]] bool matters_to(const Telegram& telegram, DeviceId id) const {
    if (site().is_plate(id) || !own(id)) return false;
    switch (telegram.kind) {
      case TelegramKind::beacon:
      case TelegramKind::left:
      case TelegramKind::ask:
        return false;
      case TelegramKind::assign:
        return offers_address(telegram) && in_setup(id);
      case TelegramKind::identify:
        return memory(id).addressed() &&
               memory(id).address == Address{telegram.site, telegram.zone, telegram.channel};
      case TelegramKind::on:
      case TelegramKind::off:
      case TelegramKind::recall:
      case TelegramKind::store:
      case TelegramKind::raise:
      case TelegramKind::lower:
      case TelegramKind::stop:
        return is_meant(site().module_family(id), memory(id), telegram);
    }
    return false;
  }
};

/// Evidence in order of time, each once.
inline std::vector<sim::EntryId> without_gaps(std::vector<sim::EntryId> entries) {
  std::erase(entries, sim::no_entry);
  std::sort(entries.begin(), entries.end());
  entries.erase(std::unique(entries.begin(), entries.end()), entries.end());
  return entries;
}

}  // namespace drybus::model
