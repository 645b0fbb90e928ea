// What a whole command may use up: time by the clock, and memory.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

const std::string hunt =
    "hunt scenarios/regression/hunt-start.yaml --for stuck-button --depth 40 --with power,slips,loss ";

TEST_CASE("a command over its time ends with what said so, and leaves nothing half-written") {
  const Folder folder;
  const std::string found = folder.file("found.yaml");
  const Ran ran = drybus_program(hunt + "-o " + found + " --most-time 300ms");
  CHECK(ran.exit_code == 2);
  CHECK(ran.err == "drybus: stopped after 300ms, as --most-time says\n");
  CHECK(ran.out.empty());
  CHECK(std::filesystem::is_empty(folder.path()));
  CHECK(drybus_program("check scenarios/training/zone-zero.yaml --most-time 1h").exit_code == 0);
  CHECK(drybus_program("check scenarios/training/zone-zero.yaml --most-time 3").exit_code == 2);
}

TEST_CASE("a command over its memory says that it is out of it") {
  const Ran ran = drybus_program(hunt + "--jobs 1 --most-memory 80MB");
  CHECK(ran.exit_code == 2);
  CHECK(ran.err.find("out of memory") != std::string::npos);
  const Ran none = drybus_program("run scenarios/training/zone-zero.yaml --most-memory 1MB");
  CHECK(none.exit_code == 2);
  CHECK(none.err.find("before it begins") != std::string::npos);
  CHECK(drybus_program("run scenarios/training/zone-zero.yaml --most-memory 1GB").exit_code == 0);
}

}  // namespace
