// Whatever stands in a file: the reader gives a scenario or says what is wrong, and what it gives can be run
// and written.
#include <cstdint>
#include <string>

#include "model/world/simulation.h"
#include "tests/fuzz/must.h"
#include "tools/script/writer.h"

namespace {

using namespace drybus;
using namespace drybus::tools;
using tests::must;

/// Beside the shipped ones, so that families and includes are found.
const char* const as_if_at = DRYBUS_SOURCE_DIR "/scenarios/training/fuzz.yaml";
constexpr int most_events = 20'000;
constexpr std::size_t small = 4'000;  ///< bytes of a text that is written and read back, too

void go_on_for_a_while(const model::Scenario& scenario) {
  model::World world = model::initial_world(scenario);
  model::Simulation simulation{scenario, world};
  simulation.begin();
  sim::Instant before = world.now;
  for (int i = 0; i < most_events && simulation.next_at() < sim::never && !simulation.scripts_done(); ++i) {
    simulation.step();
    must(world.now >= before);
    before = world.now;
  }
}

void feed(std::string text) {
  const bool is_small = text.size() < small;
  const auto reading = read_scenario_text(std::move(text), as_if_at);
  if (!reading.ok()) {
    must(!to_text(reading.problems()).empty());
    return;
  }
  go_on_for_a_while(reading.value().scenario);
  if (!is_small) return;
  const std::string written = write_scenario(reading.value());
  const auto again = read_scenario_text(written, as_if_at);
  must(again.ok());
  must(write_scenario(again.value()) == written);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
