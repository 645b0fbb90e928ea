// From a spreadsheet to a plan, by the program as a person would use it.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
using drybus::tests::shell;
namespace fs = std::filesystem;
namespace json = boost::json;

const std::string families = "DRYBUS_FAMILIES=" DRYBUS_SOURCE_DIR "/scenarios/families ";

const std::string house =
    "Room;Circuit;Load W;Plate;Do not switch\nHall;Pendant;60;;\nHall;Wall lights;80;;\nStudy;Desk;40;;\n"
    "Stairs;Steps;30;Hall plate;yes\n";

TEST_CASE("a spreadsheet becomes a site that has a plan, with zones, channels and switches chosen") {
  const Folder folder;
  const std::string sheet = folder.write("house.csv", house);
  const std::string site = folder.file("house.yaml");
  const Ran ran = shell(fmt::format("drybus site {} -o {}", sheet, site));
  CAPTURE(ran.out);
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code == 0);
  CHECK(has(ran.out, "  C  Load W"));
  CHECK(has(ran.out, "next: drybus plan " + site));
  const Ran planned = shell(families + fmt::format("drybus plan {} --runs 50 --format json", site));
  CAPTURE(planned.err);
  REQUIRE(planned.exit_code == 0);
  const json::value plan = json::parse(planned.out);
  std::string zone_of_hall;
  for (const json::value& module : plan.at("schedule").as_array()) {
    const std::string address{module.at("address").as_string()};
    CHECK_FALSE(address.starts_with("1/"));  // the factory's
    const std::string zone = address.substr(0, address.rfind('/'));
    if (module.at("place") == "Hall" && zone_of_hall.empty()) zone_of_hall = zone;
    // The hall is one zone, and the stairs name its plate; what nobody may switch comes last.
    CHECK((zone == zone_of_hall) == (module.at("place") != "Study"));
    if (module.at("label") == "Steps") CHECK(address.ends_with("/3"));
  }
  CHECK(plan.at("route").at("passed").as_bool());
  CHECK(has(std::string{plan.at("route").at("first").as_string()}, "isolated, locked off and proved dead"));
}

TEST_CASE("a wrong sheet leaves nothing written, and every wrong cell is told") {
  const Folder folder;
  const std::string sheet =
      folder.write("bad.csv", "Room;Circuit;Load W\nHall;Pendant;60\nHall;Pendant;=A1\nHall;Pendant;70\n");
  const Ran ran = drybus_program(fmt::format("site {} -o {}", sheet, folder.file("bad.yaml")));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "C3: '=A1' is a formula"));
  CHECK(has(ran.err, "B4: 'Pendant' in Hall is already in B2"));
  CHECK_FALSE(fs::exists(folder.file("bad.yaml")));
  const std::string doubtful = folder.write("doubt.csv", "Room;Circuit;Load W\nHall;Pendant;some\n");
  CHECK(drybus_program(fmt::format("site {} -o {}", doubtful, folder.file("doubt.yaml"))).exit_code == 0);
  CHECK(
      drybus_program(fmt::format("site {} --strict -o {}", doubtful, folder.file("strict.yaml"))).exit_code ==
      2);
  CHECK_FALSE(fs::exists(folder.file("strict.yaml")));
  for (const char* wrong :
       {"site", "site nothing.csv", "site new more", "site README.md --columns x", "site . -o x"}) {
    CAPTURE(wrong);
    CHECK(drybus_program(wrong).exit_code == 2);
  }
}

TEST_CASE("fifty thousand lines are refused by cell, in bounded time, and nothing is written") {
  const Folder folder;
  std::string text = "Room;Circuit;Load W\n";
  for (int i = 0; i < 50'000; ++i) text += fmt::format("Room {};Circuit {};60\n", i % 100, i);
  const Ran ran = drybus_program(
      fmt::format("site {} -o {}", folder.write("large.csv", text), folder.file("large.yaml")));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "B5002: more than 5000 circuits"));
  CHECK_FALSE(fs::exists(folder.file("large.yaml")));
}

TEST_CASE("a site goes out as a sheet and comes back as the same site") {
  const Folder folder;
  const std::string first = folder.file("first.yaml"), second = folder.file("second.yaml"),
                    sheet = folder.file("out.csv");
  REQUIRE(drybus_program(fmt::format("site {} -o {}", folder.write("house.csv", house), first)).exit_code ==
          0);
  REQUIRE(shell(families + fmt::format("drybus site {} --csv {}", first, sheet)).exit_code == 0);
  REQUIRE(drybus_program(fmt::format("site {} -o {}", sheet, second)).exit_code == 0);
  const auto without_about = [](const std::string& path) {
    const std::string text = content_of(path);
    return text.substr(text.find("family:"));
  };
  CHECK(without_about(first) == without_about(second));
  // A site of the repository, with switches and addresses.
  const std::string school = folder.file("school.csv");
  REQUIRE(drybus_program("site scenarios/sites/school.yaml --csv " + school).exit_code == 0);
  CHECK(has(content_of(school), "foyer,Foyer downlights,M01,,64,trailing-edge,,,,\r\n"));
  CHECK(has(content_of(school), "roof void,Foyer lantern,M06,,184,trailing-edge,37,1,12,\r\n"));
}

TEST_CASE("a first site is asked for, and what cannot be used is asked again") {
  const Folder folder;
  const std::string site = folder.file("new.yaml");
  const std::string answers =
      "\nHall, Hall\nHall, Study\nPendant 60, Pendant 50\nPendant 60, Wall lights 2x40 W\nDesk, Shelf 20, "
      "Window 15 W\nDoor\nDesk\n";
  const Ran ran = shell(fmt::format("printf '{}' | {} drybus site new -o {}", answers, families, site));
  CAPTURE(ran.out);
  REQUIRE(ran.exit_code == 0);
  CHECK(has(ran.out, "at least one room is needed"));
  CHECK(has(ran.out, "'Hall' stands there twice"));
  CHECK(has(ran.out, "'Pendant' stands there twice"));
  CHECK(has(ran.out, "no circuit is called 'Door'"));
  CHECK(has(ran.out, "5 circuits, 2 rooms, 2 plates: written to"));
  CHECK(has(content_of(site), "power: 80 W"));
  CHECK(has(content_of(site), "do_not_switch: yes"));
  CHECK(shell(families + fmt::format("drybus plan {} --runs 0", site)).exit_code == 0);
  const Ran cut = shell(fmt::format("printf 'Hall\\n' | drybus site new -o {}", folder.file("cut.yaml")));
  CHECK(cut.exit_code == 2);
  CHECK(has(cut.err, "nothing was written"));
  CHECK_FALSE(fs::exists(folder.file("cut.yaml")));
}

TEST_CASE("four hundred circuits without a word on zones have a plan, on as many buses as the supply needs") {
  const Folder folder;
  std::string text = "Room;Circuit;Load W\n";
  for (int i = 0; i < 400; ++i) text += fmt::format("Room {};Circuit {};60\n", i / 10, i);
  const std::string site = folder.file("large.yaml");
  REQUIRE(drybus_program(fmt::format("site {} -o {}", folder.write("large.csv", text), site)).exit_code == 0);
  const Ran ran = shell(families + fmt::format("drybus plan {} --runs 0", site));
  REQUIRE(ran.exit_code == 0);
  // 40 plates of 20 mA and 400 modules of 3 mA need 2 A; a bus has 1 A, and a zone is not parted.
  CHECK(has(ran.out, "\n  bus 2 ("));
  CHECK(has(ran.out, "3 buses, each with its own supply"));
}

TEST_CASE("what a module asks of the plan is told with its place where it cannot be") {
  const Folder folder;
  const std::string site = folder.write("s.yaml", "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
                                                  "/scenarios/families/wired-keypad.yaml\nplates:\n  P1: {}\n"
                                                  "modules:\n  M1: {plate: P9}\n");
  const Ran ran = drybus_program("plan " + site);
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "s.yaml:6:15: unknown plate of ours 'P9'"));
  std::string crowded = "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
                        "/scenarios/families/wired-keypad.yaml\nplates:\n  P1: {}\nmodules:\n";
  for (int i = 1; i <= 13; ++i) crowded += fmt::format("  M{}: {{}}\n", i);
  const Ran full = drybus_program("plan " + folder.write("full.yaml", crowded));
  CHECK(full.exit_code == 1);
  CHECK(has(full.err, "P1 is to address 13 modules, and a zone has 12 channels"));
}

TEST_CASE("a scenario's plates need their switches all the same") {
  const Folder folder;
  const Ran ran = drybus_program(
      "run " + folder.write("s.yaml", "drybus: 1\ntitle: t\nfamily: " DRYBUS_SOURCE_DIR
                                      "/scenarios/families/wired-keypad.yaml\nsite:\n  plates:\n    P1: {}\n "
                                      " modules:\n    M1: {}\nscript: []\n"));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "switches"));
}

}  // namespace
