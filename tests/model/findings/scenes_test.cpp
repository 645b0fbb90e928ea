// What is found about scenes and masters: each with the story that yields it and the near miss that does not.
#include "model/findings/scenes.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/recovery/recover.h"
#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

namespace {

Scenario addressed(std::size_t modules, std::size_t plates = 1) {
  Scenario scenario = small_scenario(modules, plates);
  for (ModuleSpec& module : scenario.site.modules) {
    module.memory.address = *module.intended;
    module.memory.power_up = PowerUp::off;
  }
  for (PlateSpec& plate : scenario.site.plates) plate.zone = scenario.site.plates[0].zone;
  return scenario;
}

std::vector<Finding> found(const Scenario& scenario, FindingId id) {
  std::vector<Finding> all = run(scenario).findings;
  std::erase_if(all, [id](const Finding& finding) { return finding.id != id; });
  return all;
}

}  // namespace

TEST_SUITE("scenes") {
  TEST_CASE(
      "scene-in-motion: stored while a load is on its way; not once it stands, nor when it is there all but "
      "for a bit") {
    for (const auto& [wait, wrong] :
         {std::pair{sim::Duration{100ms}, true}, std::pair{sim::Duration{2s}, false}}) {
      Scenario scenario = addressed(2, 2);
      // A long press of one second on P1 while a second person presses off on P2.
      scenario.people.push_back({"colleague", 0, {}});
      Script{scenario}.press("P1", up).wait(2s).at(5s).hold("P1", one, 1500ms).wait(3s);
      Script{scenario, 1}.at(6s - wait).press("P2", off);
      const auto all = found(scenario, FindingId::scene_in_motion);
      REQUIRE(all.size() == (wrong ? 1 : 0));
      if (!wrong) continue;
      CHECK(all[0].devices.size() == 3);
      CHECK_FALSE(all[0].until.has_value());
      // Stored once more, at rest: it is over.
      Script{scenario}.press("P1", up).wait(2s).hold("P1", one, 1500ms).wait(1s);
      const auto again = found(scenario, FindingId::scene_in_motion);
      REQUIRE(again.size() == 1);
      CHECK(again[0].until.has_value());
    }
  }

  TEST_CASE("a wink is a show over the load: what is stored beneath it is right, and nothing is told") {
    Scenario scenario = addressed(1, 2);
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario}
        .press("P1", up)
        .wait(2s)
        .hold("P1", down, 3s)
        .at(10s)
        .hold("P1", one, 1500ms)
        .wait(2s)
        .press("P2", one);
    Script{scenario, 1}.at(6s).hold("P2", set, 2700ms).at(10700ms).press("P2", up).wait(3s);
    const RunResult result = run(scenario);
    CHECK(result.world.modules[0].memory.scenes[0] == 500);
    CHECK(found(scenario, FindingId::scene_in_motion).empty());
  }

  TEST_CASE("scene-missed: only when others took it, and only when the level differs") {
    const auto story = [](bool others, bool same_level) {
      Scenario scenario = addressed(others ? 2 : 1);
      Script script{scenario};
      script.press("P1", up).wait(2s);
      if (!same_level) script.hold("P1", down, 3s).wait(1s);
      script.power("M1", false).hold("P1", one, 1500ms).wait(1s).power("M1", true).wait(1s);
      return scenario;
    };
    // Scene 1 is full from the factory.
    CHECK(found(story(true, false), FindingId::scene_missed).size() == 1);
    CHECK(found(story(false, false), FindingId::scene_missed).empty());
    const auto lost = found(story(true, false), FindingId::scene_missed)[0];
    CHECK(lost.devices.size() == 2);
    CHECK(lost.text.find("others took it") != std::string::npos);
    CHECK(lost.remedy.find("hold P1 one for 1.5 s") != std::string::npos);
  }

  TEST_CASE(
      "scene-of-before: brought along and called; not the factory's, not of a site renumbered as a whole") {
    const auto story = [](Address before, Level level) {
      Scenario scenario = addressed(2);
      scenario.site.modules[1].memory.address = before;
      scenario.site.modules[1].memory.scenes[0] = level;
      scenario.site.modules[1].intended.reset();
      Script script{scenario};
      address(script, "P1", "M2", 2);
      script.press("P1", one).wait(1s).press("P1", one).wait(1s);
      return scenario;
    };
    CHECK(found(story({23, 9, 5}, 50), FindingId::scene_of_before).size() == 1);
    CHECK(found(story({40, 4, 2}, 50), FindingId::scene_of_before).size() == 1);
    CHECK(found(story({23, 9, 5}, full_level), FindingId::scene_of_before).empty());
    CHECK(found(story({23, 4, 2}, 50), FindingId::scene_of_before).empty());
  }

  TEST_CASE("scene-overwritten: whoever stored it finds another plate's levels; not whoever stored it last") {
    Scenario scenario = addressed(1, 2);
    Script script{scenario};
    script.press("P1", up).wait(1s).hold("P1", one, 1500ms).wait(1s).hold("P2", down, 3s).wait(1s);
    script.hold("P2", one, 1500ms).wait(1s).press("P2", one).wait(1s);
    CHECK(found(scenario, FindingId::scene_overwritten).empty());
    script.press("P1", one).wait(1s);
    const auto all = found(scenario, FindingId::scene_overwritten);
    REQUIRE(all.size() == 1);
    CHECK(scenario.site.name(all[0].devices.back()) == "P1");
  }

  TEST_CASE("scene-wrong: what the site wants and the module has not; recover stores it, with its own keys") {
    Scenario scenario = addressed(3);
    scenario.site.modules[0].intended_scenes[0] = 500;
    scenario.site.modules[1].intended_scenes[0] = 0;
    scenario.site.modules[2].intended_scenes[0] = full_level;
    Script{scenario}.wait(1s);
    const RunResult before = run(scenario);
    CHECK(found(scenario, FindingId::scene_wrong).size() == 2);
    Possibility now{&scenario, before.world, 1};
    const Cure cure = recover(scenario, std::span{&now, 1});
    REQUIRE(cure.end == Cure::End::found);
    const World after = world_after(scenario, before.world, cure.steps);
    CHECK_FALSE(look_apart(after.modules[0].memory.scenes[0], 500));
    CHECK_FALSE(look_apart(after.modules[1].memory.scenes[0], 0));
    CHECK_FALSE(look_apart(after.modules[2].memory.scenes[0], full_level));
    CHECK(is_as_aimed(scenario, cure.aim, after));
    CHECK(cure.lines.size() >= 6);
  }

  TEST_CASE(
      "levels that these keys cannot make are said, and nothing is begun; what else is wrong is cured") {
    Scenario scenario = addressed(2);
    scenario.site.modules[0].intended_scenes[0] = 500;
    scenario.site.modules[1].intended_scenes[0] = 200;
    Script{scenario}.wait(1s);
    Possibility now{&scenario, run(scenario).world, 1};
    const Cure cure = recover(scenario, std::span{&now, 1});
    CHECK(cure.end == Cure::End::nothing_to_do);
    REQUIRE(cure.aim.changes.size() == 1);
    CHECK(cure.aim.changes[0].find("dark, full and one other") != std::string::npos);
    scenario.site.modules[1].memory = factory_memory(scenario.site.family.module);
    const Possibility unaddressed{&scenario, run(scenario).world, 1};
    const Cure other = recover(scenario, std::span{&unaddressed, 1});
    REQUIRE(other.end == Cure::End::found);
    CHECK(world_after(scenario, unaddressed.world, other.steps).modules[1].memory.address ==
          Address{23, 4, 2});
  }
}
