#include <doctest/doctest.h>

#include <filesystem>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/commands/divergence.h"
#include "tools/export/record_lines.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using tests::drybus_program;
using tests::Folder;
using tests::Ran;

std::vector<tools::ToldEntry> record_of(const std::string& scenario) {
  const auto loaded = tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/" + scenario);
  const std::string text = tools::record_lines(loaded.scenario, model::run(loaded.scenario).record);
  auto reading = tools::read_record_lines(text, "record");
  REQUIRE(reading.ok());
  return reading.value();
}

/// Plants one edit in one entry, of a kind that the seed decides.
void plant(std::vector<tools::ToldEntry>& record, std::size_t index, std::uint64_t kind) {
  tools::ToldEntry& entry = record[index];
  switch (kind) {
    case 0:
      entry.at_ns += 1;
      break;
    case 1:
      entry.a ^= 1;
      break;
    case 2:
      entry.b ^= 1;
      break;
    case 3:
      entry.who += "x";
      break;
    case 4:
      entry.cause = entry.cause == 0 ? 1 : entry.cause - 1;
      break;
    case 5:
      entry.kind += "x";
      break;
    default:
      record.erase(record.begin() + static_cast<std::ptrdiff_t>(index), record.end());
  }
}

TEST_CASE("one edit planted in each of 200 records is found 200 times") {
  const auto record = record_of("training/setup-split.yaml");
  sim::Stream stream{20, sim::Purpose::generator, 0, 0};
  for (int i = 0; i < 200; ++i) {
    auto edited = record;
    const std::size_t index = stream.below(record.size() - 1) + 1;
    plant(edited, index, stream.below(7));
    CAPTURE(i);
    const auto parting = tools::first_difference(record, edited);
    REQUIRE(parting.has_value());
    CHECK(parting->a == index);
    CHECK(parting->b == index);
  }
}

TEST_CASE("a record that is written and read back is the same, and the causes lead back to a step") {
  const auto record = record_of("training/setup-split.yaml");
  CHECK(!tools::first_difference(record, record).has_value());
  CHECK(!tools::first_visible_difference(record, record).has_value());
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (record[i].kind != "stored") continue;
    const auto chain = tools::causes_of(record, i, 100);
    CHECK(chain.front() == &record[i]);
    CHECK(chain.back()->kind == "step");
    CHECK(chain.back()->text.find("press P1 accept") != std::string::npos);
  }
}

TEST_CASE("diff names the first event at which two scenarios part, with what led to it and what was seen") {
  const Ran ran =
      drybus_program("diff scenarios/training/assign-unheard.yaml scenarios/training/zone-zero.yaml");
  CHECK(ran.exit_code == 1);
  CHECK(ran.out.find("the runs part at entry ") != std::string::npos);
  CHECK(ran.out.find("What a person would have seen differently first:") != std::string::npos);
}

TEST_CASE("diff of a scenario with itself, and of a record with its run, finds nothing") {
  const std::string scenario = "scenarios/training/shared-address.yaml";
  CHECK(drybus_program("diff " + scenario + " " + scenario).exit_code == 0);
  const Folder folder;
  const std::string record = folder.file("record.jsonl");
  REQUIRE(drybus_program("run " + scenario + " --quiet --record " + record).exit_code == 0);
  const Ran ran = drybus_program("diff " + scenario + " " + record);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("the two runs are the same") != std::string::npos);
}

TEST_CASE("two seeds part where chance decides, and one seed never parts from itself") {
  const Folder folder;
  const std::string noisy = folder.file("noisy.yaml");
  REQUIRE(
      tests::shell(
          "sed 's/open: M2-M3/noisy: P1-M1, bit_errors: 2%/' scenarios/training/out-of-reach.yaml > " + noisy)
          .exit_code == 0);
  CHECK(drybus_program("diff " + noisy + " --seeds 1,2").exit_code == 1);
  CHECK(drybus_program("diff " + noisy + " --seeds 2,2").exit_code == 0);
  CHECK(drybus_program("diff scenarios/training/setup-split.yaml --seeds 1,x").exit_code == 2);
  CHECK(drybus_program("diff scenarios/training/setup-split.yaml --seeds 1").exit_code == 2);
  const Ran family =
      drybus_program("diff scenarios/training/setup-split.yaml --families wired-keypad,radio-keypad");
  CHECK(family.exit_code == 2);
  CHECK(family.err.find("does not fit the family radio-keypad") != std::string::npos);
}

TEST_CASE("a line that is no entry is told with its place") {
  const std::string good =
      R"({"id":1,"at_ns":0,"kind":"began","who":"","a":0,"b":0,"cause":0,"because":0,"text":"t"})";
  const auto problem_in = [](const std::string& text) {
    const auto reading = tools::read_record_lines(text, "r.jsonl");
    REQUIRE(!reading.ok());
    return to_text(reading.problems());
  };
  CHECK(problem_in(good + "\nnonsense\n").find("r.jsonl:2:1: this is no entry of a record") !=
        std::string::npos);
  CHECK(problem_in(good + "\n" + good).find("r.jsonl:2:1: entry 1 stands where entry 2 belongs") !=
        std::string::npos);
  CHECK(problem_in("").find("the record is empty") != std::string::npos);
  CHECK(problem_in(R"({"id":1})").find("lacks the key 'at_ns'") != std::string::npos);
  CHECK(problem_in(std::string(100, '[')).find("r.jsonl:1:1") != std::string::npos);
}

}  // namespace
