// A catalogue of slips and faults, whatever stands in it: read, with chances that can be reckoned with, or
// refused with reasons.
#include "tools/script/catalogue_reader.h"

#include <cstdint>
#include <string>

#include "tests/fuzz/must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus;
  const tools::BundledFiles files{{{"fuzz.yaml", {reinterpret_cast<const char*>(data), size}}}};
  const auto reading = tools::read_catalogue("fuzz.yaml", {.family_folders = {}, .files = &files});
  if (!reading.ok()) {
    tests::must(!to_text(reading.problems()).empty());
    return 0;
  }
  const auto is_chance = [](double value) { return value > 0 && value <= 0.5; };
  const model::Catalogue& catalogue = reading.value();
  // Causes that came after catalogues had been written may be left out: none of these is reckoned with.
  for (const auto& entry : catalogue.entries) tests::must(entry.chance == 0 || is_chance(entry.chance));
  tests::must(is_chance(catalogue.misreport) && is_chance(catalogue.misreport_unsure) &&
              is_chance(catalogue.false_alarm));
  return 0;
}
