// Scenarios of a protocol of their own, through the commands: a story for each finding, and plain words from those that do
// not know it yet.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>
#include <set>

#include "model/iec62386/finding_kinds.h"
#include "model/iec62386/run.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"
#include "tools/script/line_reader.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
namespace fs = std::filesystem;

const std::string folder = DRYBUS_SOURCE_DIR "/scenarios/iec-62386";
const std::string twins = "scenarios/iec-62386/random-twins.yaml";

TEST_CASE("each finding has a story of its name, which yields it, and holds") {
  for (const auto& kind : drybus::iec62386::finding_kinds()) {
    const std::string path = fmt::format("{}/{}.yaml", folder, kind.id);
    CAPTURE(path);
    REQUIRE(fs::exists(path));
    auto reading = drybus::tools::read_protocol_scenario(path);
    REQUIRE(reading.ok());
    const auto run = reading.value().run({});
    CHECK(run.passed());
    std::set<std::string_view> ids;
    for (const auto& found : run.findings) ids.insert(drybus::iec62386::finding_kinds()[found.kind].id);
    CHECK(ids.count(kind.id) == 1);
  }
}

TEST_CASE("check, run and why know the protocol") {
  CHECK(drybus_program("check scenarios/iec-62386 --twice").exit_code == 0);
  const Ran run = drybus_program("run " + twins);
  CHECK(run.exit_code == 0);
  CHECK(has(run.out, "protocol iec-62386"));
  CHECK(has(run.out, "Remedy: Initialise the one short address that they share"));
  const Ran why = drybus_program("why " + twins + " random-twins");
  CHECK(why.exit_code == 0);
  CHECK(has(why.out, "address all"));
  CHECK(drybus_program("why " + twins + " old-groups").exit_code == 1);
  const Ran wrong = drybus_program("why " + twins + " random-twin");
  CHECK(wrong.exit_code == 2);
  CHECK(has(wrong.err, "Did you mean 'random-twins'?"));
}

TEST_CASE("commands that do not know the protocol say so and exit with 2") {
  const Folder place;
  const std::string out = (place.path() / "x").string();
  for (const std::string& command :
       {"draw " + twins + " -o " + out + ".svg", "hunt " + twins + " --for random-twins",
        "sweep " + twins + " --vary time_out=60s..90s/3", "shrink " + twins, "recover " + twins,
        "diff " + twins + " " + twins, "plan " + twins, "handover " + twins, "panel " + twins,
        "run " + twins + " --pcapng " + out + ".pcapng", "run " + twins + " --format markdown",
        "why " + twins + " random-twins --prove", "check --observables " + out + ".json " + twins}) {
    CAPTURE(command);
    const Ran ran = drybus_program(command);
    CHECK(ran.exit_code == 2);
    CHECK(has(ran.err + ran.out, "iec-62386"));
  }
  CHECK(fs::is_empty(place.path()));
}

TEST_CASE("whatever touches wiring carries the caution") {
  for (const auto& kind : drybus::iec62386::finding_kinds()) {
    auto reading = drybus::tools::read_protocol_scenario(fmt::format("{}/{}.yaml", folder, kind.id));
    REQUIRE(reading.ok());
    if (!kind.touches_wiring && !reading.value().touches_wiring) continue;
    const Ran ran = drybus_program(fmt::format("run scenarios/iec-62386/{}.yaml -q", kind.id));
    CAPTURE(kind.id);
    CHECK(has(ran.out, "Caution: The pair is not SELV"));
  }
}

TEST_CASE("a file that cannot be read is told with its place") {
  const Folder place;
  const std::string path =
      place.write("bad.yaml",
                  "drybus: 1\nprotocol: iec-62386\nsite:\n  controllers: {C1: {}}\n  gear: {M1: {}}\n"
                  "script:\n  - wiat: 3s\n");
  const Ran ran = drybus_program("run " + path);
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "bad.yaml:7:5: unknown key 'wiat'"));
  CHECK(has(ran.err, "did you mean 'wait'?"));
}

}  // namespace
