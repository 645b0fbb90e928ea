// A site file, whatever stands in it: read, with walks and a network that hang together, or refused with
// reasons.
#include <cstdint>
#include <fstream>
#include <iterator>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/script/reader.h"

namespace {

using namespace drybus;
using tests::must;

tools::SourceFile family(const std::string& name) {
  const std::string path = "families/" + name + ".yaml";
  std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/" + path};
  return {path, {std::istreambuf_iterator<char>{in}, {}}};
}

void feed(std::string text) {
  static const tools::SourceFile wired = family("wired-keypad");
  static const tools::SourceFile radio = family("radio-keypad");
  const tools::BundledFiles files{{{"fuzz.yaml", std::move(text)}, wired, radio}};
  const auto reading = tools::read_site("fuzz.yaml", {.family_folders = {}, .files = &files});
  if (!reading.ok()) {
    must(!to_text(reading.problems()).empty());
    return;
  }
  const model::Site& site = reading.value().site;
  const std::size_t places = site.places.size();
  must(site.walks.size() == places * places);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
