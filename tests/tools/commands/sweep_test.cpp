#include <doctest/doctest.h>

#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::content_of;
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

TEST_CASE(
    "a study's picture names its axes in words, every finding, and the values that chance does not tell "
    "apart") {
  const Folder folder;
  const std::string picture = folder.file("study.svg");
  const std::string study =
      "sweep scenarios/training/first-steps.yaml --runs 400 --vary time_out=20s..120s/6";
  const Ran ran = drybus_program(study + " -o " + picture);
  REQUIRE(ran.exit_code == 0);
  const std::string svg = content_of(picture);
  CHECK(svg.find("the time-out of plates and modules, in seconds") != std::string::npos);
  CHECK(svg.find("share of 400 runs") != std::string::npos);
  // At 20 s nearly every run goes wrong; from 40 s on one value is as good as another.
  const std::string alike = "60 s; 400 runs each do not tell it from 40 s, 80 s, 100 s and 120 s";
  CHECK_MESSAGE(ran.out.find("time_out = " + alike) != std::string::npos, ran.out);
  CHECK(svg.find("at " + alike) != std::string::npos);
  for (const char* finding :
       {"unaddressed", "press-misread", "setup-split", "assign-unheard", "wrong-address", "shared-address"}) {
    CHECK_MESSAGE(ran.out.find(finding) != std::string::npos, finding);
    CHECK_MESSAGE(svg.find(finding) != std::string::npos, finding);
  }
  CHECK(svg.find("Not drawn, for they are rarer: shared-address") != std::string::npos);
  const Ran json = drybus_program(study + " --format json");
  CHECK(json.out.find("\"best_s\":60") != std::string::npos);
  CHECK(json.out.find("\"not_told_apart_s\"") != std::string::npos);
  const Ran one =
      drybus_program("sweep scenarios/training/first-steps.yaml --runs 50 --vary time_out=60s..60s/1");
  CHECK(one.out.find("fewest runs with a finding: time_out = 60 s\n") != std::string::npos);
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
