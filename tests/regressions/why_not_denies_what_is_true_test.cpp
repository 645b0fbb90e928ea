// `drybus why F M1.level --not 100%` said that no change makes the load stand at 100 %, where it did stand: it is told as
// "100 %". Any nonsense after --not had the same answer.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

const std::string scenario = "scenarios/regression/last-channel.yaml";

Ran why_not(const std::string& fact, const std::string& value) {
  return drybus_program("why " + scenario + " " + fact + " --not '" + value + "'");
}

bool mentions(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST_CASE("what is so already is said to be so, however it is written") {
  for (const std::string value : {"100%", "100 %", "100.0 %"}) {
    CAPTURE(value);
    const Ran ran = why_not("M2.level", value);
    CHECK(ran.exit_code == 0);
    CHECK(mentions(ran.out, "M2.level is 100 %: nothing would have to be otherwise."));
  }
  const Ran lit = why_not("M2.load", "lit");
  CHECK(lit.exit_code == 0);
  CHECK(mentions(lit.out, "M2.load is lit"));
  const Ran then = drybus_program("why " + scenario + " M1.mode --at 1:00 --not setup");
  CHECK(mentions(then.out, "At 1:00.0, M1.mode was setup"));
  const Ran json = drybus_program("why " + scenario + " M2.level --not 100% --format json");
  CHECK(mentions(json.out, "\"already\":true"));
}

TEST_CASE("what is not so is still looked for") {
  const Ran ran = why_not("M2.level", "0%");
  CHECK(ran.exit_code == 0);
  CHECK(mentions(ran.out, "M2.level would have been 0 %"));
  CHECK(mentions(why_not("M2.load", "dark").out, "M2.load would have been dark"));
}

TEST_CASE(
    "a value that cannot be is refused, with what is expected and the nearest right word, everywhere alike") {
  struct Wrong {
    std::string fact;
    std::string value;
    std::string said;
  };
  for (const Wrong& wrong :
       {Wrong{"M2.level", "lots", "expected a percentage from 0 to 100, such as 40%"},
        Wrong{"M2.level", "101%", "expected a percentage from 0 to 100, such as 40%"},
        Wrong{"M2.level", "99", "99 %"}, Wrong{"M2.mode", "setpu", "Did you mean 'setup'?"},
        Wrong{"M2.power_up", "ful", "Did you mean 'full'?"},
        Wrong{"P1.indicator", "steady", "expected one of: dark, blink, blip, refuse"},
        Wrong{"M2.indicator", "refuse", "expected one of: dark, blink, breathe, steady, blip"},
        Wrong{"P1.channel", "13", "expected a whole number from 0 to 12"},
        Wrong{"M2.address", "23/4", "expected site/zone/channel, such as 23/4/1"},
        Wrong{"M2.address", "23/0/1", "zone 0 cannot be assigned"},
        Wrong{"M2.address", "99/4/1", "no plate of this family can be set to site 99"}}) {
    CAPTURE(wrong.fact);
    CAPTURE(wrong.value);
    const Ran ran = why_not(wrong.fact, wrong.value);
    CHECK(ran.exit_code == 2);
    CHECK(ran.out == "");
    CHECK(mentions(ran.err, wrong.said));
    const Ran hunt =
        drybus_program("hunt " + scenario + " --for '" + wrong.fact + " is " + wrong.value + "' --depth 1");
    CHECK(hunt.exit_code == 2);
    CHECK(mentions(hunt.err, wrong.said));
  }
}

TEST_CASE("nothing is written where the value is refused") {
  const Folder folder;
  const std::string file = folder.file("changed.yaml");
  CHECK(drybus_program("why " + scenario + " M2.mode --not setpu -o " + file).exit_code == 2);
  CHECK_FALSE(std::filesystem::exists(file));
}

}  // namespace
