// Keys for more than one zone: what is sent, and whom it is for.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <initializer_list>

#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

namespace {

Family with_masters() {
  return tools::load_family("master-keypad").family;
}

ModuleMemory at(const Family& family, std::uint8_t site, std::uint8_t zone) {
  ModuleMemory memory = factory_memory(family.module);
  memory.address = {site, zone, 1};
  return memory;
}

Button key(const Family& family, const std::string& name) {
  const auto& all = family.plate.buttons;
  return static_cast<Button>(std::find(all.begin(), all.end(), name) - all.begin());
}

}  // namespace

TEST_SUITE("masters") {
  TEST_CASE("a command says in the channel's byte whom it is for, and reads so") {
    CHECK(to_string(Telegram{TelegramKind::off, 61, 3, 0, 0}) == "off 61/3");
    CHECK(to_string(Telegram{TelegramKind::off, 61, 3, 1, 0}) == "off 61/3's group");
    CHECK(to_string(Telegram{TelegramKind::recall, 61, 3, 2, 3}) == "recall scene 3 in all of site 61");
    CHECK(to_string(Telegram{TelegramKind::off, 61, 3, 9, 0}) == "off 61/3 (unknown scope 9)");
    CHECK(to_string(Telegram{TelegramKind::assign, 61, 3, 2, 0}) == "assign 61/3/2");
    CHECK_FALSE(is_for(Telegram{TelegramKind::off, 61, 3, 9, 0}, Scope::zone));
    CHECK(is_for(Telegram{TelegramKind::assign, 61, 3, 2, 0}, Scope::zone));
    const Telegram group{TelegramKind::lower, 61, 3, 1, 0};
    CHECK(decode(encode(group)) == group);
  }

  TEST_CASE("groups are zones one after another, from 1 on") {
    CHECK(in_one_group(4, 1, 4));
    CHECK_FALSE(in_one_group(4, 4, 5));
    CHECK(in_one_group(4, 5, 8));
    CHECK_FALSE(in_one_group(4, 0, 1));
    CHECK_FALSE(in_one_group(0, 1, 1));
    CHECK(in_one_group(255, 1, 255));
  }

  TEST_CASE("a module is meant by its zone, its group and its site, and by nobody else's") {
    const Family family = with_masters();
    const ModuleMemory mine = at(family, 61, 6);
    const auto meant = [&](const ModuleMemory& memory, Telegram telegram) {
      return is_meant(family.module, memory, telegram);
    };
    for (const std::uint8_t zone : std::initializer_list<std::uint8_t>{5, 6, 7, 8}) {
      CHECK(meant(mine, {TelegramKind::off, 61, zone, 1, 0}));
      CHECK(meant(mine, {TelegramKind::off, 61, zone, 0, 0}) == (zone == 6));
    }
    CHECK_FALSE(meant(mine, {TelegramKind::off, 61, 4, 1, 0}));
    CHECK_FALSE(meant(mine, {TelegramKind::off, 61, 9, 1, 0}));
    CHECK(meant(mine, {TelegramKind::off, 61, 31, 2, 0}));
    CHECK_FALSE(meant(mine, {TelegramKind::off, 60, 6, 2, 0}));
    CHECK_FALSE(meant(mine, {TelegramKind::off, 60, 6, 1, 0}));
    CHECK_FALSE(meant(mine, {TelegramKind::off, 61, 6, 3, 0}));
    // As from the factory it takes all of its site number for its own.
    const ModuleMemory fresh = factory_memory(family.module);
    CHECK(meant(fresh, {TelegramKind::off, family.module.factory_site, 9, 1, 0}));
    CHECK(meant(fresh, {TelegramKind::off, family.module.factory_site, 9, 2, 0}));
  }

  TEST_CASE("what a button sends, for whom it speaks") {
    const Family family = with_masters();
    const auto sent = [&](const std::string& name, bool held) {
      const auto& bindings = held ? family.plate.hold : family.plate.press;
      return telegram_of(bindings[key(family, name)], 61, 3);
    };
    CHECK(sent("up", false) == Telegram{TelegramKind::on, 61, 3, 0, 0});
    CHECK(sent("other", false) == Telegram{TelegramKind::on, 61, 4, 0, 0});
    CHECK(sent("floor", true) == Telegram{TelegramKind::lower, 61, 3, 1, 0});
    CHECK(sent("house", false) == Telegram{TelegramKind::off, 61, 3, 2, 0});
    CHECK(sent("three", false) == Telegram{TelegramKind::recall, 61, 3, 1, 3});
    CHECK_FALSE(sent("mark", false).has_value());
    CHECK(speaks_for(family.plate, Whom::next_zone));
    CHECK_FALSE(speaks_for(test_family().plate, Whom::next_zone));
    PlateState state;
    state.site = 61;
    state.zone = 3;
    CHECK(has_keys_for(family.plate, state, 61, 3));
    CHECK(has_keys_for(family.plate, state, 61, 4));
    CHECK_FALSE(has_keys_for(family.plate, state, 61, 5));
    CHECK_FALSE(has_keys_for(test_family().plate, state, 61, 4));
  }

  TEST_CASE(
      "off for the house, lower for the floor with its stop, on for the zone after: who is switched by "
      "what") {
    const Family family = with_masters();
    Scenario scenario = small_scenario(4, 1, family);
    scenario.site.plates[0].zone = 3;
    const std::array<std::uint8_t, 4> zones = {3, 4, 5, 3};
    for (std::size_t i = 0; i < 4; ++i) {
      ModuleSpec& module = scenario.site.modules[i];
      module.intended.reset();
      module.memory.address = {static_cast<std::uint8_t>(i == 3 ? 24 : 23), zones[i], 1};
      module.memory.power_up = PowerUp::full;
    }
    const auto levels_after = [&](auto act) {
      Scenario pressed = scenario;
      Script script{pressed};
      act(script);
      script.wait(2s);
      const World world = run(pressed).world;
      std::vector<Level> levels;
      for (const LoadState& load : world.loads) levels.push_back(load.at(world.now));
      return levels;
    };
    using Levels = std::vector<Level>;
    CHECK(levels_after([&](Script& s) { s.press("P1", key(family, "down")); }) ==
          Levels{0, 1000, 1000, 1000});
    CHECK(levels_after([&](Script& s) { s.press("P1", key(family, "floor")); }) == Levels{0, 0, 1000, 1000});
    CHECK(levels_after([&](Script& s) { s.press("P1", key(family, "house")); }) == Levels{0, 0, 0, 1000});
    CHECK(levels_after([&](Script& s) {
            s.press("P1", key(family, "house")).wait(2s).press("P1", key(family, "other"));
          }) == Levels{0, 1000, 0, 1000});
    // 1.2 s tell a long press; for one second of the five all of the group goes down, and stops.
    CHECK(levels_after([&](Script& s) { s.hold("P1", key(family, "floor"), 2200ms); }) ==
          Levels{800, 800, 1000, 1000});
  }

  TEST_CASE("a module of a generation without groups or masters is told of, and does nothing") {
    Scenario scenario = small_scenario(2, 1, with_masters());
    scenario.site.other_families = {test_family()};
    scenario.site.modules[1].family = 1;
    for (ModuleSpec& module : scenario.site.modules) {
      module.memory.address = *module.intended;
      module.memory.power_up = PowerUp::full;
    }
    Script{scenario}.press("P1", key(scenario.site.family, "house")).wait(2s);
    const RunResult result = run(scenario);
    CHECK(result.world.loads[0].at(result.world.now) == 0);
    CHECK(result.world.loads[1].at(result.world.now) == full_level);
    REQUIRE(result.findings.size() >= 1);
    CHECK(std::any_of(result.findings.begin(), result.findings.end(),
                      [](const Finding& finding) { return finding.id == FindingId::not_understood; }));
  }

  TEST_CASE("modules that come without scenes have none until one is stored") {
    const Family family = with_masters();
    CHECK(factory_memory(family.module).scenes == no_scenes());
    CHECK(factory_memory(test_family().module).scenes[0] == full_level);
  }
}
