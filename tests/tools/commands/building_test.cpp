#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>

#include "model/run/run.h"
#include "model/world/simulation.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/commands/made_up_building.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::tools;

model::Family family(const std::string& name) {
  return load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/" + name).scenario.site.family;
}

TEST_CASE("a made-up building has its rooms, and people who switch its lights all day") {
  const model::Scenario scenario = building(family("setup-split.yaml"), {30, 10, 10}, 1);
  const model::Site& site = scenario.site;
  CHECK(site.device_count() == 330);
  CHECK(site.network.media.size() == 3);
  CHECK(scenario.people.size() == 30);

  const model::RunResult day = model::run(scenario);
  CHECK(day.passed());
  CHECK(day.findings.empty());
  CHECK(day.world.now > sim::start_of_run + std::chrono::hours{16});
  std::size_t presses = 0, obeyed = 0;
  for (const sim::Entry& entry : day.record.entries()) {
    presses += entry.kind == static_cast<std::uint16_t>(model::What::sent);
    obeyed += entry.kind == static_cast<std::uint16_t>(model::What::obeyed);
  }
  CHECK(presses >= 300);
  CHECK(obeyed >= 3000);
}

TEST_CASE("a family whose plates show too few site numbers is refused") {
  const tests::Folder folder;
  const std::string shipped = tests::content_of(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml");
  const auto with_switches = [&](const std::string& bank) {
    std::string text = shipped;
    const auto change = [&](const std::string& from, const std::string& to) {
      REQUIRE(text.find(from) != std::string::npos);
      text.replace(text.find(from), from.size(), to);
    };
    change("site_switches: {binary: 6}", "site_switches: {binary: " + bank + "}");
    change("factory: {site: 50,", "factory: {site: 1,");  // which few switches can show, too
    return tests::drybus_program("building --family " + folder.write("own.yaml", text));
  };
  const tests::Ran one = with_switches("1");
  CAPTURE(one.err);
  CHECK(one.exit_code == 2);
  CHECK(one.err.find("too few numbers for a building") != std::string::npos);
  CHECK(with_switches("2").exit_code == 0);
}

TEST_CASE("a larger building begins with the same rooms and the same days") {
  const auto small = building(family("setup-split.yaml"), {10, 10, 10}, 7);
  const auto large = building(family("setup-split.yaml"), {40, 10, 10}, 7);
  for (std::size_t person = 0; person < small.people.size(); ++person) {
    REQUIRE(small.people[person].script.size() == large.people[person].script.size());
    for (std::size_t step = 0; step < small.people[person].script.size(); ++step)
      CHECK(small.people[person].script[step].at == large.people[person].script[step].at);
  }
}

TEST_CASE("more devices than 16 bits can number are still themselves") {
  const auto scenario = building(family("setup-split.yaml"), {6'600, 10, 10}, 1);
  REQUIRE(scenario.site.device_count() == 72'600);
  model::World world = model::initial_world(scenario);
  model::Simulation simulation{scenario, world};
  simulation.begin();
  // Everybody has switched on, and nobody goes to lunch yet.
  simulation.run_until(sim::start_of_run + std::chrono::hours{11} + std::chrono::minutes{30});
  const auto is_lit = [](const model::LoadState& load) { return load.to > 0; };
  CHECK(std::all_of(world.loads.begin(), world.loads.end(), is_lit));

  model::World other = world;
  const auto event = [](std::uint32_t who) { return sim::Event{sim::first_free_event_kind, 0, who, 0}; };
  world.queue.push(world.now, event(4));
  other.queue.push(other.now, event(4 + 65'536));
  CHECK(model::hash_of(world) != model::hash_of(other));
  sim::Digest digest, other_digest;
  model::add_to(digest, world);
  model::add_to(other_digest, other);
  CHECK(digest.value() != other_digest.value());
}

TEST_CASE("drybus building writes a scenario that runs, and says what it cannot build") {
  for (const char* family : {"wired-keypad", "radio-keypad"}) {
    const tests::Folder folder;
    const std::string file = folder.file("building.yaml");
    REQUIRE(
        tests::drybus_program(
            fmt::format("building --plates 6 --modules 3 --per-bus 4 --family {} -o - > {}", family, file))
            .exit_code == 0);
    const tests::Ran written = tests::drybus_program("run " + file + " --format json");
    CAPTURE(written.err);
    CHECK(written.out.find("\"passed\":true") != std::string::npos);
  }
  CHECK(tests::drybus_program("building --plates 0").exit_code == 2);
  CHECK(tests::drybus_program("building --modules 13").exit_code == 2);
  CHECK(tests::drybus_program("building --plates 100000").exit_code == 2);
  CHECK(tests::drybus_program("building --family wired-keypat").exit_code == 2);
}

}  // namespace
