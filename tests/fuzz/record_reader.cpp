// A record in JSON Lines that somebody sends in: read, or refused with reasons.
#include "tools/export/record_reader.h"

#include <cstdint>
#include <cstdlib>
#include <string>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus::tools;
  const auto reading = read_record_lines({reinterpret_cast<const char*>(data), size}, "fuzz.jsonl");
  if (!reading.ok() && to_text(reading.problems()).empty()) std::abort();
  return 0;
}
