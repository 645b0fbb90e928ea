// A site as it is built: places, plates, modules, wiring. It never changes in a run; what changes is in the world.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/devices/device.h"
#include "model/devices/module.h"
#include "model/family/address.h"
#include "sim/network.h"

namespace drybus::model {

class DeviceLogic;

using PlaceId = std::uint16_t;
inline constexpr PlaceId no_place = 0xffff;

struct Place {
  std::string name;
};

struct PlateSpec {
  std::string name;
  std::string label;
  PlaceId place = 0;
  std::uint8_t site = 0;  ///< as the switches stand when the run begins
  std::uint8_t zone = 0;
  bool neighbour = false;    ///< belongs to somebody else's site
  std::uint16_t family = 0;  ///< 0: the site's; else one more than its place in Site::other_families
};

struct ModuleSpec {
  std::string name;
  std::string label;
  PlaceId place = 0;
  std::optional<Address> intended;
  std::optional<CircuitLoad> load;
  ModuleMemory memory;  ///< when the run begins
  bool neighbour = false;
  std::uint16_t family = 0;  ///< as of a plate
  bool do_not_switch =
      false;  ///< the load is a machine or the light of a stair: nobody switches it without care
  /// Levels that its scenes are to have; of a scene that stands at no_scene_level nothing is wanted.
  std::array<Level, max_scenes> intended_scenes = no_scenes();
};

/// Where a device is looked for: in sight of somebody in the same place.
struct Site {
  Family family;                       ///< of the bus, and of every device that names none
  std::vector<Family> other_families;  ///< that single devices are of
  std::vector<Place> places;
  std::vector<sim::Duration>
      walks;  ///< places x places, row by row: how long it takes to walk from one to another
  std::vector<PlateSpec> plates;
  std::vector<ModuleSpec> modules;
  std::vector<std::string>
      junctions;  ///< nodes of the wiring that are no devices; their ids follow the modules'
  sim::Network network;
  std::vector<std::optional<SupplyCable>> cables;  ///< of each medium of the network, where the site says
  std::shared_ptr<DeviceLogic> logic;  ///< how the devices react; null: as the reference model does

  [[nodiscard]] std::size_t device_count() const { return plates.size() + modules.size(); }
  [[nodiscard]] bool is_plate(DeviceId device) const { return device < plates.size(); }
  [[nodiscard]] DeviceId module_id(std::size_t index) const {
    return static_cast<DeviceId>(plates.size() + index);
  }
  [[nodiscard]] std::size_t module_index(DeviceId device) const { return device - plates.size(); }
  [[nodiscard]] const std::string& name(DeviceId device) const {
    return is_plate(device) ? plates[device].name : modules[module_index(device)].name;
  }
  /// The label where there is one, else the name.
  [[nodiscard]] const std::string& title(DeviceId device) const;
  [[nodiscard]] PlaceId place(DeviceId device) const {
    return is_plate(device) ? plates[device].place : modules[module_index(device)].place;
  }
  [[nodiscard]] bool is_neighbour(DeviceId device) const {
    return is_plate(device) ? plates[device].neighbour : modules[module_index(device)].neighbour;
  }
  [[nodiscard]] sim::Duration walk(PlaceId from, PlaceId to) const {
    return walks[from * places.size() + to];
  }
  [[nodiscard]] const Family& family_of(DeviceId device) const {
    const std::uint16_t which =
        is_plate(device) ? plates[device].family : modules[module_index(device)].family;
    return which == 0 ? family : other_families[which - 1u];
  }
  /// The site's own family, and every other that some device is of.
  template <class Visit>
  void each_family(Visit visit) const {
    visit(family);
    for (const Family& other : other_families) visit(other);
  }
  /// The longest of a time that each family has.
  template <class TimeOf>
  [[nodiscard]] sim::Duration longest(TimeOf time_of) const {
    sim::Duration most{};
    each_family([&](const Family& each) { most = std::max<sim::Duration>(most, time_of(each)); });
    return most;
  }
  /// Whether new devices of some family have this site number.
  [[nodiscard]] bool is_factory_site(unsigned number) const {
    bool is = false;
    each_family([&](const Family& each) { is = is || each.module.factory_site == number; });
    return is;
  }
  /// Every plate's switches can show the site numbers up to this.
  [[nodiscard]] unsigned largest_site_number() const {
    unsigned least = 255;
    each_family(
        [&](const Family& each) { least = std::min(least, unsigned{each.plate.site_switches.largest()}); });
    return least;
  }
  [[nodiscard]] const PlateFamily& plate_family(DeviceId plate) const { return family_of(plate).plate; }
  [[nodiscard]] const ModuleFamily& module_family(DeviceId module) const { return family_of(module).module; }
  /// What is held to put the device in setup, for how long, and when setup ends by itself.
  [[nodiscard]] Buttons setup_gesture(DeviceId device) const {
    return is_plate(device) ? plate_family(device).setup_gesture : only(0);
  }
  [[nodiscard]] sim::Duration setup_hold(DeviceId device) const {
    return is_plate(device) ? plate_family(device).setup_hold : module_family(device).setup_hold;
  }
  [[nodiscard]] const TimeOut& time_out(DeviceId device) const {
    return is_plate(device) ? plate_family(device).time_out : module_family(device).time_out;
  }
  /// "P1-M1", as a fault names it.
  [[nodiscard]] std::string link_name(std::uint32_t link) const;
  [[nodiscard]] std::string node_name(sim::NodeId node) const;
  [[nodiscard]] std::optional<DeviceId> find_device(std::string_view wanted) const;
  [[nodiscard]] std::optional<std::uint32_t> find_link(std::string_view wanted) const;
};

/// Direct walks between places; what is not given goes by way of others, and `otherwise` where there is no way.
struct WalkLeg {
  PlaceId a = 0;
  PlaceId b = 0;
  sim::Duration time{};
};
std::vector<sim::Duration> shortest_walks(std::size_t places, const std::vector<WalkLeg>& legs,
                                          sim::Duration otherwise);

/// Fills site.network from the media's specifications; every device that none of them names joins none.
/// The random streams of a device are keyed by its name, so that others can come and go.
void build_network(Site& site, std::vector<sim::MediumSpec> media);

}  // namespace drybus::model
