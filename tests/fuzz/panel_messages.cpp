// Whatever a client sends: the bench survives it, and what it has then still replays.
//
// An input is lines of text, each one message; a line "+N" lets N milliseconds of real time go by instead.
// Every message goes to a whole panel with two viewers, and to take_message as well.
#include <charconv>
#include <cstdint>
#include <string_view>

#include "tests/fuzz/must.h"
#include "tools/load/load.h"
#include "tools/panel/panel.h"
#include "tools/panel/take_message.h"

namespace {

using namespace drybus;
using namespace drybus::tools;
using tests::must;

constexpr std::size_t most_messages = 60;

const LoadedScenario& scenario() {
  static const LoadedScenario loaded =
      load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/setup-split.yaml");
  return loaded;
}

/// "+250": that many milliseconds, at most a minute; none for anything else.
RealTime pause_of(std::string_view line) {
  unsigned milliseconds = 0;
  if (line.empty() || line[0] != '+') return RealTime::zero();
  std::from_chars(line.data() + 1, line.data() + line.size(), milliseconds);
  return std::chrono::milliseconds{milliseconds % 60'000};
}

void feed(std::string_view input) {
  Panel panel{scenario()};
  Bench bench{scenario()};
  RealTime real{};
  const ViewerId first = panel.join(real);
  const ViewerId second = panel.join(real);
  for (std::size_t count = 0; !input.empty() && count < most_messages; ++count) {
    const std::size_t end = std::min(input.find('\n'), input.size());
    const std::string_view line = input.substr(0, end);
    input.remove_prefix(std::min(end + 1, input.size()));
    if (const RealTime pause = pause_of(line); pause > RealTime::zero()) {
      real += pause;
      panel.at_real(real);
      bench.at_real(real);
      continue;
    }
    panel.receive(count % 7 == 6 ? second : first, line, real);
    take_message(bench, line);
  }
  must(!panel.take_letters().empty());
  // Saving runs the branch anew, and throws when that comes out otherwise than it was shown.
  for (const Course& course : bench.courses()) {
    if (course.run->record().size() < 5'000) (void)bench.save(course.id);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
