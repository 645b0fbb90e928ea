// A lamp blinked that should have been dark, and nothing that is listed explains it: diagnose called the look
// "probably not so", and recover said "nothing to do".
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
namespace json = boost::json;

constexpr const char* blinks = "tests/regressions/correct_look_not_believed.yaml";

/// The same with a lamp that is steady although nobody identifies anything.
std::string steady(const Folder& folder) {
  const std::string text = drybus::tests::content_of(std::string{DRYBUS_SOURCE_DIR "/"} + blinks);
  const std::string seen = "  - {M1.indicator: blink, M2.indicator: dark}\n";
  REQUIRE(text.find(seen) != std::string::npos);
  return folder.write("report.yaml",
                      std::string{text}.replace(text.find(seen), seen.size(),
                                                "  - {M1.indicator: steady, M2.indicator: dark}\n"));
}

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE("a look that hardly anything explains is not called wrong: nobody is sure then") {
    const Folder folder;
    const Ran ran = drybus_program("diagnose " + steady(folder));
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("probably not so") == std::string::npos);
    CHECK(ran.out.find("sure enough") == std::string::npos);
    CHECK(ran.out.find("Next check") != std::string::npos);
  }

  TEST_CASE("a lamp that blinks was left in setup, and is brought out of it") {
    const Folder folder;
    const std::string file = folder.file("cured.yaml");
    const Ran ran = drybus_program(std::string{"recover "} + blinks + " --format json -o " + file);
    REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
    const json::object told = json::parse(ran.out).as_object();
    CHECK(told.at("outcome").as_string() == "cured");
    REQUIRE(told.at("steps").as_array().size() == 1);
    CHECK(told.at("steps").as_array()[0].at("text").as_string().find(
              "Press the local button of Pendants (M1)") == 0);
    CHECK(drybus_program("run " + file).exit_code == 0);
  }

  TEST_CASE("what hardly anything explains is no reason to say that there is nothing to do") {
    const Folder folder;
    const Ran ran = drybus_program("recover " + steady(folder));
    CHECK(ran.out.find("Nothing to do") == std::string::npos);
    CHECK(ran.out.find("start afresh") != std::string::npos);
  }

  TEST_CASE("who is still in setup at the end of a run is brought out of it") {
    const Folder folder;
    for (const char* hold : {"P1 set", "M1 local"}) {
      CAPTURE(hold);
      const std::string file = folder.write("left.yaml", std::string{R"(drybus: 1
family: wired-keypad
site:
  places: {hall: {}}
  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}
  modules: {M1: {place: hall, intended: 23/4/1, stored: 23/4/1, power_up: off}}
script:
  - hold: )"} + hold + "\n    for: 4.2s\n");
      const Ran ran = drybus_program("recover " + file + " --format json");
      REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
      CHECK(json::parse(ran.out).as_object().at("outcome").as_string() == "cured");
    }
  }
}
