// What is out of step in a world, whatever its history.
#include "model/findings/moment.h"

namespace drybus::model {

namespace {

void add_setup_splits(const Moment& now, std::vector<Breach>& breaches) {
  now.each_module([&](DeviceId module) {
    const auto plate = split_from(now.world, module);
    if (!plate) return;
    if (now.in_setup(module)) {
      breaches.push_back({FindingId::setup_split, *plate, module});
    } else {
      breaches.push_back({FindingId::setup_split, module, *plate});
    }
  });
}

void add_plate_breaches(const Moment& now, std::vector<Breach>& breaches) {
  const Site& site = now.site();
  now.each_plate([&](DeviceId plate) {
    if (!now.in_setup(plate)) return;
    for (DeviceId earlier = 0; earlier < plate; ++earlier) {
      if (!now.in_setup(earlier) || !(now.own(earlier) || now.own(plate))) continue;
      if (!reach_one_module(site, now.world, earlier, plate)) continue;
      breaches.push_back({FindingId::two_plates_in_setup, earlier, plate});
      break;  // all of them make one finding, with the first
    }
    if (!now.own(plate)) return;
    if (now.world.plates[plate].site == site.family_of(plate).module.factory_site) {
      breaches.push_back({FindingId::factory_site, plate, no_device});
    }
    if (now.world.plates[plate].zone == 0) breaches.push_back({FindingId::zone_zero, plate, no_device});
  });
  now.each_plate([&](DeviceId stranger) {
    if (now.own(stranger)) return;
    now.each_plate([&](DeviceId plate) {
      if (!now.own(plate) || now.world.plates[plate].site != now.world.plates[stranger].site) return;
      if (!reaches_across(site, now.world, plate, stranger)) return;
      breaches.push_back({FindingId::site_overlap, stranger, plate});
    });
  });
}

/// That a module holds a neighbour's address instead of its own is wrong enough: it is told once.
bool is_orphaned(const Moment& now, DeviceId module) {
  const Address& address = now.memory(module).address;
  if (now.has_plate_for(address)) return false;
  const auto& intended = now.site().modules[now.site().module_index(module)].intended;
  const bool told_already = intended && *intended != address;
  return !told_already || !neighbour_who_reaches(now.site(), now.world, module);
}

void add_address_breaches(const Moment& now, std::vector<Breach>& breaches) {
  std::vector<std::pair<Address, DeviceId>> held;
  now.each_module([&](DeviceId module) {
    const ModuleMemory& memory = now.memory(module);
    if (!memory.addressed()) return;
    held.emplace_back(memory.address, module);
    if (!now.own(module)) return;
    const auto& intended = now.site().modules[now.site().module_index(module)].intended;
    if (intended && *intended != memory.address) {
      breaches.push_back({FindingId::wrong_address, module, no_device});
    }
    if (is_orphaned(now, module)) breaches.push_back({FindingId::orphan_address, module, no_device});
  });
  std::sort(held.begin(), held.end());
  for (std::size_t i = 0; i < held.size();) {
    std::size_t end = i + 1;
    for (; end < held.size() && held[end].first == held[i].first; ++end) {
      const auto with = std::find_if(&held[i], &held[end], [&](const auto& earlier) {
        if (!now.own(earlier.second) && !now.own(held[end].second)) return false;  // the neighbour's affair
        return hear_one_plate(now.site(), earlier.second, held[end].second);
      });
      if (with != &held[end]) breaches.push_back({FindingId::shared_address, with->second, held[end].second});
    }
    i = end;
  }
}

}  // namespace

void add_state_breaches(const Scenario& scenario, const World& world, std::vector<Breach>& breaches) {
  const Moment now{scenario, world};
  add_setup_splits(now, breaches);
  add_plate_breaches(now, breaches);
  add_address_breaches(now, breaches);
}

}  // namespace drybus::model
