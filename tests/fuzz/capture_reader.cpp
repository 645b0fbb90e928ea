// A capture that somebody sends in, whatever its bytes are: read, or refused with the place.
#include "tools/export/capture_reader.h"

#include <cstdint>
#include <string_view>

#include "tools/base/unusable.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus::tools;
  try {
    (void)parse_capture("fuzz.pcapng", {reinterpret_cast<const char*>(data), size});
  } catch (const Unusable&) {
  }
  return 0;
}
