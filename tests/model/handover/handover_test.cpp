// The round that proves a site right: its cover against every other choice, its slips against worlds made by hand.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "model/handover/part.h"
#include "model/handover/round.h"
#include "model/planning/allocation.h"
#include "model/run/run.h"
#include "model/world/simulation.h"
#include "sim/random.h"
#include "tests/support/catalogue.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

/// Places in a row, so many seconds apart.
Site places_in_a_row(std::size_t places, sim::Stream& draw) {
  Site site;
  std::vector<std::int64_t> at;
  for (std::size_t i = 0; i < places; ++i) {
    site.places.push_back({fmt::format("place {}", i)});
    at.push_back(static_cast<std::int64_t>(draw.below(100)));
  }
  for (std::size_t a = 0; a < places; ++a) {
    for (std::size_t b = 0; b < places; ++b)
      site.walks.push_back(std::chrono::seconds{std::abs(at[a] - at[b])});
  }
  return site;
}

TEST_CASE("the shortest way through places is that of trying every order") {
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    CAPTURE(seed);
    sim::Stream draw{seed, sim::Purpose::timing, 0, 0};
    const Site site = places_in_a_row(6, draw);
    std::vector<PlaceId> order = {1, 2, 3, 4, 5};
    sim::Duration least = sim::Duration::max();
    do {
      sim::Duration length = site.walk(0, order[0]);
      for (std::size_t i = 1; i < order.size(); ++i) length += site.walk(order[i - 1], order[i]);
      least = std::min(least, length);
    } while (std::next_permutation(order.begin(), order.end()));
    const WayThrough way = way_through(site, {1, 2, 3, 4, 5}, PlaceId{0});
    CHECK(way.length == least);
    CHECK(way.exact);
    CHECK(way.places.size() == 5);
  }
}

TEST_CASE("a cover that is proved costs as little as the best of all sets of tests") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    CAPTURE(seed);
    sim::Stream draw{seed, sim::Purpose::timing, 0, 0};
    const Site site = places_in_a_row(4, draw);
    CoverProblem problem;
    problem.site = &site;
    problem.rows = 8;
    for (int i = 0; i < 9; ++i) {
      CoverTest test;
      for (std::uint32_t row = 0; row < problem.rows; ++row) {
        if (draw.below(3) == 0) test.rows.push_back(row);
      }
      test.price = std::chrono::seconds{1 + static_cast<std::int64_t>(draw.below(20))};
      test.places = {static_cast<PlaceId>(draw.below(4))};
      problem.tests.push_back(test);
    }
    const Cover cover = cheapest_cover(problem);
    CHECK(cover.proved);
    sim::Duration least = sim::Duration::max();
    for (unsigned set = 0; set < 512; ++set) {
      std::vector<PlaceId> places;
      std::vector<bool> covered(problem.rows);
      sim::Duration price{};
      for (std::size_t i = 0; i < 9; ++i) {
        if ((set >> i & 1u) == 0) continue;
        price += problem.tests[i].price;
        for (const std::uint32_t row : problem.tests[i].rows) covered[row] = true;
        if (std::find(places.begin(), places.end(), problem.tests[i].places[0]) == places.end())
          places.push_back(problem.tests[i].places[0]);
      }
      for (const std::uint32_t row : cover.open) covered[row] = true;
      if (!std::all_of(covered.begin(), covered.end(), [](bool each) { return each; })) continue;
      least = std::min(least, price + way_through(site, places, std::nullopt).length);
    }
    CHECK(cover.price == least);
  }
}

TEST_CASE("a part of a site keeps who hears whom, and the rest is gone") {
  const Site whole = small_scenario(6, 2).site;
  const SitePart part = part_of(whole, {0, whole.module_id(1), whole.module_id(5)});
  REQUIRE(part.site.device_count() == 3);
  CHECK(part.site.modules[1].name == "M6");
  CHECK(part.of_whole[2] == whole.module_id(5));
  sim::Medium medium{part.site.network};
  CHECK(medium.path(part.site.network, 0, 2));
  CHECK(part.site.network.links.size() == 2);
}

struct SmallSite {
  Plan plan;
  SiteWishes wishes;
  BuiltSite site;
  RouteProblem problem;
};

SmallSite small_built(std::size_t modules = 3, std::size_t plates = 1) {
  SmallSite small;
  Site site = small_scenario(modules, plates).site;
  small.wishes = no_wishes(site);
  small.plan = make_plan(site);
  small.site = built(small.plan);
  small.problem.site = small.plan.site;
  for (const ScheduleRow& row : small.plan.rows)
    small.problem.stops.push_back({row.module, row.address.channel, row.plates});
  return small;
}

/// Whether a run of the round's script shows anything that it should not, with this done to the site first.
template <class Wrong>
bool shows(const RoundScript& round, Wrong wrong) {
  Scenario scenario = round.trial.scenario;
  wrong(scenario.site);
  return !run(scenario).passed();
}

TEST_CASE(
    "the round shows modules with another channel, zone or power-up mode, or none; and a plate that is set "
    "otherwise") {
  const SmallSite small = small_built();
  REQUIRE(small.plan.clashes.empty());
  const RoundChoice choice = choose_round(small.site, small.problem, shipped_catalogue(), {20'000, 100});
  CHECK(choice.proved);
  CHECK(choice.outcomes > 10);
  CHECK(choice.told + choice.untold.size() == choice.outcomes);
  CHECK(choice.doubles > 50);
  CHECK(choice.doubles_told > choice.doubles / 2);
  const RoundScript round = round_script(small.site, round_of(small.site, choice.tests));
  CHECK_FALSE(shows(round, [](Site&) {}));
  CHECK(round.takes < everything_takes(small.site));
  // Each made by hand, not by the catalogue.
  CHECK(shows(round,
              [](Site& site) { std::swap(site.modules[0].memory.address, site.modules[1].memory.address); }));
  CHECK(shows(round, [](Site& site) { site.modules[1].memory.address = site.modules[0].memory.address; }));
  CHECK(shows(round, [](Site& site) { site.modules[2].memory.address.zone ^= 1; }));
  CHECK(shows(round, [](Site& site) { site.modules[2].memory.address.channel = 9; }));
  CHECK(shows(round, [](Site& site) { site.modules[0].memory = factory_memory(site.family.module); }));
  CHECK(shows(round, [](Site& site) { site.modules[1].memory.power_up = PowerUp::full; }));
  CHECK(shows(round, [](Site& site) { site.plates[0].zone ^= 1; }));
  CHECK(shows(round, [](Site& site) { site.modules[1].memory.scenes[0] = 200; }));
}

TEST_CASE("without one of its tests the round tells less, or a key is not tried: nothing in it is needless") {
  const SmallSite small = small_built();
  const RoundChoice choice = choose_round(small.site, small.problem, shipped_catalogue(), {20'000, 0});
  for (std::size_t i = 0; i < choice.tests.size(); ++i) {
    if (choice.tests[i].kind == RoundTest::Kind::key) continue;  // every key is pressed, whatever it tells
    std::vector<RoundTest> fewer = choice.tests;
    fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
    const RoundScript round = round_script(small.site, round_of(small.site, fewer));
    const bool dark = choice.tests[i].kind == RoundTest::Kind::dark;
    const bool still = shows(round, [dark](Site& site) {
      if (dark) {
        site.modules[1].memory.power_up = PowerUp::full;
      } else {
        std::swap(site.modules[0].memory.address, site.modules[1].memory.address);
      }
    });
    CHECK_FALSE(still);
  }
}

TEST_CASE(
    "plates without switches get zones of one number that is neither the factory's nor the neighbour's") {
  Site site = small_scenario(4, 3).site;
  for (PlateSpec& plate : site.plates) plate.site = plate.zone = 0;
  site.plates[2].neighbour = true;
  site.plates[2].site = 7;
  site.plates[2].zone = 1;
  for (ModuleSpec& module : site.modules) module.intended.reset();
  SiteWishes wishes = no_wishes(site);
  wishes.open_plates = {true, true, false};
  wishes.plates[3] = {1};
  wishes.plates[0] = {0};
  const Allocation allocation = allocate(site, wishes);
  CHECK(allocation.clashes.empty());
  const PlateSpec &first = allocation.site.plates[0], &second = allocation.site.plates[1];
  CHECK(first.site == second.site);
  CHECK(first.site != site.family.module.factory_site);
  CHECK(first.site != 7);
  CHECK(first.zone != second.zone);  // modules of the room name both
  CHECK(allocation.plates[3] == std::vector<DeviceId>{1});
  // Where nobody tells them apart, plates of one room share its zone.
  wishes.plates.assign(4, {});
  const Allocation shared = allocate(site, wishes);
  CHECK(shared.site.plates[0].zone == shared.site.plates[1].zone);
}

}  // namespace
