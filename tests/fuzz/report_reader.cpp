// A report that somebody sends in: read, or refused with reasons.
#include <cstdint>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/script/reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus;
  // Beside the shipped ones, so that families are found.
  const auto reading = tools::read_report_text({reinterpret_cast<const char*>(data), size},
                                               DRYBUS_SOURCE_DIR "/scenarios/reports/fuzz.yaml");
  if (!reading.ok()) {
    tests::must(!to_text(reading.problems()).empty());
    return 0;
  }
  const model::Report& report = reading.value().report;
  for (const model::Seen& seen : report.seen) {
    tests::must(seen.device < report.believed.site.device_count());
    tests::must(!seen.after_step || *seen.after_step < report.believed.people.at(0).script.size());
    tests::must(!describe(report.believed.site, seen).empty());
  }
  return 0;
}
