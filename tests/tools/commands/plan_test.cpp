#include <doctest/doctest.h>
#include <fmt/format.h>
#include <unistd.h>

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

std::string small_site(const std::string& modules) {
  return "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
         "/scenarios/families/wired-keypad.yaml\nplates:\n"
         "  P1: {switches: {site: 23, zone: 4}}\nmodules:\n" +
         modules;
}

TEST_CASE("switches answers both ways round") {
  const Ran number = drybus_program("switches 41");
  CHECK(number.exit_code == 0);
  CHECK(has(number.out, "switches 1, 4 and 6 up"));
  CHECK(has(number.out, "  up    | # |   |   | # |   | # |"));
  CHECK(drybus_program("switches 101001").out == number.out);
  CHECK(drybus_program("switches --up 1,4,6").out == number.out);
  CHECK(has(drybus_program("switches 47 --family radio-keypad").out, "dial 2 at 4, dial 1 at 7"));
  CHECK(has(drybus_program("switches 9 --bank zone").out, "switches 1 and 4 up"));
  CHECK(json::parse(drybus_program("switches 5 --format json").out).at("positions").at(2).as_bool());
}

TEST_CASE("switches refuses what cannot be set, and says what can") {
  CHECK(has(drybus_program("switches 64").err, "'64' cannot be set on these switches: expected 0 to 63"));
  for (const char* wrong : {"switches 64", "switches", "switches x", "switches -1", "switches --up 7",
                            "switches --up 1,,2", "switches 5 --family nobodys", "switches 5 --bank both",
                            "switches --up 1 --family radio-keypad", "switches 99999999999999999999"}) {
    CAPTURE(wrong);
    CHECK(drybus_program(wrong).exit_code == 2);
  }
}

TEST_CASE("the sites that come along have a plan, and the route written runs to its end without a finding") {
  const Folder folder;
  for (const std::string site : {"village-hall", "school", "conference-centre"}) {
    CAPTURE(site);
    const std::string route = folder.file(site + ".yaml");
    const Ran ran = drybus_program(
        fmt::format("plan scenarios/sites/{}.yaml --runs 0 --format json --route {}", site, route));
    REQUIRE(ran.exit_code == 0);
    const json::value plan = json::parse(ran.out);
    CHECK(plan.at("route").at("passed").as_bool());
    CHECK(plan.at("route").at("bound_s").to_number<double>() <=
          plan.at("route").at("time_s").to_number<double>());
    CHECK(plan.at("route").at("time_s").to_number<double>() <=
          plan.at("route").at("file_order_s").to_number<double>());
    // The neighbour's number stands on some plates there until they are set, which comes first.
    CHECK(has(content_of(route), site == "conference-centre" ? "expect: {findings: [site-overlap]}"
                                                             : "expect: {findings: none}"));
    CHECK(drybus_program("check " + route).exit_code == 0);
  }
}

TEST_CASE("the three riskiest steps are named, and the same seed names the same ones") {
  const std::string command = "plan scenarios/sites/village-hall.yaml --runs 300 --seed 5 -j ";
  const Ran ran = drybus_program(command + "1");
  CHECK(has(ran.out, "Risk, from 300 runs"));
  CHECK(has(ran.out, "\n  3. "));
  CHECK(drybus_program(command + "3").out == ran.out);
}

TEST_CASE("a schedule that is there already is kept to when a circuit is put in before the others") {
  const Folder folder;
  const std::string command = "plan " + folder.file("s.yaml") + " --runs 0 --csv " + folder.file("s.csv");
  folder.write("s.yaml", small_site("  M1: {label: 'Hall, \"west\"'}\n  M2: {}\n"));
  REQUIRE(drybus_program(command).exit_code == 0);
  CHECK(
      has(content_of(folder.file("s.csv")), "M1,\"Hall, \"\"west\"\"\",site,23,4,1,23/4/1,P1,proposed\r\n"));
  folder.write("s.yaml", small_site("  M0: {}\n  M1: {label: 'Hall, \"west\"'}\n  M2: {}\n"));
  REQUIRE(drybus_program(command).exit_code == 0);
  const std::string kept = content_of(folder.file("s.csv"));
  CHECK(has(kept, "M0,,site,23,4,3,23/4/3,P1,proposed"));
  CHECK(has(kept, "23/4/1,P1,kept"));
  REQUIRE(drybus_program(command + " --afresh").exit_code == 0);
  CHECK(has(content_of(folder.file("s.csv")), "M0,,site,23,4,1,"));
}

TEST_CASE(
    "the sheet stands alone, with the caution, every address and a box to tick for each plate and visit") {
  const Folder folder;
  const std::string sheet = folder.file("sheet.html");
  REQUIRE(drybus_program("plan scenarios/sites/school.yaml --runs 0 --sheet " + sheet).exit_code == 0);
  const std::string html = content_of(sheet);
  CHECK(has(html, "Isolate at the supply, lock off and prove dead"));
  CHECK(has(html, "A dimmer turned off is not isolation."));
  CHECK(has(html, "37/4/12"));
  CHECK(has(html, "the caretaker's plate") == false);  // the neighbour's switches are not ours to set
  std::size_t boxes = 0, drawings = 0;
  for (std::size_t at = 0; (at = html.find("class=\"box\"", at)) != std::string::npos; ++at) ++boxes;
  for (std::size_t at = 0; (at = html.find("<svg", at)) != std::string::npos; ++at) ++drawings;
  CHECK(boxes == 5 + 40);
  CHECK(drawings == 2 * 5);
  CHECK(!has(html, "<script"));
  CHECK(!has(html, "href="));
  CHECK(!has(html, "src="));
}

TEST_CASE("a label cannot break out of the sheet") {
  const Folder folder;
  folder.write("s.yaml", small_site("  M1: {label: '<script>alert(1)</script> & so on'}\n"));
  REQUIRE(drybus_program("plan " + folder.file("s.yaml") + " --runs 0 --sheet " + folder.file("s.html"))
              .exit_code == 0);
  CHECK(!has(content_of(folder.file("s.html")), "<script>"));
  CHECK(has(content_of(folder.file("s.html")), "&lt;script&gt;"));
}

TEST_CASE("a clash is told with its place in the file, and nothing is written") {
  const Folder folder;
  folder.write("s.yaml", small_site("  M1: {intended: 23/4/1}\n  M2: {intended: 23/4/1}\n"));
  const Ran ran = drybus_program("plan " + folder.file("s.yaml") + " --csv " + folder.file("s.csv") +
                                 " --route " + folder.file("r.yaml"));
  CHECK(ran.exit_code == 1);
  CHECK(has(ran.err, folder.file("s.yaml") + ":7:18: M2 is meant to have 23/4/1, which is M1's already"));
  CHECK(!fs::exists(folder.file("s.csv")));
  CHECK(!fs::exists(folder.file("r.yaml")));
}

TEST_CASE("switches that cannot be set are told with their place in the file") {
  const Folder folder;
  folder.write("s.yaml", "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
                         "/scenarios/families/wired-keypad.yaml\nplates:\n"
                         "  P1: {switches: {site: 70, zone: 4}}\nmodules:\n  M1: {}\n");
  const Ran ran = drybus_program("plan " + folder.file("s.yaml"));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, folder.file("s.yaml") + ":4:25: "));
}

/// The village hall with one text in place of another.
std::string altered_hall(const Folder& folder, const std::string& old, const std::string& now) {
  std::string text = content_of(DRYBUS_SOURCE_DIR "/scenarios/sites/village-hall.yaml");
  REQUIRE(has(text, old));
  text.replace(text.find(old), old.size(), now);
  return folder.write("hall.yaml", text);
}

TEST_CASE("plan tells a load that its module cannot carry where the file says it") {
  const Folder folder;
  const Ran ran =
      drybus_program("plan --runs 0 " + altered_hall(folder, "power: 240 W, dimming: trailing-edge",
                                                     "power: 440 W, dimming: trailing-edge"));
  CHECK(ran.exit_code == 1);
  CHECK(has(ran.err, "hall.yaml:17:55: 440 W on M1 is more than its trailing-edge rating"));
  CHECK(has(ran.err, "expected at most 400 W"));
}

TEST_CASE("plan tells a supply that does not reach the last device") {
  const Folder folder;
  const Ran ran = drybus_program("plan --runs 0 " + altered_hall(folder, "length: 15 m", "length: 5000 m"));
  CHECK(ran.exit_code == 1);
  CHECK(has(ran.err, "would get"));
  CHECK(has(ran.err, "at least 9 V: a larger core, a shorter way, or a supply nearer to it"));
}

TEST_CASE("what a site says of loads and cables comes back when its route is written") {
  const Folder folder;
  const std::string route = folder.file("route.yaml");
  REQUIRE(drybus_program("plan --runs 0 scenarios/sites/village-hall.yaml --route " + route).exit_code == 0);
  const auto loads = [](const std::string& site) {
    return json::parse(drybus_program("plan --runs 0 --format json " + site).out).at("loads");
  };
  CHECK(loads(route) == loads("scenarios/sites/village-hall.yaml"));
  CHECK(loads(route).at("supplies").at(0).at("current_a").as_double() == doctest::Approx(0.072));
}

TEST_CASE("a load or a cable that is not clear is told with what was expected") {
  const Folder folder;
  const auto told = [&](const std::string& old, const std::string& now) {
    const Ran ran = drybus_program("plan --runs 0 " + altered_hall(folder, old, now));
    CHECK(ran.exit_code == 2);
    return ran.err;
  };
  CHECK(has(told("power: 240 W", "power: 240"), "240 W"));
  CHECK(has(told("dimming: leading-edge", "dimming: leading-egde"), "did you mean 'leading-edge'"));
  CHECK(has(told("core: 0.75 mm2", "core: 0.7 mm2"), "0.5, 0.75, 1, 1.5 or 2.5 mm2 in class 1, 2 or 5"));
  CHECK(has(told("P1-M1: 30 m", "P1-M3: 30 m"), "unknown link 'P1-M3'"));
  CHECK(has(told("fed_at: P1", "fed_at: P9"), "unknown device or junction of this bus 'P9'"));
  CHECK(has(told("length: 15 m, ", ""), "how long is P1-P2?"));
}

TEST_CASE("plan refuses what it cannot use") {
  for (const char* wrong :
       {"plan", "plan nowhere.yaml", "plan scenarios/sites/village-hall.yaml --site 64",
        "plan scenarios/families/wired-keypad.yaml", "plan scenarios/sites/village-hall.yaml --start attic",
        "plan scenarios/sites/village-hall.yaml --reserve 91",
        "plan scenarios/sites/village-hall.yaml --keep README.md",
        "plan scenarios/sites/village-hall.yaml --format xml"}) {
    CAPTURE(wrong);
    CHECK(drybus_program(wrong).exit_code == 2);
  }
}

TEST_CASE("plan takes the site of a scenario, and gives way to a neighbour with the same number") {
  CHECK(drybus_program("plan scenarios/training/factory-site.yaml").exit_code == 0);
  const Ran clash = drybus_program("plan scenarios/training/same-number-next-door.yaml");
  CHECK(clash.exit_code == 0);
  CHECK(has(clash.out, "instead of 16, which a neighbour has"));
  CHECK(has(clash.out, "Dry run: every address holds"));  // whatever its module held before
}

TEST_CASE("plan neither waits for a pipe nor takes in a huge file") {
  const Folder folder;
  const std::string pipe = folder.file("pipe.yaml"), huge = folder.file("huge.yaml");
  REQUIRE(shell("mkfifo " + pipe + "; head -c 100000000 /dev/zero | tr '\\0' a > " + huge).exit_code == 0);
  CHECK(shell("timeout 5 " DRYBUS_PROGRAM " plan " + huge).exit_code == 2);
  CHECK(shell("timeout 5 " DRYBUS_PROGRAM " plan " + pipe).exit_code == 2);
}

}  // namespace
