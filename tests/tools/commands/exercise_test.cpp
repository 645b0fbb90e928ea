// Fault-finding, as a pupil does it: line by line, from a file.
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
namespace json = boost::json;

const std::string site = DRYBUS_SOURCE_DIR "/scenarios/sites/village-hall.yaml";

Ran worked(const std::string& options, const std::string& lines) {
  const Folder folder;
  return drybus_program("exercise " + options + " --answers " + folder.write("done.txt", lines));
}

json::value outcome(const std::string& options, const std::string& lines) {
  const Ran ran = worked(options + " --format json", lines);
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code != 2);
  return json::parse(ran.out);
}

TEST_CASE(
    "an exercise is the same for the same seed, and says afterwards what was hidden and the shortest way") {
  const json::value one = outcome(site, "look\ndone\n");
  CHECK(one == outcome(site, "look\ndone\n"));
  CHECK_FALSE(one.at("cured").as_bool());
  CHECK(one.at("points").to_number<int>() == 0);
  CHECK(one.at("truth").as_array().size() == 1);
  CHECK(one.at("rank").to_number<int>() <= 3);
  CHECK_FALSE(one.at("still_wrong").as_array().empty());
  CHECK_FALSE(one.at("shortest").as_array().empty());
}

TEST_CASE("work on what is not isolated, locked off and proved dead ends it, with the reason") {
  for (const std::string before : {"", "isolate\n", "isolate\nlock off\n", "isolate\nprove dead\n"}) {
    const json::value ended = outcome(site, before + "set P1 7/1\nlook\n");
    CAPTURE(before);
    CHECK(ended.at("unsafe").is_string());
    CHECK(ended.at("points").to_number<int>() == 0);
    const json::array& done = ended.at("timeline").as_array();
    CHECK(done.back().at("done").as_string() == "set P1 7/1");
  }
  CHECK(outcome(site, "isolate\nlock off\nprove dead\nset P1 7/1\nrestore\n").at("unsafe").is_null());
}

TEST_CASE("what cannot be done is refused, and what is no word of the site is told with the nearest one") {
  const Ran ran = worked(site, "lock off\nprove dead\nrestore\nlook\n");
  CHECK(has(ran.out, "there is nothing to lock off"));
  CHECK(has(ran.out, "the tester says that it is live"));
  CHECK(has(ran.out, "the supply is on"));
  const Ran misspelt = worked(site, "look\nprss P1 up\n");
  CHECK(misspelt.exit_code == 2);
  CHECK(has(misspelt.err, "done.txt:2"));
  CHECK(has(misspelt.err, "did you mean 'press'?"));
  CHECK(worked(site + " --difficulty heavy", "").exit_code == 2);
}

TEST_CASE("what the pupil believed stands beside what was so") {
  const json::value one = outcome(site, "believe M1 is broken\nwalk stage\nlook\n");
  const json::array& timeline = one.at("timeline").as_array();
  REQUIRE(timeline.size() == 3);
  CHECK(timeline[0].at("believed").as_bool());
  CHECK(timeline[0].at("done").as_string() == "M1 is broken");
  CHECK_FALSE(timeline[2].at("seen").as_array().empty());
}

TEST_CASE("each difficulty gives what it says, on a site that is made up too") {
  CHECK(outcome("--difficulty hard --seed 2", "done\n").at("truth").as_array().size() == 2);
  CHECK(outcome(site + " --difficulty middle", "done\n").at("truth").as_array().size() == 1);
}

}  // namespace
