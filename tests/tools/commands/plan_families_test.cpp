// Plans for every family that comes along: routes that work, or a refusal that says why there is none.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <boost/json.hpp>
#include <filesystem>
#include <sstream>

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

std::string path_of(const std::string& family) {
  return DRYBUS_SOURCE_DIR "/scenarios/families/" + family + ".yaml";
}

/// Three rooms, of which one cannot be seen into from its plate, and two zones.
std::string rooms_of(const std::string& family, const std::string& way_to_attic) {
  return fmt::format(
      "drybus-site: 1\nfamily: {}\nplaces: {{Hall: {{}}, Study: {{walk: {{Hall: 10s}}}}, Attic: {{walk: "
      "{{Hall: {}}}}}}}\n"
      "plates:\n  P1: {{label: Hall plate, place: Hall}}\n  P2: {{label: Study plate, place: "
      "Study}}\nmodules:\n"
      "  M1: {{label: Pendant, place: Hall, plate: P1}}\n  M2: {{label: Wall lights, place: Hall, plate: "
      "P1}}\n"
      "  M3: {{label: Spots, place: Attic, plate: P1}}\n  M4: {{label: Desk, place: Study, plate: P2}}\n",
      path_of(family), way_to_attic);
}

TEST_CASE(
    "every family has a route that works when it is run, for one person, and for two where one cannot") {
  for (const std::string family : {"wired-keypad", "radio-keypad", "supply-counter", "asking-modules",
                                   "confirming-modules", "master-keypad"}) {
    for (const std::string way : {"12s", "15min"}) {
      CAPTURE(family);
      CAPTURE(way);
      const Folder folder;
      const std::string route = folder.file("route.yaml");
      const Ran ran = drybus_program(fmt::format("plan {} --runs 0 --format json --route {}",
                                                 folder.write("s.yaml", rooms_of(family, way)), route));
      CAPTURE(ran.err);
      REQUIRE(ran.exit_code == 0);
      const json::value plan = json::parse(ran.out);
      CHECK(plan.at("route").at("passed").as_bool());
      CHECK(plan.at("route").at("legs").as_array().size() == 4);
      CHECK(plan.at("route").at("second_person").as_array().size() == (way == "12s" ? 0U : 1U));
      // What was written says of every module where it shall be, and has no finding that it does not name.
      CHECK(has(content_of(route), "M3.address: "));
      const Ran checked = drybus_program("check " + route);
      CAPTURE(checked.out);
      CHECK(checked.exit_code == 0);
    }
  }
}

TEST_CASE("routes and sheets say how a family's modules come to their addresses") {
  const auto told = [](const std::string& family) {
    const Folder folder;
    const std::string sheet = folder.file("s.html");
    const Ran ran = drybus_program(
        fmt::format("plan {} --runs 0 --sheet {}", folder.write("s.yaml", rooms_of(family, "12s")), sheet));
    REQUIRE(ran.exit_code == 0);
    return ran.out + content_of(sheet);
  };
  const std::string counts = told("supply-counter");
  CHECK(has(counts, "switch M1's supply off and on 3 times"));
  CHECK(has(counts, "by whoever may switch there"));
  CHECK(has(counts, "Leave the supply on for 3 s at least"));
  CHECK_FALSE(has(counts, "Press  on the one"));
  const std::string asks = told("asking-modules");
  CHECK(has(asks, "Hold learn for 2.5 s at least"));  // a gesture of one button
  CHECK(has(asks, "until it is answered"));
  CHECK_FALSE(has(asks, "assign was pressed"));
  const std::string confirms = told("confirming-modules");
  CHECK(has(confirms, "press M1 tap"));
  CHECK(has(confirms, "is steady when its address is offered"));
  CHECK(has(confirms, "was not confirmed within 40 s"));
}

TEST_CASE("no line of a sheet asks for eyes in two rooms at once") {
  for (const std::string family :
       {"wired-keypad", "confirming-modules", "asking-modules", "supply-counter"}) {
    CAPTURE(family);
    const Folder folder;
    const std::string sheet = folder.file("s.html");
    const Ran ran = drybus_program(
        fmt::format("plan {} --runs 0 --sheet {}", folder.write("s.yaml", rooms_of(family, "12s")), sheet));
    REQUIRE(ran.exit_code == 0);
    // The spots are in another room than their plate: what is seen is told for each room by itself.
    std::istringstream lines{content_of(sheet)};
    std::size_t apart = 0;
    for (std::string line; std::getline(lines, line);) {
      const std::size_t lamps = line.rfind("<td class=\"small\">");
      if (lamps == std::string::npos || line.find("Spots to ") > lamps) continue;
      ++apart;
      CHECK_MESSAGE(line.find("At M3", lamps) != std::string::npos, line);
      CHECK_MESSAGE(line.find("At P1", lamps) != std::string::npos, line);
    }
    CHECK(apart == 1);
  }
}

TEST_CASE("the round through a house of such a family steps through every channel and replays") {
  for (const std::string family : {"asking-modules", "confirming-modules", "supply-counter"}) {
    CAPTURE(family);
    const Folder folder;
    const std::string script = folder.file("round.yaml");
    const Ran ran = drybus_program(
        fmt::format("handover {} --catalogue scenarios/catalogue.yaml --slips 150 --pairs 0 --script {}",
                    folder.write("s.yaml", rooms_of(family, "12s")), script));
    CAPTURE(ran.err);
    REQUIRE(ran.exit_code == 0);
    // A plate that begins at channel 1 shows that one by identifying it once more.
    // There the keys tell what else would be asked of the desk and the spots.
    if (family == "confirming-modules") {
      CHECK(has(ran.out, "Press c once: channel 1. -> Pendant (M1) flashes, and nothing else."));
      CHECK(has(ran.out, "channel 3. -> Nothing flashes here."));
    } else {
      CHECK(has(ran.out, "Desk (M4) flashes"));
      CHECK(has(ran.out, "Spots (M3) flashes"));
    }
    CHECK(drybus_program("check " + script).exit_code == 0);
  }
}

TEST_CASE("a module that no plate can address is refused with the reason, and nothing is written") {
  const Folder folder;
  const auto refused = [&](const std::string& family, const std::string& of_module) {
    const std::string site = folder.write(
        "s.yaml",
        fmt::format("drybus-site: 1\nfamily: {}\nplates:\n  P1: {{switches: {{site: 23, zone: 4}}}}\n"
                    "modules:\n  M1: {{family: {}}}\n",
                    path_of(family), path_of(of_module)));
    const Ran ran = drybus_program(fmt::format("plan {} --route {}", site, folder.file("r.yaml")));
    CHECK(ran.exit_code == 1);
    CHECK_FALSE(std::filesystem::exists(folder.file("r.yaml")));
    return ran.err;
  };
  CHECK(has(refused("wired-keypad", "asking-modules"),
            "no plate of ours can address M1: P1 answers no module that asks"));
  CHECK(has(refused("asking-modules", "wired-keypad"),
            "no plate of ours can address M1: P1 only answers, and M1 does not"));
}

}  // namespace
