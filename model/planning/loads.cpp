#include "model/planning/loads.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "model/words/words.h"

namespace drybus::model {

namespace {

struct Conductor {
  double core_mm2;
  double ohms_solid;     ///< classes 1 and 2
  double ohms_flexible;  ///< class 5
};

/// IEC 60228, copper, plain, 20 °C, ohm/km.
constexpr std::array<Conductor, 5> conductors = {
    {{0.5, 36.0, 39.0}, {0.75, 24.5, 26.0}, {1.0, 18.1, 19.5}, {1.5, 12.1, 13.3}, {2.5, 7.41, 7.98}}};

/// Currents are decimal fractions; a sum of them may come out a shade above what it should be.
constexpr double rounding = 1e-9;

std::string watts(double value) {
  return with_decimal_mark(fmt::format("{:g} W", value));
}

void check_row(const Site& site, const LoadRow& row, std::vector<PlanClash>& clashes) {
  const auto add = [&](std::string what, std::string expected) {
    clashes.push_back({row.module, std::move(what), std::move(expected), PlanPart::load});
  };
  const std::string& name = site.name(row.module);
  const std::string_view method = spoken(row.load.method);
  if (!row.rating) {
    add(tr("the modules of this family have no rating for {} dimming", method), {});
  } else if (row.load.watts > row.rating->most_w + rounding) {
    add(tr("{} on {} is more than its {} rating", watts(row.load.watts), name, method),
        tr("at most {}", watts(row.rating->most_w)));
  } else if (row.load.watts < row.rating->least_w - rounding) {
    add(tr("{} on {} is under the least load for {} dimming: it may flicker or not go out",
           watts(row.load.watts), name, method),
        tr("at least {}", watts(row.rating->least_w)));
  }
}

LoadRow row_of(const Site& site, DeviceId module, const CircuitLoad& load) {
  LoadRow row{module, load, std::nullopt};
  for (const LoadRating& rating : site.family.module.ratings) {
    if (rating.method == load.method) row.rating = rating;
  }
  return row;
}

// --- the supply pair ---

/// The tree of one bus, seen from where it is fed.
class SupplyPair {
 public:
  SupplyPair(const Site& site, std::size_t medium)
      : site_(site),
        spec_(site.network.media[medium]),
        cable_(*site.cables[medium]),
        rating_(*site.family.supply),
        nodes_(site.network.nodes.size()) {
    report_.medium = medium;
  }

  SupplyReport report() {
    for (const double length : cable_.lengths_m) report_.cable_m += length;
    walk_outwards();
    // Beyond comes before near: each link carries what all beyond it draw.
    for (auto node = outwards_.rbegin(); node != outwards_.rend(); ++node) gather_current(*node);
    report_.amperes = nodes_[cable_.fed_at].amperes;
    for (const sim::NodeId node : outwards_) drop_voltage(node);
    for (const sim::NodeId node : spec_.nodes) report_.volts.push_back(nodes_[node].volts);
    return std::move(report_);
  }

 private:
  struct Node {
    std::vector<std::size_t> links;  ///< of the medium
    sim::NodeId nearer = sim::no_node;
    double ohms = 0;  ///< there and back, from the nearer node
    double amperes = 0;
    double volts = std::numeric_limits<double>::quiet_NaN();
  };

  void walk_outwards() {
    for (std::size_t i = 0; i < spec_.links.size(); ++i) {
      nodes_[spec_.links[i].a].links.push_back(i);
      nodes_[spec_.links[i].b].links.push_back(i);
    }
    const double ohms_per_m = *conductor_ohms_per_km(cable_.core_mm2, cable_.conductor_class) / 1000;
    outwards_.push_back(cable_.fed_at);
    for (std::size_t next = 0; next < outwards_.size(); ++next) {
      const sim::NodeId from = outwards_[next];
      for (const std::size_t link : nodes_[from].links) {
        const sim::NodeId to = spec_.links[link].a == from ? spec_.links[link].b : spec_.links[link].a;
        if (to == nodes_[from].nearer) continue;
        nodes_[to].nearer = from;
        nodes_[to].ohms = 2 * ohms_per_m * cable_.lengths_m[link];
        outwards_.push_back(to);
      }
    }
  }

  void gather_current(sim::NodeId node) {
    if (node < site_.device_count())
      nodes_[node].amperes += site_.is_plate(node) ? rating_.plate_amperes : rating_.module_amperes;
    if (nodes_[node].nearer != sim::no_node) nodes_[nodes_[node].nearer].amperes += nodes_[node].amperes;
  }

  void drop_voltage(sim::NodeId node) {
    Node& here = nodes_[node];
    here.volts =
        here.nearer == sim::no_node ? rating_.volts : nodes_[here.nearer].volts - here.ohms * here.amperes;
    if (node >= site_.device_count()) return;
    if (report_.furthest != no_device && here.volts >= report_.least_volts) return;
    report_.furthest = static_cast<DeviceId>(node);
    report_.least_volts = here.volts;
  }

  const Site& site_;
  const sim::MediumSpec& spec_;
  const SupplyCable& cable_;
  const SupplyRating& rating_;
  std::vector<Node> nodes_;
  std::vector<sim::NodeId> outwards_;
  SupplyReport report_;
};

void check_supply(const Site& site, const SupplyReport& report, std::vector<PlanClash>& clashes) {
  const SupplyRating& rating = *site.family.supply;
  if (report.amperes > rating.most_amperes + rounding) {
    clashes.push_back({report.furthest, tr("the devices on this bus draw {:.0f} mA", 1000 * report.amperes),
                       tr("at most {:.0f} mA from one supply: a second supply, or fewer devices",
                          1000 * rating.most_amperes),
                       PlanPart::cable});
  }
  if (report.furthest != no_device && report.least_volts < rating.least_volts - rounding) {
    clashes.push_back({report.furthest,
                       tr("{} would get {} V", site.name(report.furthest),
                          with_decimal_mark(fmt::format("{:.2f}", std::max(report.least_volts, 0.0)))),
                       tr("at least {} V: a larger core, a shorter way, or a supply nearer to it",
                          with_decimal_mark(fmt::format("{:g}", rating.least_volts))),
                       PlanPart::cable});
  }
  const auto& nodes = site.network.media[report.medium].nodes;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    if (!std::isnan(report.volts[i]) || nodes[i] >= site.device_count()) continue;
    clashes.push_back({static_cast<DeviceId>(nodes[i]),
                       tr("no cable leads from the supply to {}", site.name(static_cast<DeviceId>(nodes[i]))),
                       tr("one cable that joins all of the bus"), PlanPart::cable});
  }
}

}  // namespace

std::string_view spoken(Dimming method) {
  static constexpr std::array words = {msg("leading-edge"), msg("trailing-edge"), msg("switched")};
  return in_words_spoken(words[static_cast<std::size_t>(method)]);
}

std::optional<double> conductor_ohms_per_km(double core_mm2, std::uint8_t conductor_class) {
  for (const Conductor& conductor : conductors) {
    if (std::abs(conductor.core_mm2 - core_mm2) > 1e-9) continue;
    if (conductor_class == 1 || conductor_class == 2) return conductor.ohms_solid;
    if (conductor_class == 5) return conductor.ohms_flexible;
  }
  return std::nullopt;
}

LoadReport check_loads(const Site& site) {
  LoadReport report;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleSpec& module = site.modules[i];
    if (module.load) {
      report.rows.push_back(row_of(site, site.module_id(i), *module.load));
      check_row(site, report.rows.back(), report.clashes);
    } else if (!module.neighbour) {
      report.unsaid.push_back(site.module_id(i));
    }
  }
  for (std::size_t medium = 0; medium < site.cables.size() && site.family.supply; ++medium) {
    if (!site.cables[medium]) continue;
    report.supplies.push_back(SupplyPair{site, medium}.report());
    check_supply(site, report.supplies.back(), report.clashes);
  }
  return report;
}

}  // namespace drybus::model
