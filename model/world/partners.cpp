#include "model/world/partners.h"

#include <algorithm>

namespace drybus::model {

namespace {

template <class Suits>
bool any_plate(const Site& site, Suits suits) {
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (suits(plate)) return true;
  }
  return false;
}

template <class Visit>
void each_module(const Site& site, Visit visit) {
  for (std::size_t i = 0; i < site.modules.size(); ++i) visit(site.module_id(i));
}

template <class Suits>
bool any_module(const Site& site, Suits suits) {
  bool found = false;
  each_module(site, [&](DeviceId module) { found = found || suits(module); });
  return found;
}

bool in_setup(const World& world, DeviceId device) {
  return world.devices[device].mode == Mode::setup;
}

bool ours_and_joined(const Site& site, DeviceId module, DeviceId plate) {
  return !site.is_neighbour(module) && !site.is_neighbour(plate) && is_joined(site, module, plate);
}

bool ended_by_itself(ModeReason reason) {
  return reason == ModeReason::time_out || reason == ModeReason::power;
}

std::optional<DeviceId> partner_of(const World& world, DeviceId module) {
  const std::uint16_t partner = world.devices[module].partner;
  return partner == 0 ? std::nullopt : std::optional<DeviceId>{partner - 1u};
}

/// REQUIRES: fewer than 65,535 plates; nobody can tell so many apart anyway.
void make_partners(World& world, DeviceId module, DeviceId plate) {
  world.devices[module].partner = static_cast<std::uint16_t>(plate + 1);
}

void part(World& world, DeviceId module) {
  world.devices[module].partner = 0;
}

bool is_with_a_plate_in_setup(const World& world, DeviceId module) {
  const auto partner = partner_of(world, module);
  return partner && in_setup(world, *partner);
}

/// Gives the module a plate that is in setup, if it can wait for one; says whether it did.
bool join_a_plate_in_setup(const Site& site, World& world, DeviceId module) {
  return any_plate(site, [&](DeviceId plate) {
    if (!in_setup(world, plate) || !can_wait_for(site, world, module, plate)) return false;
    make_partners(world, module, plate);
    return true;
  });
}

void plate_ended(const Site& site, World& world, DeviceId plate, ModeReason reason) {
  const bool nobody_reckons_with_it = ended_by_itself(reason) && world.devices[plate].believed_in_setup == 0;
  each_module(site, [&](DeviceId module) {
    if (partner_of(world, module) != plate) return;
    if (!in_setup(world, module)) return part(world, module);
    if (!join_a_plate_in_setup(site, world, module) && nobody_reckons_with_it) part(world, module);
  });
}

void module_ended(World& world, DeviceId module, ModeReason reason) {
  const auto partner = partner_of(world, module);
  if (partner && reason == ModeReason::assigned) offered(world, *partner);
  const bool missed = ended_by_itself(reason) && world.devices[module].believed_in_setup != 0;
  if (!missed || !is_with_a_plate_in_setup(world, module)) part(world, module);
}

}  // namespace

bool is_joined(const Site& site, DeviceId a, DeviceId b) {
  const sim::Network& network = site.network;
  const sim::Network::Node& node = network.nodes[a];
  if (node.medium != network.nodes[b].medium) return false;
  if (network.media[node.medium].kind == sim::MediumKind::line)
    return node.component == network.nodes[b].component;
  return std::any_of(node.links.begin(), node.links.end(), [&](std::uint32_t link) {
    const sim::Link& ends = network.links[link];
    return ends.a == b || ends.b == b;
  });
}

bool hear_one_plate(const Site& site, DeviceId a, DeviceId b) {
  return any_plate(site,
                   [&](DeviceId plate) { return is_joined(site, plate, a) && is_joined(site, plate, b); });
}

bool reach_one_module(const Site& site, const World& world, DeviceId one, DeviceId other) {
  return any_module(site, [&](DeviceId module) {
    return world.medium.path(site.network, one, module) && world.medium.path(site.network, other, module);
  });
}

bool reaches_across(const Site& site, const World& world, DeviceId ours, DeviceId neighbours) {
  return any_module(site, [&](DeviceId module) {
    return world.medium.path(site.network, site.is_neighbour(module) ? ours : neighbours, module);
  });
}

std::optional<DeviceId> neighbour_who_reaches(const Site& site, const World& world, DeviceId module) {
  const Address& address = world.modules[site.module_index(module)].memory.address;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    const PlateState& state = world.plates[plate];
    if (site.is_neighbour(plate) && state.site == address.site && state.zone == address.zone &&
        is_joined(site, plate, module))
      return plate;
  }
  return std::nullopt;
}

bool is_on_the_wrong_bus(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  const sim::Network& network = site.network;
  if (site.is_neighbour(module) || site.is_neighbour(plate)) return false;
  if (network.nodes[module].medium == network.nodes[plate].medium) return false;
  if (!world.modules[site.module_index(module)].memory.addressed() &&
      !is_intended_for(site, world, module, plate))
    return false;  // as from the factory it answers to many
  return belongs_to(site, world, module, plate) && !any_plate(site, [&](DeviceId other) {
           return is_joined(site, other, module) && belongs_to(site, world, module, other);
         });
}

bool is_intended_for(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  const auto& intended = site.modules[site.module_index(module)].intended;
  const PlateState& state = world.plates[plate];
  return intended && intended->site == state.site && intended->zone == state.zone;
}

bool belongs_to(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  const PlateState& state = world.plates[plate];
  const ModuleMemory& memory = world.modules[site.module_index(module)].memory;
  return is_intended_for(site, world, module, plate) || obeys(memory, state.site, state.zone) ||
         (memory.addressed() &&
          has_keys_for(site.plate_family(plate), state, memory.address.site, memory.address.zone));
}

bool can_wait_for(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  if (!ours_and_joined(site, module, plate)) return false;
  if (!site.modules[site.module_index(module)].intended) return true;
  if (is_intended_for(site, world, module, plate)) return true;
  const bool has_another = any_plate(site, [&](DeviceId other) {
    return is_intended_for(site, world, module, other) && ours_and_joined(site, module, other);
  });
  if (has_another) return false;
  return !any_module(site, [&](DeviceId other) { return is_intended_for(site, world, other, plate); });
}

bool has_done_its_work(const Site& site, const World& world, DeviceId plate) {
  if (!has_offered(world, plate)) return false;
  return !any_module(site, [&](DeviceId module) {
    if (!can_wait_for(site, world, module, plate)) return false;
    const auto& intended = site.modules[site.module_index(module)].intended;
    const ModuleMemory& memory = world.modules[site.module_index(module)].memory;
    return intended ? memory.address != *intended : !memory.addressed();
  });
}

std::optional<DeviceId> split_from(const World& world, DeviceId module) {
  const auto partner = partner_of(world, module);
  if (!partner || in_setup(world, *partner) == in_setup(world, module)) return std::nullopt;
  return partner;
}

void setup_began(const Site& site, World& world, DeviceId device) {
  if (!site.is_plate(device)) {
    if (!join_a_plate_in_setup(site, world, device)) part(world, device);
    return;
  }
  world.devices[device].partner = 0;
  each_module(site, [&](DeviceId module) {
    if (!in_setup(world, module) || is_with_a_plate_in_setup(world, module)) return;
    // Who waits in vain for one plate is not another's because that happens to be in setup.
    if (partner_of(world, module) && !belongs_to(site, world, module, device)) return;
    if (can_wait_for(site, world, module, device)) make_partners(world, module, device);
  });
}

void offered(World& world, DeviceId plate) {
  world.devices[plate].partner = 1;
}

bool has_offered(const World& world, DeviceId plate) {
  return world.devices[plate].partner != 0;
}

void setup_ended(const Site& site, World& world, DeviceId device, ModeReason reason) {
  site.is_plate(device) ? plate_ended(site, world, device, reason) : module_ended(world, device, reason);
}

void pressed_in_vain(const Site& site, World& world, DeviceId plate) {
  each_module(site, [&](DeviceId module) {
    if (!in_setup(world, module) || is_with_a_plate_in_setup(world, module)) return;
    if (can_wait_for(site, world, module, plate)) make_partners(world, module, plate);
  });
}

void offered_in_vain(const Site& site, World& world, DeviceId plate) {
  const bool somebody_waits = any_module(
      site, [&](DeviceId module) { return in_setup(world, module) && is_joined(site, module, plate); });
  if (somebody_waits) return;
  each_module(site, [&](DeviceId module) {
    const DeviceState& state = world.devices[module];
    if (state.believed_in_setup == 0 || !ended_by_itself(state.setup_ended_by)) return;
    if (can_wait_for(site, world, module, plate)) make_partners(world, module, plate);
  });
}

}  // namespace drybus::model
