// The round through a site, as a person uses it: printed, replayed, answered.
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

std::string small_site(const Folder& folder, const std::string& first_module = "") {
  return folder.write(
      "site.yaml",
      "drybus-site: 1\nfamily: " DRYBUS_SOURCE_DIR
      "/scenarios/families/wired-keypad.yaml\nplaces: {Hall: {}, Loft: {walk: {Hall: 40s}}}\nplates:\n"
      "  P1: {label: Hall plate, place: Hall}\nmodules:\n"
      "  M1: {label: Pendant, place: Hall" +
          first_module +
          "}\n  M2: {label: Wall lights, place: Hall}\n"
          "  M3: {label: Loft spots, place: Loft}\n");
}

json::value round_of(const std::string& site) {
  const Ran ran = drybus_program("handover " + site + " --pairs 50 --format json");
  REQUIRE(ran.exit_code == 0);
  return json::parse(ran.out);
}

/// The number of the first line that says this.
std::int64_t line_with(const json::value& round, const std::string& part) {
  for (const json::value& line : round.at("lines").as_array()) {
    if (has(std::string{line.at("do").as_string()} + std::string{line.at("see").as_string()}, part) &&
        line.at("number").is_int64())
      return line.at("number").as_int64();
  }
  return 0;
}

TEST_CASE("the round is shorter than pressing everything, tells the slips, and replays") {
  const Folder folder;
  const std::string site = small_site(folder), script = folder.file("round.yaml"),
                    sheet = folder.file("round.html");
  const json::value round = round_of(site);
  CHECK(round.at("takes_s").to_number<double>() < round.at("everything_s").to_number<double>());
  CHECK(round.at("minimum_proved").as_bool());
  CHECK(round.at("power_cut").as_bool());
  CHECK(round.at("slips").as_int64() > 100);
  CHECK(round.at("told").as_int64() > 20);
  CHECK(round.at("told").as_int64() + static_cast<std::int64_t>(round.at("untold").as_array().size()) ==
        round.at("outcomes").as_int64());
  // The loft cannot be seen from the hall: somebody looks on there.
  CHECK(line_with(round, "somebody in Loft looks on and calls") > 0);
  CHECK(line_with(round, "Loft spots (M3) flashes") > 0);
  const Ran written = drybus_program(
      fmt::format("handover {} --pairs 0 --script {} -o {} --paper letter", site, script, sheet));
  REQUIRE(written.exit_code == 0);
  CHECK(has(written.out, "Signed: "));
  const Ran replayed = drybus_program("check " + script);
  CAPTURE(replayed.out);
  CHECK(replayed.exit_code == 0);
  CHECK(has(content_of(sheet), "size: letter"));
  CHECK(has(content_of(sheet), "lock off"));
}

TEST_CASE("a load that is not to be switched is left alone, and what is not proved for it is said") {
  const Folder folder;
  const std::string site = small_site(folder, ", do_not_switch: yes");
  const Ran ran = drybus_program("handover " + site + " --pairs 0 --script " + folder.file("round.yaml"));
  REQUIRE(ran.exit_code == 0);
  CHECK(has(ran.out, "Not to be switched: Pendant"));
  CHECK(has(ran.out, "That a power cut is survived is not proved."));
  CHECK_FALSE(has(ran.out, "Switch the supply"));
  CHECK_FALSE(has(ran.out, "Pendant (M1) flashes"));
  // Replayed, its load never moves.
  const Ran replayed = drybus_program("run " + folder.file("round.yaml"));
  CHECK(replayed.exit_code == 0);
  CHECK_FALSE(has(replayed.out, "M1's load"));
}

TEST_CASE("answers typed in: all ticked is fine, a missing tick becomes a report that names its cause") {
  const Folder folder;
  const std::string site = small_site(folder);
  const json::value round = round_of(site);
  std::int64_t last = 0;
  for (const json::value& line : round.at("lines").as_array()) {
    if (line.at("number").is_int64()) last = line.at("number").as_int64();
  }
  const std::string fine = folder.write("fine.txt", fmt::format("# all well\n1-{}: yes\n", last));
  const Ran ticked = drybus_program(fmt::format("handover {} --pairs 0 --answers {}", site, fine));
  CHECK(ticked.exit_code == 0);
  CHECK(has(ticked.out, fmt::format("{0} of {0} lines are ticked", last)));

  // M2 has no power: it does not flash, and stays dark whatever is pressed.
  std::string told;
  for (const json::value& line : round.at("lines").as_array()) {
    if (!line.at("number").is_int64()) continue;
    const std::string see{line.at("see").as_string()};
    const bool lit =
        (has(see, "lit") || has(see, " at about ") || has(see, "M2) flashes")) && !has(see, "M3");
    const bool hall = line.at("place") == "Hall";
    told += fmt::format("{}: {}\n", line.at("number").as_int64(), lit && hall ? "M2 dark" : "yes");
  }
  const std::string report = folder.file("report.yaml");
  const Ran missing = drybus_program(fmt::format("handover {} --pairs 0 --answers {} --report {}", site,
                                                 folder.write("told.txt", told), report));
  CAPTURE(told);
  CAPTURE(missing.out);
  CAPTURE(missing.err);
  REQUIRE(missing.exit_code == 1);
  CHECK(has(missing.out, "Seen: M2 dark"));
  const Ran diagnosed = drybus_program("diagnose " + report + " --format json");
  CAPTURE(diagnosed.err);
  CAPTURE(content_of(report));
  REQUIRE(diagnosed.exit_code <= 1);
  const json::value diagnosis = json::parse(diagnosed.out);
  REQUIRE_FALSE(diagnosis.at("explanations").as_array().empty());
  CHECK(has(std::string{diagnosis.at("explanations").at(0).at("text").as_string()}, "M2"));
}

TEST_CASE("answers that cannot be used are told with their line, and nothing is written") {
  const Folder folder;
  const std::string site = small_site(folder);
  for (const char* wrong : {"yes", "0: yes", "999: yes", "1: yes\n1: yes", "3-1: yes", "1-3: no",
                            "2: M9 dark", "2: M2 purple", "x: yes", "2: \x01"}) {
    CAPTURE(wrong);
    const std::string report = folder.file("report.yaml");
    const Ran ran = drybus_program(fmt::format("handover {} --pairs 0 --slips 50 --answers {} --report {}",
                                               site, folder.write("a.txt", wrong), report));
    CHECK(ran.exit_code == 2);
    CHECK(has(ran.err, "a.txt:"));
    CHECK_FALSE(fs::exists(report));
  }
  CHECK(drybus_program("handover " + site + " --report x.yaml").exit_code == 2);
  CHECK(drybus_program("handover " + site + " --paper a3").exit_code == 2);
  CHECK(drybus_program("handover nothing.yaml").exit_code == 2);
}

}  // namespace
