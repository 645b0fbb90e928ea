// "Addressed M1, M2 and M3 with P1", said in a word, was told as the first generation does it: without a supply switched,
// without a confirmation, from channel 0. A caller for whom all went well was told what had gone wrong.
#include <doctest/doctest.h>

#include "model/run/run.h"
#include "tools/script/reader.h"

using namespace drybus;

TEST_CASE("modules that were addressed in a word hold their addresses, in every family that ships") {
  for (const std::string family : {"wired-keypad", "radio-keypad", "asking-modules", "confirming-modules",
                                   "supply-counter", "master-keypad"}) {
    CAPTURE(family);
    const auto reading = tools::read_report_text(
        "drybus-report: 1\nfamily: " + family +
            "\nsite: {plates: {P1: 9/8}, modules: [Window, Table, Shelf]}\n"
            "script:\n  - addressed: {with: P1, modules: [Window, Table, Shelf]}\n  - wait: 5min\n",
        DRYBUS_SOURCE_DIR "/scenarios/reports/x.yaml");
    REQUIRE(reading.ok());
    const model::RunResult result = model::run(reading.value().report.believed);
    CHECK(result.findings.empty());
    for (std::uint8_t i = 0; i < 3; ++i)
      CHECK(result.world.modules[i].memory.address == model::Address{9, 8, static_cast<std::uint8_t>(i + 1)});
  }
}
