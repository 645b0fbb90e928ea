#include "model/planning/plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/planning/site_number.h"
#include "model/planning/ways_into_setup.h"
#include "model/words/words.h"
#include "sim/medium.h"

namespace drybus::model {

double chance_some_two_clash(unsigned numbers, unsigned sites) {
  double all_differ = 1;
  for (unsigned i = 1; i < sites; ++i) all_differ *= std::max(0.0, 1 - static_cast<double>(i) / numbers);
  return 1 - all_differ;
}

double chance_mine_is_hit(unsigned numbers, unsigned neighbours) {
  return 1 - std::pow(1 - 1.0 / numbers, neighbours);
}

std::string_view to_string(AddressOrigin origin) {
  switch (origin) {
    case AddressOrigin::intended:
      return "intended";
    case AddressOrigin::kept:
      return "kept";
    case AddressOrigin::proposed:
      return "proposed";
  }
  return {};
}

namespace {

class Planner {
 public:
  Planner(const Site& site, const PlanOptions& options) : options_(options), reach_(site.network) {
    plan_.site = site;
  }

  Plan make() {
    plan_.possible_numbers = family().plate.site_switches.largest() + 1u;
    number_sites();
    check_plates();
    take_intended();
    take_kept();
    propose();
    for (ScheduleRow& row : plan_.rows) finish(row);
    return std::move(plan_);
  }

 private:
  [[nodiscard]] Site& site() { return plan_.site; }
  [[nodiscard]] const Family& family() const { return plan_.site.family; }
  [[nodiscard]] const std::string& name(DeviceId device) const { return plan_.site.name(device); }
  void clash(DeviceId device, std::string what, std::string expected) {
    plan_.clashes.push_back({device, std::move(what), std::move(expected)});
  }

  template <class Visit>
  void each_own_plate(Visit visit) {
    for (DeviceId id = 0; id < site().plates.size(); ++id) {
      if (!site().plates[id].neighbour) visit(id);
    }
  }

  // --- site numbers ---

  void number_sites() {
    const std::set<std::uint8_t> neighbours = neighbours_numbers(site());
    std::set<std::uint8_t> own;
    each_own_plate([&](DeviceId plate) { own.insert(site().plates[plate].site); });
    each_own_plate([&](DeviceId plate) {
      const std::uint8_t given = site().plates[plate].site;
      const bool known = std::any_of(plan_.numbers.begin(), plan_.numbers.end(),
                                     [given](const SiteNumber& number) { return number.given == given; });
      if (!known) plan_.numbers.push_back(number_for(given, plate, neighbours, own));
    });
    each_own_plate([&](DeviceId plate) { site().plates[plate].site = planned(site().plates[plate].site); });
  }

  SiteNumber number_for(std::uint8_t given, DeviceId plate, const std::set<std::uint8_t>& neighbours,
                        std::set<std::uint8_t>& own) {
    if (options_.site_number) {
      check_wanted(*options_.site_number, plate, neighbours);
      return {given, *options_.site_number, NumberReason::wanted};
    }
    const bool factory = site().is_factory_site(given);
    if (!factory && !neighbours.contains(given)) return {given, given, NumberReason::as_given};
    std::set<std::uint8_t> taken = neighbours;
    taken.insert(own.begin(), own.end());
    taken.insert(family().module.factory_site);
    const auto free = proposed_number(site(), plate, taken);
    if (!free) {
      clash(plate, tr("no site number is left: neighbours have all that the switches can show"),
            tr("another family of plates"));
      return {given, given, NumberReason::as_given};
    }
    own.insert(*free);
    return {given, *free, factory ? NumberReason::was_factory : NumberReason::was_neighbours};
  }

  void check_wanted(std::uint8_t wanted, DeviceId plate, const std::set<std::uint8_t>& neighbours) {
    if (site().is_factory_site(wanted))
      clash(plate, tr("site {} is the factory's", wanted), tr("another number"));
    if (neighbours.contains(wanted))
      clash(plate, tr("a neighbour has site {}", wanted), tr("another number"));
  }

  [[nodiscard]] std::uint8_t planned(std::uint8_t given) const {
    for (const SiteNumber& number : plan_.numbers) {
      if (number.given == given) return number.planned;
    }
    return given;
  }

  void check_plates() {
    bool any = false;
    each_own_plate([&](DeviceId plate) {
      any = true;
      if (site().plates[plate].zone == 0) {
        clash(plate, tr("{} is set to zone 0, from which nothing can be addressed", name(plate)),
              tr("1 to {}", site().plate_family(plate).zone_switches.largest()));
      }
    });
    if (!any && !site().plates.empty())
      clash(0, tr("no plate is our own"), tr("a plate without 'neighbour'"));
  }

  // --- addresses ---

  /// Plates that can assign in this zone and that the module hears, the nearest first.
  [[nodiscard]] std::vector<DeviceId> plates_for(DeviceId module, std::optional<Address> address) {
    std::vector<DeviceId> plates;
    each_own_plate([&](DeviceId plate) {
      const PlateSpec& spec = site().plates[plate];
      if (address && (spec.site != address->site || spec.zone != address->zone)) return;
      if (spec.zone != 0 && why_not_addressed(site(), plate, module).empty() && hears(plate, module))
        plates.push_back(plate);
    });
    std::stable_sort(plates.begin(), plates.end(), [&](DeviceId a, DeviceId b) {
      return site().walk(site().place(module), site().place(a)) <
             site().walk(site().place(module), site().place(b));
    });
    return plates;
  }

  [[nodiscard]] bool hears(DeviceId plate, DeviceId module) {
    return reach_.path(site().network, plate, module);
  }

  /// Why none of the plates that a module hears can address it; empty when it hears none.
  [[nodiscard]] std::string why_none(DeviceId module) {
    std::string why;
    each_own_plate([&](DeviceId plate) {
      if (why.empty() && hears(plate, module)) why = why_not_addressed(site(), plate, module);
    });
    return why;
  }

  void take_intended() {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const ModuleSpec& spec = site().modules[i];
      if (spec.neighbour) continue;
      plan_.rows.push_back({site().module_id(i), {}, AddressOrigin::proposed, {}, false});
      if (!spec.intended) continue;
      Address address = *spec.intended;
      address.site = planned(address.site);
      ScheduleRow& row = plan_.rows.back();
      row.origin = AddressOrigin::intended;
      row.address = address;
      const auto [holder, fresh] = holders_.insert({address, row.module});
      if (fresh) continue;
      clash(row.module,
            tr("{} is meant to have {}, which is {}'s already", name(row.module), to_string(address),
               name(holder->second)),
            next_free_text(address));
    }
  }

  [[nodiscard]] std::string next_free_text(const Address& address) const {
    const auto channel = free_channel(address.site, address.zone, family().plate.channels);
    return channel
               ? tr("another channel; {} is free", to_string(Address{address.site, address.zone, *channel}))
               : tr("another zone; this one is full");
  }

  void take_kept() {
    std::map<std::string, Address> kept{options_.kept.begin(), options_.kept.end()};
    for (ScheduleRow& row : plan_.rows) {
      const auto found = kept.find(name(row.module));
      if (row.origin == AddressOrigin::intended || found == kept.end()) continue;
      Address address = found->second;
      // Should the site number have changed since, zone and channel stay all the same.
      if (plates_for(row.module, address).empty() && plan_.numbers.size() == 1)
        address.site = plan_.numbers[0].planned;
      if (address.channel == 0 || address.channel > family().plate.channels ||
          plates_for(row.module, address).empty()) {
        plan_.notes.push_back(
            tr("{} cannot keep {}: no plate assigns it any more", name(row.module), to_string(address)));
      } else if (!holders_.insert({address, row.module}).second) {
        plan_.notes.push_back(tr("{} cannot keep {}: it is now {}'s", name(row.module), to_string(address),
                                 name(holders_.at(address))));
      } else {
        row.origin = AddressOrigin::kept;
        row.address = address;
      }
    }
  }

  [[nodiscard]] std::optional<std::uint8_t> free_channel(std::uint8_t of_site, std::uint8_t zone,
                                                         std::uint8_t channels) const {
    for (unsigned channel = 1; channel <= channels; ++channel) {
      const auto number = static_cast<std::uint8_t>(channel);
      if (!holders_.contains({of_site, zone, number})) return number;
    }
    return std::nullopt;
  }

  /// Loads that nobody may switch come last, so that whoever steps through the channels can stop before them.
  void propose() {
    for (const bool last : {false, true}) {
      for (ScheduleRow& row : plan_.rows) {
        if (row.origin == AddressOrigin::proposed && comes_last(row.module) == last) propose_for(row);
      }
    }
  }

  [[nodiscard]] bool comes_last(DeviceId module) const {
    return plan_.site.modules[plan_.site.module_index(module)].do_not_switch;
  }

  /// The plates that may give a module its address, the nearest first unless some are wanted.
  [[nodiscard]] std::vector<DeviceId> candidates(DeviceId module) {
    std::vector<DeviceId> plates = plates_for(module, std::nullopt);
    const std::size_t index = site().module_index(module);
    if (index >= options_.plates.size() || options_.plates[index].empty()) return plates;
    const std::vector<DeviceId>& wanted = options_.plates[index];
    std::vector<DeviceId> meant;
    std::copy_if(plates.begin(), plates.end(), std::back_inserter(meant), [&wanted](DeviceId plate) {
      return std::find(wanted.begin(), wanted.end(), plate) != wanted.end();
    });
    if (!meant.empty() || plates.empty()) return meant;
    plan_.notes.push_back(tr("{} does not hear {}, which is meant for it; another plate takes it",
                             name(module), name(wanted.front())));
    return plates;
  }

  /// Nobody can give the module an address: by what its family can do, or as `what` has it.
  void clash_unreached(DeviceId module, std::string what) {
    const std::string why = why_none(module);
    if (why.empty()) return clash(module, std::move(what), tr("a plate on the same bus, within reach"));
    clash(module, tr("no plate of ours can address {}: {}", name(module), why),
          tr("a plate and a module whose families fit each other"));
  }

  void propose_for(ScheduleRow& row) {
    const std::vector<DeviceId> plates = candidates(row.module);
    for (const DeviceId plate : plates) {
      const PlateSpec& spec = site().plates[plate];
      const auto channel = free_channel(spec.site, spec.zone, site().plate_family(plate).channels);
      if (!channel) continue;
      row.address = {spec.site, spec.zone, *channel};
      holders_.insert({row.address, row.module});
      if (plate != plates.front()) {
        plan_.notes.push_back(tr("{} goes to {}: the zone of {}, which is nearer, is full", name(row.module),
                                 name(plate), name(plates.front())));
      }
      return;
    }
    if (plates.empty()) {
      clash_unreached(row.module, tr("no plate of ours reaches {}", name(row.module)));
    } else {
      clash(row.module, tr("no channel is left for {}", name(row.module)),
            tr("a plate with a zone of its own: each has {} channels", family().plate.channels));
    }
  }

  void finish(ScheduleRow& row) {
    ModuleSpec& spec = site().modules[site().module_index(row.module)];
    if (row.address.channel == 0) return;
    spec.intended = row.address;
    row.held_already = spec.memory.addressed() && spec.memory.address == row.address;
    row.plates = plates_for(row.module, row.address);
    if (!row.plates.empty()) return;
    bool exists = false;
    each_own_plate([&](DeviceId plate) {
      exists = exists || (site().plates[plate].site == row.address.site &&
                          site().plates[plate].zone == row.address.zone);
    });
    const std::string zone = fmt::format("{}/{}", row.address.site, row.address.zone);
    if (exists) {
      clash_unreached(row.module, tr("{} does not hear any plate of {}", name(row.module), zone));
    } else {
      clash(row.module, tr("{} is meant for {}, which no plate of ours is set to", name(row.module), zone),
            tr("a plate with these switches, or another address"));
    }
  }

  const PlanOptions& options_;
  sim::Medium reach_;
  Plan plan_;
  std::map<Address, DeviceId> holders_;
};

}  // namespace

Plan make_plan(const Site& site, const PlanOptions& options) {
  return Planner{site, options}.make();
}

}  // namespace drybus::model
