// What differs between two runs in what could be seen and heard, worked out by hand.
#include "tools/observed/differences.h"

#include <doctest/doctest.h>

#include "tests/support/files.h"
#include "tools/base/unusable.h"
#include "tools/observed/golden_record.h"
#include "tools/observed/known.h"

namespace {

using namespace drybus;
using namespace std::chrono_literals;
using tools::Seen;

Seen seen(std::chrono::nanoseconds at, const std::string& device, const std::string& what) {
  return {sim::start_of_run + at, device, what, sim::no_entry};
}

std::vector<std::string> texts(const std::vector<Seen>& before, const std::vector<Seen>& now,
                               sim::Duration within = {}) {
  std::vector<std::string> all;
  for (const tools::Difference& each : tools::differences(before, now, within)) all.push_back(to_text(each));
  return all;
}

}  // namespace

TEST_SUITE("observed") {
  TEST_CASE("what one device does does not shift what another does") {
    const std::vector<Seen> before = {seen(1s, "M1", "indicator blip"), seen(1s, "M2", "indicator blip"),
                                      seen(2s, "M1", "indicator dark"), seen(2s, "M2", "indicator dark")};
    std::vector<Seen> now = before;
    std::swap(now[0], now[1]);
    CHECK(texts(before, now).empty());
    now.erase(now.begin());  // M2's blip
    CHECK(texts(before, now) == std::vector<std::string>{"M2: indicator blip at 0:01.0 is gone"});
    CHECK(texts(now, before) == std::vector<std::string>{"M2: indicator blip at 0:01.0 is new"});
  }

  TEST_CASE("one thing too many in the middle is one difference") {
    std::vector<Seen> before;
    for (int i = 0; i < 200; ++i) before.push_back(seen(i * 1s, "P1", i % 2 == 0 ? "begins beacon" : "sent beacon"));
    std::vector<Seen> now = before;
    now.insert(now.begin() + 100, seen(99500ms, "P1", "indicator refuse"));
    CHECK(texts(before, now) == std::vector<std::string>{"P1: indicator refuse at 1:39.5 is new"});
  }

  TEST_CASE("what is another thing, and what is at another time, is told with both") {
    const std::vector<Seen> before = {seen(1s, "M1", "indicator blip"), seen(3s, "M1", "load at 100%")};
    CHECK(texts(before, {seen(1s, "M1", "indicator breathe"), seen(3s, "M1", "load at 100%")}) ==
          std::vector<std::string>{"M1: at 0:01.0 it was indicator blip, is indicator breathe"});
    const std::vector<Seen> late = {seen(1s + 12ms, "M1", "indicator blip"), seen(3s, "M1", "load at 100%")};
    CHECK(texts(before, late) == std::vector<std::string>{"M1: indicator blip was at 0:01.0, is at 0:01.012"});
    CHECK(texts(before, late, 12ms).empty());
    CHECK(texts(before, late, 11ms).size() == 1);
  }

  TEST_CASE("two runs with nothing in common are told whole") {
    std::vector<Seen> before;
    std::vector<Seen> now;
    for (int i = 0; i < 300; ++i) before.push_back(seen(i * 1s, "M1", "indicator blip"));
    for (int i = 0; i < 100; ++i) now.push_back(seen(i * 1s, "M1", "indicator dark"));
    CHECK(texts(before, now).size() == 300);
    CHECK(texts({}, now).size() == 100);
  }

  TEST_CASE("a list of known differences gives reasons, and what was not met on it is said") {
    const tests::Folder folder;
    const auto known = tools::read_known(folder.write("known.yaml",
                                                      "drybus-known: 1\nknown:\n"
                                                      "  - reason: blips are longer since 2.1\n    device: M1\n"
                                                      "    was: blip\n    from: 500ms\n    to: 2s\n"
                                                      "  - {reason: never, scenario: b.yaml}\n"));
    REQUIRE(known.size() == 2);
    auto found = tools::differences(std::vector{seen(1s, "M1", "indicator blip"), seen(5s, "M1", "indicator blip")}, {});
    CHECK(tools::mark_known(known, "x/a.yaml", found) == std::vector<bool>{true, false});
    CHECK(found[0].known == "blips are longer since 2.1");
    CHECK(found[1].known.empty());
    CHECK(tools::mark_known(known, "x/b.yaml", found) == std::vector<bool>{true, true});
    const auto refused = [&](const std::string& text, const std::string& says) {
      try {
        tools::read_known(folder.write("bad.yaml", "drybus-known: 1\nknown:\n" + text));
        FAIL("was read");
      } catch (const tools::Unusable& error) {
        CHECK_MESSAGE(std::string{error.what()}.find(says) != std::string::npos, error.what());
      }
    };
    refused("  - {device: M1}\n", "lacks the key 'reason'");
    refused("  - {reason: x, devise: M1}\n", "did you mean 'device'?");
    refused("  - {reason: x, from: 3}\n", "bad.yaml:3:23");
  }

  TEST_CASE("a golden record reads back as it was written") {
    tools::GoldenRecord record;
    record["a \"b\".yaml"] = {7, sim::start_of_run + 12s, {seen(1s, "M1", "indicator blip"), seen(2s, "P1", "x")}};
    record["empty.yaml"] = {};
    const tests::Folder folder;
    const tools::GoldenRecord again =
        tools::read_golden_record(folder.write("g.json", tools::golden_record_text(record)));
    REQUIRE(again.size() == 2);
    CHECK(tools::golden_record_text(again) == tools::golden_record_text(record));
    CHECK(again.at("a \"b\".yaml").seen[1].device == "P1");
    for (const char* bad : {"", "{}", "[1]", "{\"drybus-observables\": 2, \"scenarios\": {}}",
                            "{\"drybus-observables\": 1, \"scenarios\": {\"a\": {\"seed\": 1}}}"}) {
      CHECK_THROWS_AS(tools::read_golden_record(folder.write("bad.json", bad)), tools::Unusable);
    }
  }
}
