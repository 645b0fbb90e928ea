#include "model/planning/loads.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;

/// A plate and modules in a row, fed at the plate, and nothing draws but the last module.
Site row_of(std::size_t modules, double metres, double amperes) {
  Site site = tests::small_scenario(modules).site;
  site.family.supply = SupplyRating{12, 9, 10, 0, amperes};
  SupplyCable cable{0.75, 5, {}, 0};
  cable.lengths_m.assign(site.network.media[0].links.size(), metres);
  site.cables = {cable};
  return site;
}

TEST_CASE("conductors have the resistances of IEC 60228 at 20 degrees") {
  // IEC 60228, tables 1 to 3, plain copper, ohm/km.
  const std::vector<std::array<double, 3>> standard = {
      {0.5, 36.0, 39.0}, {0.75, 24.5, 26.0}, {1.0, 18.1, 19.5}, {1.5, 12.1, 13.3}, {2.5, 7.41, 7.98}};
  for (const auto& [core, solid, flexible] : standard) {
    CHECK(conductor_ohms_per_km(core, 1) == solid);
    CHECK(conductor_ohms_per_km(core, 2) == solid);
    CHECK(conductor_ohms_per_km(core, 5) == flexible);
  }
  CHECK_FALSE(conductor_ohms_per_km(0.6, 5));
  CHECK_FALSE(conductor_ohms_per_km(0.75, 6));
}

TEST_CASE("one load at the end of a pair loses 2 R I") {
  // Textbook: both conductors of 100 m of 0.75 mm2 class 5 are 5.2 ohm; 0.2 A drop 1.04 V.
  Site site = row_of(1, 100, 0.2);
  const LoadReport report = check_loads(site);
  REQUIRE(report.supplies.size() == 1);
  CHECK(report.supplies[0].amperes == doctest::Approx(0.2));
  CHECK(report.supplies[0].furthest == site.module_id(0));
  CHECK(report.supplies[0].least_volts == doctest::Approx(12 - 1.04));
  CHECK(report.clashes.empty());
}

TEST_CASE("equal loads along a line lose half of what they would all together at its end") {
  // Textbook: n equal currents at equal distances along a cable drop (n + 1) / 2n of the lumped 2 R I.
  for (const std::size_t n : {2u, 5u, 10u}) {
    const Site site = row_of(n, 10, 0.01);
    const double lumped = 2 * 0.026 * 10 * static_cast<double>(n) * 0.01 * static_cast<double>(n);
    const double expected = lumped * static_cast<double>(n + 1) / static_cast<double>(2 * n);
    CHECK(12 - check_loads(site).supplies[0].least_volts == doctest::Approx(expected));
  }
}

TEST_CASE("voltages solve Kirchhoff's laws on a random tree") {
  // At every node the currents of its links, taken from the voltages by Ohm's law, leave just what it draws.
  Site site = row_of(40, 7, 0.004);
  SupplyCable& cable = *site.cables[0];
  for (std::size_t i = 0; i < cable.lengths_m.size(); ++i)
    cable.lengths_m[i] = 1 + static_cast<double>(i * 7 % 13);
  cable.fed_at = site.module_id(17);
  const SupplyReport report = check_loads(site).supplies[0];
  const sim::MediumSpec& medium = site.network.media[0];
  std::vector<double> into(site.device_count(), 0);
  for (std::size_t i = 0; i < medium.links.size(); ++i) {
    const auto [a, b] = medium.links[i];
    const double current = (report.volts[a] - report.volts[b]) / (2 * 0.026 * cable.lengths_m[i]);
    into[a] -= current;
    into[b] += current;
  }
  for (DeviceId id = 0; id < site.device_count(); ++id) {
    const double draws = site.is_plate(id) ? 0 : 0.004;
    if (id == cable.fed_at) {
      CHECK(into[id] == doctest::Approx(draws - report.amperes));
    } else {
      CHECK(into[id] == doctest::Approx(draws).epsilon(1e-9));
    }
  }
}

TEST_CASE("too little voltage, too much current and a device without a way are told") {
  Site site = row_of(3, 200, 0.2);
  LoadReport report = check_loads(site);
  REQUIRE(report.clashes.size() == 1);
  CHECK(report.clashes[0].device == site.module_id(2));
  CHECK(report.clashes[0].part == PlanPart::cable);
  CHECK(report.clashes[0].what == "M3 would get 0.00 V");

  site = row_of(3, 1, 4);
  report = check_loads(site);
  REQUIRE_FALSE(report.clashes.empty());
  CHECK(report.clashes[0].what == "the devices on this bus draw 12000 mA");

  site = row_of(3, 1, 0.01);
  site.network.media[0].links.pop_back();
  site.cables[0]->lengths_m.pop_back();
  report = check_loads(site);
  REQUIRE(report.clashes.size() == 1);
  CHECK(report.clashes[0].what == "no cable leads from the supply to M3");
  CHECK(std::isnan(report.supplies[0].volts[3]));
}

TEST_CASE("a load is held against the rating of its own dimming method, both ends included") {
  Site site = tests::small_scenario(4).site;
  site.family.module.ratings = {{Dimming::leading_edge, 40, 1000}, {Dimming::trailing_edge, 5, 400}};
  const auto clash = [&](CircuitLoad load) {
    site.modules[0].load = load;
    const auto clashes = check_loads(site).clashes;
    return clashes.empty() ? std::string{} : clashes[0].what;
  };
  CHECK(clash({Dimming::leading_edge, 40}).empty());
  CHECK(clash({Dimming::leading_edge, 1000}).empty());
  CHECK(clash({Dimming::leading_edge, 1000.5}) == "1000.5 W on M1 is more than its leading-edge rating");
  CHECK(clash({Dimming::leading_edge, 39}) ==
        "39 W on M1 is under the least load for leading-edge dimming: it may flicker or not go out");
  CHECK(clash({Dimming::trailing_edge, 39}).empty());
  CHECK(clash({Dimming::trailing_edge, 401}) == "401 W on M1 is more than its trailing-edge rating");
  CHECK(clash({Dimming::switched, 40}) == "the modules of this family have no rating for switched dimming");
  const LoadReport report = check_loads(site);
  CHECK(report.rows.size() == 1);
  CHECK(report.unsaid.size() == 3);
}

}  // namespace
