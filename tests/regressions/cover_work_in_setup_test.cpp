// A cure had the supply isolated for a plate's switches while devices that it needed were in setup: carried out as
// said, the power cut ended their setup, and several modules took one address.
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "model/planning/cover_work.h"
#include "model/world/simulation.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;
namespace json = boost::json;

/// Where the cure begins in what `recover -o` wrote.
std::size_t cure_begins(const std::vector<Step>& script) {
  for (std::size_t i = 0; i < script.size(); ++i) {
    if (script[i].kind == StepKind::note && script[i].text == "The cure.") return i;
  }
  return script.size();
}

/// Plays what was written, and checks every step of the cure against the rules of working with covers off.
void check_cover_work(const Scenario& written) {
  World world = initial_world(written);
  Simulation simulation{written, world};
  simulation.begin();
  const std::vector<Step>& script = written.people[0].script;
  const std::size_t cure = cure_begins(script);
  REQUIRE(cure < script.size());
  bool isolated = false;
  std::vector<DeviceId> held;
  std::size_t switches = 0;
  for (std::size_t i = cure; i < script.size(); ++i) {
    const Step& step = script[i];
    CAPTURE(i);
    while (world.people[0].step < i) simulation.step();
    if (step.kind == StepKind::power) {
      CHECK(step.device == no_device);
      CHECK(step.on == isolated);
      REQUIRE(i + 1 < script.size());
      CHECK(script[i + 1].kind == StepKind::wait);
      CHECK(script[i + 1].duration == (step.on ? restoring_takes : isolating_takes));
      // Whoever the cure put in setup has left it.
      for (const DeviceId device : held) CHECK(world.devices[device].mode == Mode::normal);
      isolated = !step.on;
    }
    if (step.kind == StepKind::switches) {
      ++switches;
      CHECK(isolated);
      CHECK(script[i + 1].kind == StepKind::wait);
      CHECK(script[i + 1].duration == setting_takes);
      for (const DeviceState& device : world.devices)
        CHECK((device.powered == 0 || device.mode == Mode::normal));
    }
    if (step.kind == StepKind::press || step.kind == StepKind::hold) CHECK_FALSE(isolated);
    if (step.kind == StepKind::hold) held.push_back(step.device);
  }
  CHECK_FALSE(isolated);
  CHECK(switches > 0);
}

void check_cure_of(const std::string& path, std::size_t isolations) {
  CAPTURE(path);
  const tests::Folder folder;
  const std::string file = folder.file("cured.yaml");
  const tests::Ran ran = tests::drybus_program("recover " + path + " -o " + file + " --format json");
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  const json::object told = json::parse(ran.out).as_object();
  CHECK(told.at("outcome").as_string() == "cured");
  CHECK_FALSE(told.at("shortest").as_bool());
  std::size_t isolates = 0;
  for (const json::value& step : told.at("steps").as_array())
    isolates +=
        step.at("text").as_string().find("isolated, locked off and proved dead") != json::string::npos;
  CHECK(isolates == isolations);
  CHECK(told.at("minutes").as_double() > 6.0 * static_cast<double>(isolations));
  check_cover_work(tools::load_scenario(file).scenario);
  CHECK(tests::drybus_program("run " + file).exit_code == 0);
}

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE(
      "a plate with the neighbour's number is set before anything is put in setup, with the supply off") {
    check_cure_of("tests/regressions/neighbours_number.yaml", 1);
  }

  TEST_CASE("a module that comes up lit: switches are changed twice, and nobody is in setup either time") {
    check_cure_of("scenarios/training/powers-up-lit.yaml", 2);
  }

  TEST_CASE("start afresh sets every plate in the isolation of the repairs") {
    const tests::Ran ran =
        tests::drybus_program("recover scenarios/reports/one-click-too-far.yaml --format json");
    REQUIRE(ran.exit_code == 0);
    const json::object told = json::parse(ran.out).as_object();
    for (const json::object* cure : {&told, &told.at("otherwise").as_object()}) {
      bool isolated = false;
      std::size_t isolations = 0;
      std::size_t opened = 0;
      for (const json::value& step : cure->at("steps").as_array()) {
        const std::string text{step.at("text").as_string()};
        if (text.find("isolated, locked off") != std::string::npos) isolated = ++isolations > 0;
        if (text.find("restore the supply") != std::string::npos) isolated = false;
        if (text.rfind("Open ", 0) == 0) {
          ++opened;
          CHECK(isolated);
        }
        if (text.rfind("Press ", 0) == 0 || text.rfind("Hold ", 0) == 0) CHECK_FALSE(isolated);
      }
      CHECK(isolations == 1);
      CHECK(opened == (cure == &told ? 1 : 2));
    }
  }

  TEST_CASE("a route through a site whose plates have to be set begins with that, and ends as it should") {
    const tests::Folder folder;
    const std::string file = folder.file("route.yaml");
    const tests::Ran ran = tests::drybus_program("plan scenarios/sites/village-hall.yaml --runs 0 --route " +
                                                 file + " --sheet " + folder.file("sheet.html"));
    REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
    CHECK(ran.out.find("First: the supply of everything of ours is isolated") != std::string::npos);
    CHECK(tests::content_of(folder.file("sheet.html")).find("First: the supply") != std::string::npos);
    const Scenario written = tools::load_scenario(file).scenario;
    const std::vector<Step>& script = written.people[0].script;
    REQUIRE(script.size() > 4);
    CHECK(script[0].kind == StepKind::power);
    CHECK_FALSE(script[0].on);
    bool on = false;
    for (const Step& step : script) {
      if (step.kind == StepKind::switches) CHECK_FALSE(on);
      if (step.kind == StepKind::hold || step.kind == StepKind::press) CHECK(on);
      if (step.kind == StepKind::power) on = step.on;
    }
    CHECK(tests::drybus_program("run " + file).exit_code == 0);
  }
}
