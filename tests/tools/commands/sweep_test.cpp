#include <doctest/doctest.h>

#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
using drybus::tests::shell;

const std::string scenario = "scenarios/training/assign-unheard.yaml";

TEST_CASE("a sweep says the same with one thread and with eight") {
  const Ran one = drybus_program("sweep " + scenario + " --runs 1200 --jobs 1 --format json");
  const Ran eight = drybus_program("sweep " + scenario + " --runs 1200 --jobs 8 --format json");
  REQUIRE(one.exit_code == 0);
  CHECK(one.out == eight.out);
  CHECK(one.out.find("\"assign-unheard\"") != std::string::npos);
}

TEST_CASE("shards that were run apart are merged from their folder, and a spoilt block is refused by name") {
  const Folder folder;
  const std::string state = folder.file("state");
  const std::string base = "sweep " + scenario + " --runs 2000 --format json --state " + state;
  REQUIRE(drybus_program(base + " --shard 1/2").exit_code == 0);
  REQUIRE(drybus_program(base + " --shard 2/2").exit_code == 0);
  const Ran merged = drybus_program(base);
  CHECK(merged.out == drybus_program("sweep " + scenario + " --runs 2000 --format json").out);
  REQUIRE(shell("for f in " + state + "/*; do echo '{' > $f; done").exit_code == 0);
  const Ran spoilt = drybus_program(base);
  CHECK(spoilt.exit_code == 2);
  CHECK(spoilt.err.find("is no block of this sweep") != std::string::npos);
}

TEST_CASE("a study writes a picture and names the best value") {
  const Folder folder;
  const std::string picture = folder.file("study.svg");
  const Ran ran = drybus_program(
      "sweep scenarios/training/first-steps.yaml --runs 200 --vary time_out=20s..60s/2 -o " + picture);
  REQUIRE(ran.exit_code == 0);
  CHECK(ran.out.find("fewest runs with a finding: time_out = 60 s") != std::string::npos);
  CHECK(shell("xmllint --noout " + picture).exit_code == 0);
}

TEST_CASE("a sweep that cannot be made says why, with the nearest right word") {
  const Ran parameter = drybus_program("sweep " + scenario + " --vary time_oat=60s..90s/2");
  CHECK(parameter.exit_code == 2);
  CHECK(parameter.err.find("Did you mean 'time_out'?") != std::string::npos);
  CHECK(drybus_program("sweep " + scenario + " --vary time_out=60..90/2").exit_code == 2);
  CHECK(drybus_program("sweep " + scenario + " --runs 0").exit_code == 2);
  CHECK(drybus_program("sweep " + scenario + " --shard 3/2").exit_code == 2);
}

}  // namespace
