// A capsule that somebody sends in: opened, or refused with reasons. Digests refuse nearly every alteration,
// so an input may also be files that are packed first: after a line "@@ NAME" each, the scenario, its family,
// and what else there is.
#include <algorithm>
#include <chrono>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "tests/fuzz/must.h"
#include "tools/base/unusable.h"
#include "tools/capsule/capsule.h"

namespace {

using namespace drybus;
using tests::must;

constexpr std::string_view mark = "@@ ";

std::vector<tools::SourceFile> files_in(std::string_view text) {
  std::vector<tools::SourceFile> files;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size() - 1) + 1;
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(end);
    if (line.starts_with(mark)) {
      files.push_back({std::string{line.substr(mark.size(), line.find('\n') - mark.size())}, ""});
    } else if (!files.empty()) {
      files.back().text += line;
    }
  }
  return files;
}

void open(const std::string& text) {
  const tools::Capsule capsule = tools::parse_capsule("fuzz.capsule", text);
  must(to_text(capsule) == text);
  (void)tools::open_capsule("fuzz.capsule", capsule);
}

void feed(const std::string& text) {
  if (!text.starts_with(mark)) return open(text);
  const auto files = files_in(text);
  if (files.size() < 2) return;
  const tools::CapsuleRun run{"0.1.0", "built-in", 1, std::chrono::hours{1}, "00"};
  open(tools::to_text({run, files[0].path, files[1].path, files}));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    feed({reinterpret_cast<const char*>(data), size});
  } catch (const tools::Unusable& refused) {
    must(*refused.what() != '\0');
  }
  return 0;
}
