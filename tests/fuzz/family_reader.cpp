// A family file, whatever stands in it: read, or refused with reasons.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "tools/script/reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus::tools;
  const auto reading = read_family_text({reinterpret_cast<const char*>(data), size}, "fuzz.yaml");
  if (!reading.ok() && to_text(reading.problems()).empty()) std::abort();
  return 0;
}
