// --log of sweep and bridge: lines for people and for programs, and nothing of it in what the command tells.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <filesystem>
#include <sstream>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;
namespace json = boost::json;

const std::string sweep = "sweep scenarios/training/assign-unheard.yaml --runs 1200 ";

TEST_CASE("a sweep with a log says the same, and what happened stands in the file") {
  const Folder folder;
  const std::string file = folder.file("sweep.log");
  const Ran quiet = drybus_program(sweep);
  const Ran logged = drybus_program(sweep + "--log " + file + " --log-level debug");
  REQUIRE(logged.exit_code == 0);
  CHECK(logged.out == quiet.out);
  CHECK(logged.err.empty());
  const std::string log = content_of(file);
  CAPTURE(log);
  for (const std::string told :
       {"info: scenarios/training/assign-unheard.yaml: 1200 runs, seed 1, part 1 of 1",
        "debug: runs 0 to 499 are done", "debug: runs 1000 to 1199 are done", "info: 1200 runs in "})
    CHECK(log.find(told) != std::string::npos);
  CHECK(log.starts_with("drybus sweep 2"));
  CHECK(drybus_program(sweep + "--log " + file).exit_code == 0);
  CHECK(content_of(file).starts_with(log));
}

TEST_CASE("for programs each line is a JSON object, whatever stands in it") {
  const Folder folder;
  const std::string file = folder.file("sweep.log");
  const std::string odd = folder.write(
      "a \"b\" \\ é.yaml", content_of(DRYBUS_SOURCE_DIR "/scenarios/training/assign-unheard.yaml"));
  const std::string families = "DRYBUS_FAMILIES=" DRYBUS_SOURCE_DIR "/scenarios/families drybus ";
  const Ran ran = shell(families + "sweep '" + odd + "' --runs 10 --log " + file + " --log-format json");
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  std::istringstream lines{content_of(file)};
  std::size_t count = 0;
  for (std::string line; std::getline(lines, line); ++count) {
    CAPTURE(line);
    const json::object object = json::parse(line).as_object();
    CHECK(object.at("drybus") == "sweep");
    CHECK(object.at("level") == "info");
    CHECK(object.at("at").as_string().size() >= 28);
    if (count == 0) CHECK(std::string{object.at("text").as_string()}.starts_with(odd + ": 10 runs"));
  }
  CHECK(count == 2);
  // A log of one form is not gone on with in the other.
  CHECK(shell(families + "sweep '" + odd + "' --runs 10 --log " + file).exit_code == 2);
}

TEST_CASE(
    "why a sweep ended without a result stands in its log, and a log is never written over what was read") {
  const Folder folder;
  const std::string file = folder.file("sweep.log");
  CHECK(drybus_program(sweep + "--most-events 10 --log " + file).exit_code == 2);
  CHECK(content_of(file).find("error: it ends without a result: ") != std::string::npos);
  const std::string own =
      folder.write("mine.yaml", content_of(DRYBUS_SOURCE_DIR "/scenarios/training/assign-unheard.yaml"));
  const std::string before = content_of(own);
  const Ran itself =
      shell("DRYBUS_FAMILIES=" DRYBUS_SOURCE_DIR "/scenarios/families drybus sweep " + own + " --log " + own);
  CHECK(itself.exit_code == 2);
  CHECK(content_of(own) == before);
  CHECK(drybus_program(sweep + "--log-format yaml").err.find("expected text or json") != std::string::npos);
  CHECK(drybus_program(sweep + "--log ''").exit_code == 2);
}

TEST_CASE("a bridge keeps what happened on its line") {
  const Folder folder;
  const std::string file = folder.file("bridge.log");
  const Ran ran = drybus_program(
      "bridge scenarios/training/first-steps.yaml --as M1 --wait 100ms --port unix:" + folder.file("socket") +
      " --log " + file);
  CHECK(ran.exit_code == 2);
  CHECK(content_of(file).find("info: M1: is at unix:") != std::string::npos);
}

}  // namespace
