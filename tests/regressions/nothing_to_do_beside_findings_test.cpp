// `recover` said that nothing was out of step where the run had a finding with a remedy of its own, and sent people to places
// that the site does not have.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

TEST_CASE("what no address puts right is told with its remedy") {
  const Folder folder;
  const std::string file =
      folder.write("scene.yaml",
                   "drybus: 1\ntitle: Told\nfamily: asking-modules\nsite:\n  plates:\n    P1: {switches: "
                   "{site: 52, zone: 3}}\n"
                   "  modules:\n    M1: {stored: 52/3/1, intended: 52/3/1, family: supply-counter}\nscript:\n"
                   "  - press: P1 evening\n  - wait: 2s\n");
  const Ran ran = drybus_program("recover " + file);
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("Found on the way") != std::string::npos);
  CHECK(ran.out.find("not-understood: M1 heard") != std::string::npos);
  CHECK(ran.out.find("Isolate at the supply") != std::string::npos);
}

TEST_CASE("nobody is sent anywhere on a site without places, and the cure replays") {
  const Folder folder;
  const std::string file = folder.write("supply.yaml",
                                        "drybus: 1\ntitle: Told\nfamily: supply-counter\nsite:\n  plates:\n  "
                                        "  P1: {switches: {site: 17, zone: 3}}\n"
                                        "  modules:\n    M1: {intended: 17/3/1}\nscript:\n  - wait: 1s\n");
  const std::string cured = folder.file("cured.yaml");
  const Ran ran = drybus_program("recover " + file + " -o " + cured);
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("Go to") == std::string::npos);
  const Ran again = drybus_program("run " + cured);
  CAPTURE(again.out);
  CHECK(again.err == "");
  CHECK(again.exit_code == 0);
}

}  // namespace
