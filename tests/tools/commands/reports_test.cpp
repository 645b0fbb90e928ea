// The telephone calls that ship: each has its true cause first, and each explanation replays.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>

#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/next_check.h"
#include "model/run/run.h"
#include "tests/support/catalogue.h"
#include "tools/commands/explanation_scenario.h"
#include "tools/load/load.h"
#include "tools/script/writer.h"

namespace {

using namespace drybus;
using model::Mishap;
namespace fs = std::filesystem;

const fs::path folder = DRYBUS_SOURCE_DIR "/scenarios/reports";

/// What really was the matter in each call; `about` is a device or a link.
struct Call {
  std::string file;
  Mishap cause;
  std::string about;
};
const std::vector<Call> calls = {
    {"blinks-by-itself.yaml", Mishap::stuck_button, "M2"},
    {"deaf-in-the-store-room.yaml", Mishap::open_link, "P1-M3"},
    {"forgot-all-at-the-flicker.yaml", Mishap::write_lost, "M2"},
    {"gave-up-in-the-attic.yaml", Mishap::took_longer, ""},
    {"lights-out-by-themselves.yaml", Mishap::neighbour, "N1"},
    {"no-blips-after-lunch.yaml", Mishap::took_longer, ""},
    {"nothing-beyond-the-stairs.yaml", Mishap::open_link, "M2-M3"},
    {"one-click-too-far.yaml", Mishap::switch_wrong, "P2"},
    {"second-hand-module.yaml", Mishap::other_address, "M4"},
    {"steady-and-then-nothing.yaml", Mishap::other_generation, "M2"},
    {"the-fourth-just-sits-there.yaml", Mishap::let_go_early, "M4"},
    {"the-wrong-pendant-flashes.yaml", Mishap::wrong_module, "M2"},
    {"two-answer-as-one.yaml", Mishap::second_module, "M1"},
};

bool is(const model::Site& site, const model::PlacedCause& placed, const Call& call) {
  if (placed.cause != call.cause) return false;
  if (call.about.empty()) return true;
  if (placed.link)
    return site.link_name(*placed.link) == call.about || placed.link == site.find_link(call.about);
  return placed.device != model::no_device && site.name(placed.device) == call.about;
}

tools::LoadedReport load(const std::string& file) {
  return tools::load_report((folder / file).string());
}

TEST_CASE("the true cause of every call that ships ranks first") {
  const model::Catalogue catalogue = tests::shipped_catalogue();
  for (const Call& call : calls) {
    CAPTURE(call.file);
    const tools::LoadedReport loaded = load(call.file);
    const model::Diagnosis diagnosis = model::diagnose(loaded.report, catalogue);
    REQUIRE_FALSE(diagnosis.explanations.empty());
    const auto& faults = diagnosis.explanations.front().faults;
    CAPTURE(diagnosis.explanations.front().text);
    REQUIRE(faults.size() == 1);
    CHECK(is(loaded.report.believed.site, faults.front(), call));
    CHECK(diagnosis.unexplained < 0.2);
  }
}

TEST_CASE("every report that ships is among the calls") {
  std::vector<std::string> found, known;
  for (const auto& entry : fs::directory_iterator{folder}) {
    if (entry.path().extension() == ".yaml") found.push_back(entry.path().filename().string());
  }
  for (const Call& call : calls) known.push_back(call.file);
  std::sort(found.begin(), found.end());
  CHECK(found == known);
}

TEST_CASE("every explanation of every call replays as a scenario that passes") {
  const model::Catalogue catalogue = tests::shipped_catalogue();
  for (const Call& call : calls) {
    const tools::LoadedReport loaded = load(call.file);
    const model::Diagnosis diagnosis = model::diagnose(loaded.report, catalogue);
    for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
      CAPTURE(call.file);
      CAPTURE(diagnosis.explanations[i].text);
      const std::string text =
          tools::write_scenario(tools::explanation_scenario(loaded, diagnosis.explanations[i], i + 1));
      const auto reading = tools::read_scenario_text(text, folder / "explanation.yaml");
      REQUIRE(reading.ok());
      const model::RunResult result = model::run(reading.value().scenario);
      CHECK(result.passed());
      CHECK(result.world.modules == diagnosis.explanations[i].ways.front().world->modules);
    }
  }
}

/// Checks answered from a world, as somebody on site would who is never wrong.
std::size_t checks_until_sure(const model::Report& report, model::Diagnosis diagnosis,
                              const model::Account& truth) {
  const model::Catalogue catalogue = tests::shipped_catalogue();
  const model::Scenario scenario = model::scenario_of(report, truth);
  model::World world = *truth.world;
  std::size_t asked = 0;
  while (const auto next = model::next_check(report, diagnosis)) {
    model::Observed observed = model::observe(scenario, world, next->check);
    world = std::move(observed.world);
    model::narrow(report, catalogue, diagnosis, next->check, observed.outcome);
    if (++asked == 12) break;
  }
  return asked;
}

TEST_CASE("the checks that are asked for settle every call within a few") {
  const model::Catalogue catalogue = tests::shipped_catalogue();
  for (const Call& call : calls) {
    CAPTURE(call.file);
    const tools::LoadedReport loaded = load(call.file);
    const model::Diagnosis diagnosis = model::diagnose(loaded.report, catalogue);
    CHECK(checks_until_sure(loaded.report, diagnosis, diagnosis.explanations.front().ways.front()) <= 6);
  }
}

}  // namespace
