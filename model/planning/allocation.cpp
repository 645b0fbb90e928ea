#include "model/planning/allocation.h"

#include <algorithm>
#include <boost/pending/disjoint_sets.hpp>
#include <map>
#include <numeric>
#include <set>

#include "model/planning/site_number.h"
#include "model/words/words.h"

namespace drybus::model {

bool SiteWishes::any_open() const {
  return std::find(open_plates.begin(), open_plates.end(), true) != open_plates.end();
}

SiteWishes no_wishes(const Site& site) {
  return {std::vector<bool>(site.plates.size()), std::vector<std::vector<DeviceId>>(site.modules.size()),
          false};
}

namespace {

/// How much of what a supply gives is planned for: something is always added later. Common practice, no source.
constexpr double planned_share = 0.9;

/// Plates with one zone, and the modules that they address.
struct Group {
  std::vector<DeviceId> plates;
  std::vector<DeviceId> modules;
  bool open = true;  ///< no plate of it is set yet
};

class Allocator {
 public:
  Allocator(const Site& site, const SiteWishes& wishes) : wishes_(wishes), joined_(site.plates.size()) {
    out_.site = site;
    out_.plates = wishes.plates;
    out_.plates.resize(site.modules.size());
  }

  Allocation make() {
    group_plates();
    give_modules();
    give_rooms_without_plates();
    if (wishes_.any_open()) number_groups();
    if (wishes_.open_bus && site().family.medium == sim::MediumKind::line) share_buses();
    return std::move(out_);
  }

 private:
  [[nodiscard]] Site& site() { return out_.site; }
  [[nodiscard]] const Family& family() const { return out_.site.family; }
  [[nodiscard]] bool is_open(DeviceId plate) const {
    return plate < wishes_.open_plates.size() && wishes_.open_plates[plate];
  }
  void clash(DeviceId device, std::string what, std::string expected) {
    out_.clashes.push_back({device, std::move(what), std::move(expected)});
  }

  // --- which plates share a zone ---

  void group_plates() {
    std::set<DeviceId> named;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const auto& plates = out_.plates[i];
      named.insert(plates.begin(), plates.end());
      for (const DeviceId plate : plates) joined_.union_set(plates.front(), plate);
    }
    join_rooms(named);
    std::map<DeviceId, std::size_t> index;
    for (DeviceId id = 0; id < site().plates.size(); ++id) {
      if (site().plates[id].neighbour) continue;
      const auto [known, fresh] = index.insert({joined_.find_set(id), groups_.size()});
      if (fresh) groups_.emplace_back();
      groups_[known->second].plates.push_back(id);
      groups_[known->second].open = groups_[known->second].open && is_open(id);
      group_of_[id] = known->second;
    }
  }

  /// Open plates of a room that no module names go with the room's first.
  void join_rooms(const std::set<DeviceId>& named) {
    std::map<PlaceId, DeviceId> first;
    for (DeviceId id = 0; id < site().plates.size(); ++id) {
      const PlateSpec& plate = site().plates[id];
      if (plate.neighbour || !is_open(id)) continue;
      const auto [known, fresh] = first.insert({plate.place, id});
      if (!fresh && (!named.contains(id) || !named.contains(known->second)))
        joined_.union_set(known->second, id);
    }
  }

  // --- which modules they address ---

  [[nodiscard]] bool wants_plate(std::size_t index) const {
    const ModuleSpec& module = out_.site.modules[index];
    return !module.neighbour && !module.intended;
  }

  void join_group(std::size_t index, std::size_t group) {
    groups_[group].modules.push_back(site().module_id(index));
    if (wants_plate(index)) out_.plates[index] = groups_[group].plates;
  }

  void give_modules() {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const ModuleSpec& module = site().modules[i];
      if (module.neighbour) continue;
      if (module.intended) {
        count_intended(i);
      } else if (!out_.plates[i].empty()) {
        join_group(i, group_of_.at(out_.plates[i].front()));
      } else if (const auto group = group_in(module.place)) {
        join_group(i, *group);
      }
    }
    for (const Group& group : groups_) check_size(group);
  }

  void count_intended(std::size_t index) {
    const Address& address = *site().modules[index].intended;
    for (const auto& [plate, group] : group_of_) {
      const PlateSpec& spec = site().plates[plate];
      if (is_open(plate) || spec.site != address.site || spec.zone != address.zone) continue;
      groups_[group].modules.push_back(site().module_id(index));
      return;
    }
  }

  /// The one zone of a room; nothing when it has none, or several plates that are set (then the nearest counts).
  [[nodiscard]] std::optional<std::size_t> group_in(PlaceId place) const {
    for (const auto& [plate, group] : group_of_) {
      if (is_open(plate) && out_.site.plates[plate].place == place) return group;
    }
    return std::nullopt;
  }

  void check_size(const Group& group) {
    const std::size_t channels = family().plate.channels;
    if (group.modules.size() <= channels || !group.open) return;
    clash(group.plates.front(),
          tr("{} is to address {} modules, and a zone has {} channels", site().name(group.plates.front()),
             group.modules.size(), channels),
          tr("another plate for some of them, which they name with 'plate'"));
  }

  /// As a whole to the nearest zone that can take it.
  void give_rooms_without_plates() {
    std::map<PlaceId, std::vector<std::size_t>> rooms;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (wants_plate(i) && out_.plates[i].empty()) rooms[site().modules[i].place].push_back(i);
    }
    for (const auto& [place, modules] : rooms) {
      if (has_set_plate(place)) continue;  // make_plan goes by the nearest there
      const auto group = nearest_with_room(place, modules.size());
      if (!group) continue;  // make_plan says what is missing, module by module
      for (const std::size_t module : modules) join_group(module, *group);
      if (wishes_.any_open()) {
        out_.notes.push_back(tr("{} has no plate of its own and goes to {}", site().places[place].name,
                                site().title(groups_[*group].plates.front())));
      }
    }
  }

  [[nodiscard]] bool has_set_plate(PlaceId place) const {
    return std::any_of(group_of_.begin(), group_of_.end(),
                       [&](const auto& each) { return out_.site.plates[each.first].place == place; });
  }

  [[nodiscard]] std::optional<std::size_t> nearest_with_room(PlaceId place, std::size_t modules) {
    std::optional<std::pair<sim::Duration, std::size_t>> best;
    for (std::size_t i = 0; i < groups_.size(); ++i) {
      if (groups_[i].modules.size() + modules > family().plate.channels) continue;
      for (const DeviceId plate : groups_[i].plates) {
        const std::pair ranked{site().walk(place, site().place(plate)), i};
        if (!best || ranked < *best) best = ranked;
      }
    }
    if (!best) return std::nullopt;
    return best->second;
  }

  // --- numbers ---

  void number_groups() {
    std::set<std::uint8_t> taken = neighbours_numbers(site());
    taken.insert(family().module.factory_site);
    std::set<std::pair<std::uint8_t, std::uint8_t>> used;
    for (const PlateSpec& plate : site().plates) {
      if (!plate.neighbour && plate.zone != 0) used.insert({plate.site, plate.zone});
    }
    settle_half_open();
    std::optional<std::uint8_t> number = number_in_use(taken);
    for (Group& group : groups_) {
      if (!group.open) continue;
      auto zone = number ? free_zone(*number, used) : std::nullopt;
      if (!zone) {
        if (number) taken.insert(*number);
        for (const auto& [own, unused] : used) taken.insert(own);
        number = proposed_number(site(), group.plates.front(), taken);
        if (!number) {
          return clash(group.plates.front(),
                       tr("no site number is left: neighbours have all that the switches can show"),
                       tr("another family of plates"));
        }
        zone = free_zone(*number, used);
      }
      if (zone) set(group, *number, *zone, used);
    }
  }

  /// Plates that join a set one take its switches.
  void settle_half_open() {
    for (Group& group : groups_) {
      const auto set_one =
          std::find_if(group.plates.begin(), group.plates.end(), [&](DeviceId id) { return !is_open(id); });
      if (set_one == group.plates.end()) continue;
      for (const DeviceId id : group.plates) {
        if (!is_open(id)) continue;
        site().plates[id].site = site().plates[*set_one].site;
        site().plates[id].zone = site().plates[*set_one].zone;
      }
    }
  }

  /// A number that plates of ours have already, unless it has to be given up.
  [[nodiscard]] std::optional<std::uint8_t> number_in_use(const std::set<std::uint8_t>& taken) {
    for (DeviceId id = 0; id < site().plates.size(); ++id) {
      const PlateSpec& plate = site().plates[id];
      if (!plate.neighbour && !is_open(id) && !taken.contains(plate.site)) return plate.site;
    }
    return std::nullopt;
  }

  [[nodiscard]] std::optional<std::uint8_t> free_zone(
      std::uint8_t number, const std::set<std::pair<std::uint8_t, std::uint8_t>>& used) const {
    for (unsigned zone = 1; zone <= family().plate.zone_switches.largest(); ++zone) {
      if (!used.contains({number, static_cast<std::uint8_t>(zone)})) return static_cast<std::uint8_t>(zone);
    }
    return std::nullopt;
  }

  void set(const Group& group, std::uint8_t number, std::uint8_t zone,
           std::set<std::pair<std::uint8_t, std::uint8_t>>& used) {
    used.insert({number, zone});
    for (const DeviceId plate : group.plates) {
      site().plates[plate].site = number;
      site().plates[plate].zone = zone;
    }
  }

  // --- buses ---

  [[nodiscard]] double amperes(const Group& group) const {
    if (!family().supply) return 0;
    return static_cast<double>(group.plates.size()) * family().supply->plate_amperes +
           static_cast<double>(group.modules.size()) * family().supply->module_amperes;
  }

  void share_buses() {
    for (const Group& group : groups_) {
      const double more = amperes(group);
      const double most = family().supply ? family().supply->most_amperes : 0;
      // Whole milliamperes: sums of fractions must not decide.
      const auto too_much = [most](double sum) { return most > 0 && sum > most + 5e-4; };
      if (out_.buses.empty() || too_much((out_.buses.back().amperes + more) / planned_share))
        out_.buses.emplace_back();
      PlannedBus& bus = out_.buses.back();
      bus.amperes += more;
      bus.devices.insert(bus.devices.end(), group.plates.begin(), group.plates.end());
      bus.devices.insert(bus.devices.end(), group.modules.begin(), group.modules.end());
      if (too_much(more)) {
        clash(group.plates.front(), tr("this zone alone draws more than the supply of a bus gives"),
              tr("fewer devices in it"));
      }
    }
    if (out_.buses.empty()) return;
    put_the_rest();
    build();
  }

  /// Who belongs to no zone, and neighbours, of whom nothing else is said, are on the first bus.
  void put_the_rest() {
    std::vector<bool> placed(site().device_count());
    for (const PlannedBus& bus : out_.buses) {
      for (const DeviceId device : bus.devices) placed[device] = true;
    }
    for (std::size_t id = 0; id < placed.size(); ++id) {
      if (!placed[id]) out_.buses.front().devices.push_back(static_cast<DeviceId>(id));
    }
  }

  void build() {
    std::vector<sim::MediumSpec> media;
    for (const PlannedBus& bus : out_.buses) {
      sim::MediumSpec medium{sim::MediumKind::line, family().bus, {}, {}};
      medium.nodes.assign(bus.devices.begin(), bus.devices.end());
      for (std::size_t i = 1; i < bus.devices.size(); ++i)
        medium.links.push_back({bus.devices[i - 1], bus.devices[i]});
      std::sort(medium.nodes.begin(), medium.nodes.end());
      media.push_back(std::move(medium));
    }
    site().cables.assign(media.size(), std::nullopt);
    build_network(site(), std::move(media));
    if (out_.buses.size() > 1 && family().supply) {
      out_.notes.push_back(
          tr("{} buses, each with its own supply: one gives {:.0f} mA, of which a tenth is left for what "
             "comes later, and no zone is parted",
             out_.buses.size(), 1000 * family().supply->most_amperes));
    }
  }

  const SiteWishes& wishes_;
  Allocation out_;
  boost::disjoint_sets_with_storage<> joined_;
  std::vector<Group> groups_;
  std::map<DeviceId, std::size_t> group_of_;
};

}  // namespace

Allocation allocate(const Site& site, const SiteWishes& wishes) {
  return Allocator{site, wishes}.make();
}

}  // namespace drybus::model
