// A caller who says that a lamp is on, and then that it is off, was refused. Both are statements; one of them is wrong.
#include <doctest/doctest.h>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE(
      "two statements that contradict each other are diagnosed, and what is written of them can be run") {
    const Folder folder;
    const std::string report = "tests/regressions/contradiction_refused.yaml";
    const Ran ran = drybus_program("diagnose " + report + " --scenarios '" + folder.file("all") + "'");
    CHECK_MESSAGE(ran.exit_code == 0, ran.err);
    CHECK(drybus_program("recover " + report + " -o '" + folder.file("all/cured.yaml") + "'").exit_code <= 1);
    const Ran check = drybus_program("check '" + folder.file("all") + "'");
    CHECK_MESSAGE(check.exit_code == 0, check.out << check.err);
  }
}
