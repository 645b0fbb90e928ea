// A site with scenes that are wanted and keys for more than one zone, from its plan to its handover.
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
namespace json = boost::json;

/// Two zones of one group; scene 1 is wanted in the hall. `more` goes with the module of the study.
std::string flat(const std::string& more = "", const std::string& hall_wall = "50%") {
  return "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
         "/scenarios/families/master-keypad.yaml\nplaces: {Hall: {}, Study: {walk: {Hall: 10s}}}\n"
         "plates:\n  P1: {label: Hall plate, place: Hall, switches: {site: 61, zone: 1}}\n"
         "  P2: {label: Study plate, place: Study, switches: {site: 61, zone: 2}}\nmodules:\n"
         "  M1: {label: Pendant, place: Hall, intended: 61/1/1, intended_scenes: {1: 50%}}\n"
         "  M2: {label: Wall, place: Hall, intended: 61/1/2, intended_scenes: {1: " +
         hall_wall + "}}\n  M3: {label: Desk, place: Study, intended: 61/2/1" + more + "}\n";
}

TEST_CASE("the route of a plan goes on to the scenes that the site wants, and ends with them stored") {
  const Folder folder;
  const std::string route = folder.file("route.yaml");
  const std::string sheet = folder.file("sheet.html");
  const Ran ran = drybus_program("plan " + folder.write("flat.yaml", flat("", "0%")) +
                                 " --runs 0 --format json --route " + route + " --sheet " + sheet);
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  const json::value told = json::parse(ran.out);
  CHECK(told.at("route").at("passed").as_bool());
  CHECK(told.at("route").at("scenes").as_array().size() == 5);
  CHECK(told.at("route").at("scenes_impossible").as_array().empty());
  CHECK(has(ran.out, "press Wall (M2) local once: it is dark then."));
  CHECK(has(content_of(sheet), "<h2>Scenes</h2>"));
  const Ran checked = drybus_program("check " + route);
  CHECK_MESSAGE(checked.exit_code == 0, checked.out);
  CHECK(has(content_of(route), "intended_scenes"));
}

TEST_CASE("scenes that these keys cannot make are told by the plan, and the rest of the route stands") {
  const Folder folder;
  const Ran ran = drybus_program("plan " + folder.write("flat.yaml", flat("", "20%")) + " --runs 0");
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  CHECK(has(ran.out, "Scene 1 of zone 61/1 cannot be stored with these keys"));
  CHECK(has(ran.out, "every address holds"));
}

TEST_CASE("the round of a handover presses the keys for other zones, and sees them do what they should") {
  const Folder folder;
  const std::string script = folder.file("round.yaml");
  const Ran ran =
      drybus_program("handover " + folder.write("flat.yaml", flat()) +
                     " --catalogue scenarios/catalogue.yaml --slips 60 --pairs 0 --script " + script);
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  CHECK(has(content_of(script), "P1 house"));
  CHECK(has(content_of(script), "P1 floor"));
  CHECK(has(content_of(script), "P1 other"));
  CHECK(drybus_program("check " + script).exit_code == 0);
}

TEST_CASE("a key that reaches a load which nobody may switch is not pressed on the round, and that is said") {
  const Folder folder;
  const std::string script = folder.file("round.yaml");
  const Ran ran =
      drybus_program("handover " + folder.write("flat.yaml", flat(", do_not_switch: yes")) +
                     " --catalogue scenarios/catalogue.yaml --slips 60 --pairs 0 --script " + script);
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  CHECK_FALSE(has(content_of(script), "P1 house"));
  CHECK_FALSE(has(content_of(script), "P1 floor"));
  CHECK(has(ran.out, "house of Hall plate (off whole site)"));
}

TEST_CASE("what changed between two records names scenes, families and loads that nobody may switch") {
  const Folder folder;
  const Ran ran = drybus_program("site compare " + folder.write("old.yaml", flat()) + " " +
                                 folder.write("new.yaml", flat(", do_not_switch: yes", "0%")));
  CHECK(ran.exit_code == 1);
  CHECK(has(ran.out, "scene 1: M2 from 50% to 0%"));
  CHECK(has(ran.out, "not to be switched: M3 from now on"));
}

TEST_CASE("the route of a plan says which load on its way nobody may switch") {
  const Folder folder;
  const std::string sheet = folder.file("sheet.html");
  const std::string site = folder.write("flat.yaml", flat(", do_not_switch: yes"));
  const Ran ran = drybus_program("plan " + site + " --runs 0 --sheet " + sheet);
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  CHECK(has(ran.out, "Desk is not to be switched without care"));
  CHECK(has(content_of(sheet), "Desk is not to be switched without care"));
  const Ran without = drybus_program("plan " + folder.write("free.yaml", flat()) + " --runs 0");
  CHECK_FALSE(has(without.out, "without care"));
}

TEST_CASE("a family's keys for other zones: what a file may say, and what is doubtful") {
  const Folder folder;
  const std::string text = content_of(DRYBUS_SOURCE_DIR "/scenarios/families/master-keypad.yaml");
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string changed = text;
    const std::size_t at = changed.find(from);
    REQUIRE(at != std::string::npos);
    return drybus_program("family " + folder.write("f.yaml", changed.replace(at, from.size(), to)));
  };
  CHECK(drybus_program("family master-keypad").exit_code == 0);
  CHECK(has(with("hold: lower group", "hold: nothing group").err, "'nothing', and yet for 'group'"));
  CHECK(has(with("press: off group", "press: off everywhere").err, "off everywhere"));
  CHECK(has(with("  group: 4  ", "  # none  ").err, "nothing says how many zones are in one"));
  const Ran unheard = with("hold: on whole site", "hold: raise whole site");
  CHECK(has(unheard.out + unheard.err,
            "button 'house', 'raise whole site': no module of this family has a row for it"));
}

}  // namespace
