// What was told twice of one fact was written as two statements under one key, which `run` refuses. Everything
// written can be read again: of the shipped reports, and of the same with looks told twice, at random.
#include <doctest/doctest.h>

#include <filesystem>

#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/commands/explanation_scenario.h"
#include "tools/load/load.h"
#include "tools/script/writer.h"

namespace {

using namespace drybus;
using tests::drybus_program;
using tests::Folder;
using tests::Ran;
namespace fs = std::filesystem;

std::vector<fs::path> shipped_reports() {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator{DRYBUS_SOURCE_DIR "/scenarios/reports"}) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::size_t times(const std::string& text, const std::string& wanted) {
  std::size_t count = 0;
  for (auto at = text.find(wanted); at != std::string::npos; at = text.find(wanted, at + 1)) ++count;
  return count;
}

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE(
      "explanations and a cure of a report that tells one fact twice can be run, with both statements") {
    const Folder folder;
    const std::string report = "tests/regressions/fact_seen_twice.yaml";
    CHECK(drybus_program("diagnose " + report + " --scenarios " + folder.file("all")).exit_code == 0);
    CHECK(drybus_program("recover " + report + " -o " + folder.file("all/cured.yaml")).exit_code == 0);
    std::size_t files = 0;
    for (const auto& entry : fs::directory_iterator{folder.path() / "all"}) {
      ++files;
      const Ran ran = drybus_program("run '" + entry.path().string() + "'");
      CHECK_MESSAGE(ran.exit_code == 0, ran.err);
      // Nine statements on loads, each there once more.
      CHECK(times(tests::content_of(entry.path()), ".load: ") == 9);
    }
    CHECK(files > 2);
  }

  TEST_CASE("whatever is written of the shipped reports can be run, looks told twice among them") {
    const Folder folder;
    std::uint64_t seed = 0;
    for (const fs::path& path : shipped_reports()) {
      CAPTURE(path.string());
      tools::LoadedReport loaded = tools::load_report(path.string());
      sim::Stream draw{++seed, sim::Purpose::generator, 8, 0};
      for (std::uint64_t more = draw.below(4); more > 0; --more) {
        auto& seen = loaded.report.seen;
        const auto at = static_cast<std::ptrdiff_t>(draw.below(seen.size()));
        const model::Seen again = seen[static_cast<std::size_t>(at)];
        seen.insert(seen.begin() + at, again);
      }
      const model::Diagnosis diagnosis = model::diagnose(loaded.report, tools::load_catalogue(path.string()));
      for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
        const tools::LoadedScenario scenario =
            tools::explanation_scenario(loaded, diagnosis.explanations[i], i + 1);
        folder.write(path.stem().string() + "-" + std::to_string(i) + ".yaml",
                     tools::write_scenario(scenario, {folder.path(), {}}));
      }
      const std::string cured = folder.file(path.stem().string() + "-cured.yaml");
      CHECK(drybus_program("recover '" + path.string() + "' -o '" + cured + "'").exit_code == 0);
    }
    const Ran ran = drybus_program("check '" + folder.path().string() + "'");
    CHECK_MESSAGE(ran.exit_code == 0, ran.out << ran.err);
    CHECK(ran.out.find("0 could not be run") != std::string::npos);
  }
}
