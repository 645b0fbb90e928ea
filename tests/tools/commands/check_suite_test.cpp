// drybus check --mutants and --coverage, on the scenarios that ship.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <filesystem>

#include "model/suite/mutants.h"
#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
namespace json = boost::json;

}  // namespace

TEST_SUITE("check") {
  TEST_CASE("the scenarios notice every mutant of every family that ships, but for those that make no difference") {
    const Ran ran = drybus_program("check --mutants scenarios --states 1000 --format json");
    CHECK(ran.exit_code == 0);
    const json::object told = json::parse(ran.out).as_object();
    const json::array& all = told.at("mutants").as_array();
    CHECK(all.size() + told.at("no_difference").as_array().size() > 1500);
    for (const json::value& each : all) {
      const json::object& mutant = each.as_object();
      CAPTURE(std::string{mutant.at("what").as_string()});
      CHECK(mutant.at("killed").as_bool());
    }
    CHECK(told.at("survived").as_int64() == 0);
  }

  TEST_CASE("one scenario alone notices too little, and a check that would is named") {
    const Ran ran = drybus_program("check --mutants scenarios/training/first-steps.yaml --states 1000");
    CHECK(ran.exit_code == 1);
    CHECK(ran.out.find("would be noticed by: expect ") != std::string::npos);
    CHECK(ran.out.find("hunted: cannot be told apart within the bounds: 1000 states of up to 20 moves") !=
          std::string::npos);
  }

  TEST_CASE(
      "what a hunt has found for a mutant that survives is written, and together with the suite kills it") {
    const Folder folder;
    const std::string suite = "scenarios/training/first-steps.yaml ";
    const std::string options = "--states 1500 --format json";
    const Ran ran =
        drybus_program("check --mutants " + suite + options + " --killers " + folder.path().string());
    CHECK(ran.exit_code == 1);
    std::size_t written = 0;
    const json::value told = json::parse(ran.out);
    for (const json::value& each : told.as_object().at("mutants").as_array()) {
      const json::object& mutant = each.as_object();
      if (mutant.at("killed").as_bool()) continue;
      const json::object& hunt = mutant.at("hunt").as_object();
      CHECK(hunt.at("found").as_bool() == hunt.at("file").is_string());
      CHECK(hunt.at("found").as_bool() == hunt.at("scenario").is_string());
      written += hunt.at("found").as_bool() ? 1u : 0u;
    }
    CHECK(written > 30);
    CHECK(drybus_program("check " + folder.path().string()).exit_code == 0);
    const Ran again = drybus_program("check --mutants " + suite + folder.path().string() + " " + options);
    const json::object before = json::parse(ran.out).as_object();
    const json::object after = json::parse(again.out).as_object();
    CHECK(after.at("survived").as_int64() <=
          before.at("survived").as_int64() - static_cast<std::int64_t>(written));
  }

  TEST_CASE("options of the hunt for killers that make no sense exit with 2") {
    CHECK(drybus_program("check scenarios/training --killers /tmp/x").exit_code == 2);
    CHECK(drybus_program("check --mutants scenarios/training --states 3").exit_code == 2);
    CHECK(
        drybus_program("check --mutants scenarios/training/first-steps.yaml --states 1000 --killers /proc/x")
            .exit_code == 2);
  }

  TEST_CASE("which scenario kills a mutant does not depend on the number of threads") {
    const std::string command = "check --mutants scenarios/regression --states 1000 --format json --jobs ";
    CHECK(drybus_program(command + "1").out == drybus_program(command + "4").out);
  }

  TEST_CASE("the scenarios come through all that the families that ship can do") {
    const Ran ran = drybus_program("check --coverage scenarios");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("!!") == std::string::npos);
  }

  TEST_CASE("holes are marked, and counted in JSON") {
    const Ran text = drybus_program("check --coverage scenarios/training/zone-zero.yaml");
    CHECK(text.exit_code == 1);
    CHECK(text.out.find("!!      0 setup, time-out: to normal") != std::string::npos);
    const Ran ran = drybus_program("check --coverage scenarios/training/zone-zero.yaml --format json");
    CHECK(json::parse(ran.out).as_object().at("holes").as_int64() > 0);
  }

  TEST_CASE("a family's picture says how often each row was taken") {
    const Folder folder;
    const std::string svg = (folder.path() / "f.svg").string();
    const std::string draw = "family wired-keypad -o " + svg + " --suite ";
    CHECK(drybus_program(draw + "scenarios/training/zone-zero.yaml").exit_code == 0);
    const std::string picture = drybus::tests::content_of(svg);
    CHECK(picture.find("time-out (NEVER)") != std::string::npos);
    CHECK(picture.find("gesture held (2x)") != std::string::npos);
    const Ran other = drybus_program(draw + "scenarios/training/two-who-ask.yaml");
    CHECK(other.exit_code == 2);
    CHECK(other.err.find("no device of wired-keypad there") != std::string::npos);
    CHECK(drybus_program("family wired-keypad --suite scenarios").exit_code == 2);
  }

  TEST_CASE("a suite that fails as it is cannot say anything") {
    const Ran ran = drybus_program("check --mutants tests/data/slip.yaml");
    CHECK(ran.exit_code == 2);
  }
}
