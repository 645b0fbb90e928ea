// A scenario that can be read is run and told in every form: twice the same, in files that can be read back.
#include <boost/json.hpp>
#include <cstdint>
#include <string>

#include "model/run/run.h"
#include "tests/fuzz/must.h"
#include "tools/export/capture_reader.h"
#include "tools/export/pcapng.h"
#include "tools/export/record_lines.h"
#include "tools/export/record_reader.h"
#include "tools/export/run_json.h"
#include "tools/export/vcd.h"
#include "tools/picture/page.h"
#include "tools/picture/svg.h"
#include "tools/script/reader.h"
#include "tools/view/handout.h"
#include "tools/view/story.h"

namespace {

using namespace drybus;
using tests::must;

/// Beside the shipped ones, so that families and includes are found.
const char* const as_if_at = DRYBUS_SOURCE_DIR "/scenarios/training/fuzz.yaml";
constexpr std::size_t most_devices = 30;
constexpr int most_events = 3'000;

struct TooLong {};

struct Made {
  model::RunResult result;
  std::string vcd;
};

Made make(const model::Scenario& scenario) {
  tools::VcdRecorder recorder{scenario};
  int events = 0;
  model::RunOptions options;
  options.after_event = [&](const model::World& world, const sim::Record& record) {
    if (++events > most_events) throw TooLong{};
    recorder.observe(world, record);
  };
  Made made{model::run(scenario, options), {}};
  made.vcd = recorder.finish(made.result.world);
  return made;
}

void tell(const model::Scenario& scenario, const Made& made) {
  const model::RunResult& result = made.result;
  const std::uint64_t seed = scenario.seed;
  must(!tools::story_text(scenario, result, seed).empty());
  must(!tools::verdict_text(scenario, result).empty());
  must(boost::json::parse(tools::run_json("fuzz.yaml", scenario, seed, result)).is_object());
  must(!tools::handout(scenario, result, seed, {}).empty());
  const tools::Timeline timeline = tools::read_timeline(scenario, result, seed);
  for (const auto& chapter : tools::picture::draw_chapters(scenario, result, timeline, {}))
    must(!tools::picture::svg_text(chapter).empty());
  const auto entries = tools::read_record_lines(tools::record_lines(scenario, result.record), "fuzz.jsonl");
  must(entries.ok() && entries.value().size() == result.record.size());
  (void)tools::parse_capture("fuzz.pcapng", tools::pcapng(scenario, result.record));
}

void feed(std::string text) {
  const auto reading = tools::read_scenario_text(std::move(text), as_if_at);
  if (!reading.ok()) return;
  const model::Scenario& scenario = reading.value().scenario;
  if (scenario.site.device_count() > most_devices) return;
  try {
    const Made made = make(scenario);
    const Made again = make(scenario);
    must(made.result.digest == again.result.digest && made.vcd == again.vcd);
    tell(scenario, made);
  } catch (const TooLong&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
