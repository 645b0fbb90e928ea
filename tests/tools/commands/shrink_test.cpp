#include <doctest/doctest.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
namespace json = boost::json;

const std::string split = "scenarios/training/setup-split.yaml";

}  // namespace

TEST_SUITE("shrink") {
  TEST_CASE("a scenario is shrunk to a file that replays with the same finding") {
    const Folder folder;
    const std::string file = folder.file("shrunk.yaml");
    const Ran ran = drybus_program("shrink " + split + " --for setup-split -o " + file + " --format json");
    REQUIRE(ran.exit_code == 0);
    const json::object told = json::parse(ran.out).as_object();
    CHECK(told.at("steps_after").as_int64() < told.at("steps_before").as_int64());
    CHECK_FALSE(told.at("free").as_array().empty());
    const Ran replay = drybus_program("run " + file + " --format json");
    const json::array findings = json::parse(replay.out).as_object().at("findings").as_array();
    CHECK(std::any_of(findings.begin(), findings.end(), [](const json::value& finding) {
      return finding.as_object().at("id").as_string() == "setup-split";
    }));
  }

  TEST_CASE("what was shrunk cannot be shrunk further") {
    const Folder folder;
    const std::string file = folder.file("shrunk.yaml");
    REQUIRE(drybus_program("shrink " + split + " --for setup-split -o " + file).exit_code == 0);
    const Ran again = drybus_program("shrink " + file + " --for setup-split --format json");
    REQUIRE(again.exit_code == 0);
    const json::object told = json::parse(again.out).as_object();
    CHECK(told.at("removed_steps").as_array().empty());
    CHECK(told.at("removed_devices").as_array().empty());
    CHECK(told.at("shorter").as_array().empty());
  }

  TEST_CASE("a scenario that does not fail is left alone, and told which findings it has") {
    const Ran ran = drybus_program("shrink " + split);
    CHECK(ran.exit_code == 1);
    CHECK(ran.err.find("--for could keep: setup-split") != std::string::npos);
    CHECK(ran.out.empty());
    CHECK(drybus_program("shrink " + split + " --for zone-zero").exit_code == 1);
  }

  TEST_CASE("what cannot be used exits with 2 and says why") {
    const Ran finding = drybus_program("shrink " + split + " --for setup-splitt");
    CHECK(finding.exit_code == 2);
    CHECK(finding.err.find("Did you mean 'setup-split'?") != std::string::npos);
    CHECK(drybus_program("shrink no-such-file.yaml").exit_code == 2);
    const Ran over = drybus_program("shrink " + split + " --for setup-split -o " + split);
    CHECK(over.exit_code == 2);
    CHECK(over.err.find("is read by this command") != std::string::npos);
  }
}
