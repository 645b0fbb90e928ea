#include <doctest/doctest.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>
#include <fstream>
#include <vector>

#include "model/recovery/report.h"
#include "model/world/simulation.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/load/load.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
namespace fs = std::filesystem;
namespace json = boost::json;

std::vector<fs::path> yaml_files(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator{fs::path{DRYBUS_SOURCE_DIR} / folder}) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

json::object recovered(const std::string& path, const std::string& more = "") {
  const Ran ran = drybus_program("recover '" + path + "' --format json " + more);
  REQUIRE_MESSAGE(ran.exit_code == 0, path << ": " << ran.err);
  return json::parse(ran.out).as_object();
}

struct CuredReport {
  drybus::model::Report report;
  drybus::model::Diagnosis diagnosis;
  drybus::model::ReportCure found;
};

CuredReport cured_report(const fs::path& path) {
  CuredReport cured{drybus::tools::load_report(path.string()).report, {}, {}};
  cured.diagnosis = drybus::model::diagnose(cured.report, drybus::tools::load_catalogue(path.string()));
  cured.found = drybus::model::recover(cured.report, cured.diagnosis);
  return cured;
}

}  // namespace

TEST_SUITE("recover") {
  TEST_CASE("every training scenario that ends out of step is cured, and its cure replays") {
    std::size_t cured = 0;
    for (const fs::path& path : yaml_files("scenarios/training")) {
      CAPTURE(path.string());
      const Folder folder;
      const std::string file = folder.file("recovered.yaml");
      const json::object told = recovered(path.string(), "-o " + file);
      if (told.at("outcome").as_string() == "cured") {
        ++cured;
        CHECK_FALSE(told.at("steps").as_array().empty());
        CHECK(told.at("time_s").as_double() > 0);
      }
      const Ran replay = drybus_program("run " + file + " --format json");
      CHECK(replay.exit_code == 0);
      const json::array findings = json::parse(replay.out).as_object().at("findings").as_array();
      for (const json::value& finding : findings) {
        CHECK_FALSE(finding.at("until_s").is_null());
      }
      // And what was cured has nothing left to do.
      CHECK(recovered(file).at("outcome").as_string() == "nothing-to-do");
    }
    CHECK(cured >= 5);
  }

  TEST_CASE("the cure of every report works under each explanation above one percent") {
    namespace model = drybus::model;
    std::size_t cured = 0;
    for (const fs::path& path : yaml_files("scenarios/reports")) {
      CAPTURE(path.string());
      const auto [report, diagnosis, found] = cured_report(path);
      CHECK(found.cure.end != model::Cure::End::no_cure);
      cured += found.cure.end == model::Cure::End::found ? 1 : 0;
      for (const model::RankedExplanation& explanation : diagnosis.explanations) {
        if (explanation.probability < 0.01) continue;
        const model::Account& account = explanation.ways.front();
        const model::Scenario scenario = scenario_of(report, account);
        const model::World after = model::world_after(scenario, *account.world, found.cure.steps);
        CHECK(model::amiss(scenario, found.cure.aim, after).empty());
      }
    }
    CHECK(cured >= 5);
  }

  TEST_CASE("what a report's cure says otherwise works in a world that no explanation knows") {
    namespace model = drybus::model;
    for (const fs::path& path : yaml_files("scenarios/reports")) {
      CAPTURE(path.string());
      const auto [report, diagnosis, found] = cured_report(path);
      REQUIRE(found.otherwise.end == model::Cure::End::found);
      // All of it at once: a broken line, a stuck button, a wrong switch and a module that holds nonsense.
      model::Scenario scenario = report.believed;
      model::World world = model::initial_world(scenario);
      model::Simulation simulation{scenario, world};
      simulation.begin();
      while (!simulation.scripts_done()) simulation.step();
      world.medium.set_link(scenario.site.network, 0, drybus::sim::LinkState::open);
      world.devices[scenario.site.module_id(0)].stuck = model::only(0);
      world.plates[0].zone = static_cast<std::uint8_t>(world.plates[0].zone % 3 + 1);
      world.modules[0].memory.address = {99, 1, 1};
      REQUIRE_FALSE(is_as_aimed(scenario, found.otherwise.aim, world));
      const model::World after = model::world_after(scenario, world, found.otherwise.steps);
      const auto left = model::amiss(scenario, found.otherwise.aim, after);
      CAPTURE(left.empty() ? std::string{} : left.front());
      CHECK(left.empty());
    }
  }

  TEST_CASE("a report's cure says what to do should none of its explanations be right") {
    const Ran ran = drybus_program("recover scenarios/reports/the-fourth-just-sits-there.yaml");
    CHECK(ran.out.find("start afresh") != std::string::npos);
    CHECK(ran.out.find("An electrician tests the bus from end to end") != std::string::npos);
    const json::object told = recovered("scenarios/reports/the-fourth-just-sits-there.yaml");
    CHECK(told.at("otherwise").at("steps").as_array().size() > told.at("steps").as_array().size());
    CHECK(recovered("scenarios/training/unaddressed.yaml").at("otherwise").is_null());
  }

  TEST_CASE("a report's cure comes as a scenario of the likeliest explanation, which replays") {
    const Folder folder;
    const std::string file = folder.file("recovered.yaml");
    const json::object told = recovered("scenarios/reports/the-fourth-just-sits-there.yaml", "-o " + file);
    CHECK(told.at("outcome").as_string() == "cured");
    CHECK_FALSE(told.at("explanations").as_array().empty());
    CHECK(drybus_program("run " + file).exit_code == 0);
  }

  TEST_CASE("a cure is told step by step, with what the lamp shows and how long it takes") {
    const Ran ran = drybus_program("recover scenarios/training/unaddressed.yaml");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("Hold the local button of Window seat (M3) until its lamp blinks: 3.5 s.") !=
          std::string::npos);
    CHECK(ran.out.find("Window seat (M3) takes 23/5/3") != std::string::npos);
    CHECK(ran.out.find("It takes 10 s; no other way is quicker.") != std::string::npos);
  }

  TEST_CASE("where nothing is out of step, nothing is to be done") {
    const Ran ran = drybus_program("recover scenarios/training/first-steps.yaml");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("Nothing to do") != std::string::npos);
  }

  TEST_CASE("a link that stays open is a repair, with its caution") {
    const Folder folder;
    const std::string file = folder.file("recovered.yaml");
    std::ofstream{file} << R"(drybus: 1
family: wired-keypad
site:
  places: {hall: {}}
  plates: {P1: {label: Hall plate, place: hall, switches: {site: 23, zone: 4}}}
  modules:
    M1: {label: Pendants, place: hall, intended: 23/4/1, stored: 23/4/1, power_up: off}
    M2: {label: Spots, place: hall, intended: 23/4/2, stored: 23/4/2, power_up: off}
  bus: {line: [P1, M1, M2]}
script:
  - fault: {open: M1-M2}
  - press: P1 up
)";
    const json::object told = recovered(file);
    CHECK(told.at("outcome").as_string() == "cured");
    CHECK(told.at("repairs").as_int64() == 1);
    CHECK(told.at("steps").as_array()[1].at("caution").as_string().find("Isolate at the supply") == 0);
  }

  TEST_CASE("what cannot be cured exits with 1 and says why") {
    const Folder folder;
    const std::string file = folder.file("recovered.yaml");
    std::ofstream{file} << R"(drybus: 1
family: wired-keypad
site:
  places: {hall: {}}
  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}
  modules:
    M1: {place: hall, intended: 23/4/1}
    M2: {place: hall, intended: 23/4/1}
script:
  - wait: 1s
)";
    const Ran ran = drybus_program("recover " + file);
    CHECK(ran.exit_code == 1);
    CHECK(ran.out.find("M1 and M2 are both meant to have 23/4/1") != std::string::npos);
  }

  TEST_CASE("what cannot be used exits with 2 and leaves no file") {
    CHECK(drybus_program("recover no-such-file.yaml").exit_code == 2);
    CHECK(drybus_program("recover").exit_code == 2);
    const Ran over =
        drybus_program("recover scenarios/training/unaddressed.yaml -o scenarios/training/unaddressed.yaml");
    CHECK(over.exit_code == 2);
    CHECK(over.err.find("unaddressed.yaml is read by this command") != std::string::npos);
    CHECK(drybus_program("recover scenarios/training/unaddressed.yaml --reserve 95").exit_code == 2);
  }
}
