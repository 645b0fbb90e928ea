// drybus check --mutants and --coverage, on the scenarios that ship.
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "model/mutants.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Ran;
namespace json = boost::json;

}  // namespace

TEST_SUITE("check") {
  TEST_CASE("the scenarios notice every mutant, but for those of which it is said why nobody can") {
    const Ran ran = drybus_program("check --mutants scenarios --format json");
    CHECK(ran.exit_code == 0);
    const json::array all = json::parse(ran.out).as_object().at("mutants").as_array();
    const auto mutants = drybus::model::mutants();
    REQUIRE(all.size() == mutants.size());
    for (std::size_t i = 0; i < mutants.size(); ++i) {
      CAPTURE(mutants[i].what);
      const json::object& mutant = all[i].as_object();
      CHECK(mutant.at("what").as_string() == mutants[i].what);
      CHECK(mutant.at("killed").as_bool() == mutants[i].unseen.empty());
    }
  }

  TEST_CASE("one scenario alone notices too little, and a check that would is named") {
    const Ran ran = drybus_program("check --mutants scenarios/training/first-steps.yaml");
    CHECK(ran.exit_code == 1);
    CHECK(ran.out.find("would be noticed by: expect ") != std::string::npos);
  }

  TEST_CASE("which scenario kills a mutant does not depend on the number of threads") {
    const std::string command = "check --mutants scenarios/regression --format json --jobs ";
    CHECK(drybus_program(command + "1").out == drybus_program(command + "4").out);
  }

  TEST_CASE("the scenarios visit all that plates and modules of their families can do") {
    const Ran ran = drybus_program("check --coverage scenarios");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("!!") == std::string::npos);
  }

  TEST_CASE("holes are marked, and counted in JSON") {
    const Ran text = drybus_program("check --coverage scenarios/training/zone-zero.yaml");
    CHECK(text.exit_code == 1);
    CHECK(text.out.find("!!      0  setup  -- time-out") != std::string::npos);
    const Ran ran = drybus_program("check --coverage scenarios/training/zone-zero.yaml --format json");
    CHECK(json::parse(ran.out).as_object().at("holes").as_int64() > 0);
  }

  TEST_CASE("a suite that fails as it is cannot say anything") {
    const Ran ran = drybus_program("check --mutants tests/data/slip.yaml");
    CHECK(ran.exit_code == 2);
  }
}
