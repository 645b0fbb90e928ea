// What hunt writes is a regression test: what people bring about, or what should hold of devices.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;

TEST_CASE("what people bring about is written as it is found, and is no longer so without") {
  const Folder folder;
  const std::string found = folder.file("found.yaml");
  CHECK(drybus_program("hunt scenarios/regression/hunt-start.yaml --for wrong-address --depth 6 -o " + found)
            .exit_code == 0);
  const auto ran = drybus_program("run " + found + " --quiet");
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(content_of(found).find("findings: [shared-address, wrong-address]") != std::string::npos);
  // Without what was done wrong: the last press that the hunt put in.
  std::string text = content_of(found);
  const std::size_t press = text.rfind("  - press: P1 accept");
  REQUIRE(press != std::string::npos);
  text.replace(press, 20, "  - note: not pressed");
  CHECK(drybus_program("run " + folder.write("without.yaml", text)).exit_code == 1);
}

TEST_CASE("a fact that hunt breaks is written as it should be") {
  const Folder folder;
  const std::string found = folder.file("found.yaml");
  CHECK(drybus_program("hunt scenarios/regression/hunt-start.yaml --for 'M1.mode is normal' --depth 3 -o " +
                       found)
            .exit_code == 0);
  const auto ran = drybus_program("run " + found + " --quiet");
  CHECK(ran.exit_code == 1);
  CHECK(ran.out.find("M1.mode is normal; in fact setup") != std::string::npos);
}

TEST_CASE("a file of another kind is told by its name, with who takes it") {
  const std::string report = "scenarios/reports/gave-up-in-the-attic.yaml";
  for (const std::string command : {"run ", "why ", "sweep ", "shrink "}) {
    const auto ran = drybus_program(command + report + (command == "why " ? " M1.mode" : ""));
    CAPTURE(ran.err);
    CHECK(ran.exit_code == 2);
    CHECK(ran.err.find("this is a report of what somebody saw; 'drybus diagnose' finds") !=
          std::string::npos);
  }
  const auto ran = drybus_program("diagnose scenarios/training/setup-split.yaml");
  CHECK(ran.exit_code == 2);
  CHECK(ran.err.find("this is a scenario; 'drybus run' shows it") != std::string::npos);
  const auto site = drybus_program("run scenarios/sites/school.yaml");
  CHECK(site.err.find("this is a site; 'drybus plan' works on it") != std::string::npos);
}

}  // namespace
