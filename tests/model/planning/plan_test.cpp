#include "model/planning/plan.h"

#include <doctest/doctest.h>

#include <set>

#include "model/family/switch_bank.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;

Site site_of(std::size_t modules, std::size_t plates = 1) {
  Site site = tests::small_scenario(modules, plates).site;
  for (ModuleSpec& module : site.modules) module.intended.reset();
  return site;
}

std::vector<Address> addresses(const Plan& plan) {
  std::vector<Address> all;
  for (const ScheduleRow& row : plan.rows) all.push_back(row.address);
  return all;
}

TEST_CASE("chances of a clash are those of the birthday product") {
  // Recomputed from the formula: 16 numbers and five sites, 64 and ten; a person's own number, 16 and five.
  CHECK(chance_some_two_clash(16, 5) == doctest::Approx(0.50012).epsilon(1e-5));
  CHECK(chance_some_two_clash(64, 10) == doctest::Approx(0.52324).epsilon(1e-5));
  CHECK(chance_mine_is_hit(16, 5) == doctest::Approx(0.2758).epsilon(1e-3));
  // The birthday problem itself: 22 people 0.475695, 23 people 0.507297.
  CHECK(chance_some_two_clash(365, 22) == doctest::Approx(0.475695).epsilon(1e-5));
  CHECK(chance_some_two_clash(365, 23) == doctest::Approx(0.507297).epsilon(1e-5));
  CHECK(chance_some_two_clash(4, 5) == 1);
  CHECK(chance_mine_is_hit(64, 0) == 0);
}

TEST_CASE("every number that a bank can show is read back from its switches") {
  for (const SwitchBank bank :
       {SwitchBank{SwitchBank::Kind::binary, 6}, SwitchBank{SwitchBank::Kind::binary, 8},
        SwitchBank{SwitchBank::Kind::rotary, 1}, SwitchBank{SwitchBank::Kind::rotary, 3}}) {
    for (unsigned number = 0; number <= bank.largest(); ++number) {
      const auto value = static_cast<std::uint8_t>(number);
      CHECK(number_shown(bank, positions(bank, value)) == value);
      if (bank.kind == SwitchBank::Kind::binary)
        CHECK(parse_pattern(bank, pattern_text(bank, value)) == value);
    }
  }
}

TEST_CASE("41 is switches 1, 4 and 6, and 101001 is 41") {
  const SwitchBank bank{SwitchBank::Kind::binary, 6};
  CHECK(switches_text(bank, 41) == "switches 1, 4 and 6 up");
  CHECK(switches_text(bank, 0) == "all switches down");
  CHECK(switches_text(bank, 63) == "all switches up");
  CHECK(switches_text(bank, 8) == "switch 4 up");
  CHECK(parse_pattern(bank, "101001") == std::uint8_t{41});
  CHECK(!parse_pattern(bank, "10101"));
  CHECK(!parse_pattern(bank, "10100x"));
  const SwitchBank dials{SwitchBank::Kind::rotary, 2};
  CHECK(switches_text(dials, 47) == "dial 2 at 4, dial 1 at 7");
  CHECK(!number_shown(SwitchBank{SwitchBank::Kind::rotary, 3}, std::vector<std::uint8_t>{9, 9, 9}));
}

TEST_CASE("channels go from 1 up, and a circuit that comes last renumbers nothing") {
  const auto before = addresses(make_plan(site_of(5)));
  CHECK(before[0] == Address{23, 4, 1});
  CHECK(before[4] == Address{23, 4, 5});
  const auto after = addresses(make_plan(site_of(6)));
  CHECK(std::vector(after.begin(), after.begin() + 5) == before);
  CHECK(after[5] == Address{23, 4, 6});
}

TEST_CASE("a circuit put in between renumbers nothing when the schedule of before is kept") {
  Site site = site_of(4);
  PlanOptions options;
  for (const ScheduleRow& row : make_plan(site).rows)
    options.kept.emplace_back(site.name(row.module), row.address);
  ModuleSpec added = site.modules[0];
  added.name = "New";
  site.modules.insert(site.modules.begin() + 1, added);
  build_network(site, {{sim::MediumKind::line,
                        site.family.bus,
                        {0, 1, 2, 3, 4, 5},
                        {{0, 1}, {1, 2}, {2, 3}, {3, 4}, {4, 5}}}});
  const Plan plan = make_plan(site, options);
  CHECK(plan.rows[1].address == Address{23, 4, 5});
  CHECK(plan.rows[1].origin == AddressOrigin::proposed);
  for (const std::size_t i : {0u, 2u, 3u, 4u}) CHECK(plan.rows[i].origin == AddressOrigin::kept);
  CHECK(plan.rows[2].address == Address{23, 4, 2});
}

TEST_CASE("the factory's number and a neighbour's are replaced by one that nobody known has") {
  Site site = site_of(2, 2);
  site.plates[1].neighbour = true;
  const std::uint8_t factory = site.family.module.factory_site;
  for (const unsigned given : {unsigned{factory}, 30u}) {
    site.plates[0].site = static_cast<std::uint8_t>(given);
    site.plates[1].site = 30;
    const Plan plan = make_plan(site);
    REQUIRE(plan.numbers.size() == 1);
    const std::uint8_t planned = plan.numbers[0].planned;
    CHECK(planned != factory);
    CHECK(planned != 30);
    CHECK(planned != 0);
    CHECK(plan.site.plates[0].site == planned);
    CHECK(plan.rows[0].address.site == planned);
    CHECK(plan.clashes.empty());
    // Another neighbour changes nothing unless they have just this number.
    site.plates[1].site = planned == 40 ? 41 : 40;
    site.plates[0].site = factory;
    CHECK(make_plan(site).numbers[0].planned == planned);
  }
}

TEST_CASE("what was meant for the site number that is replaced goes along") {
  Site site = site_of(1);
  site.plates[0].site = site.family.module.factory_site;
  site.modules[0].intended = Address{site.family.module.factory_site, 4, 7};
  const Plan plan = make_plan(site);
  CHECK(plan.rows[0].address == Address{plan.numbers[0].planned, 4, 7});
  CHECK(plan.rows[0].origin == AddressOrigin::intended);
}

TEST_CASE("clashes are told: an address twice, a zone without a plate, zone 0, a zone that is full") {
  Site site = site_of(2);
  site.modules[0].intended = site.modules[1].intended = Address{23, 4, 3};
  Plan plan = make_plan(site);
  REQUIRE(plan.clashes.size() == 1);
  CHECK(plan.clashes[0].device == site.module_id(1));
  CHECK(plan.clashes[0].what == "M2 is meant to have 23/4/3, which is M1's already");
  CHECK(plan.clashes[0].expected == "another channel; 23/4/1 is free");

  site.modules[1].intended = Address{23, 9, 3};
  plan = make_plan(site);
  REQUIRE(plan.clashes.size() == 1);
  CHECK(plan.clashes[0].what == "M2 is meant for 23/9, which no plate of ours is set to");

  Site zero = site_of(1);
  zero.plates[0].zone = 0;
  CHECK(make_plan(zero).clashes.front().what == "P1 is set to zone 0, from which nothing can be addressed");

  plan = make_plan(site_of(13));
  REQUIRE(plan.clashes.size() == 1);
  CHECK(plan.clashes[0].what == "no channel is left for M13");
  CHECK(make_plan(site_of(13, 2)).clashes.empty());
  CHECK(make_plan(site_of(13, 2)).rows[12].address == Address{23, 5, 1});
}

TEST_CASE("what a module stores already need not be visited") {
  Site site = site_of(2);
  site.modules[0].intended = site.modules[0].memory.address = Address{23, 4, 1};
  const Plan plan = make_plan(site);
  CHECK(plan.rows[0].held_already);
  CHECK(!plan.rows[1].held_already);
}

}  // namespace
