#include "tools/options/budget.h"

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::tr;

void offer_budget(CommandLine& line) {
  const model::Budget usual;
  line.add()(
      "most-events", po::value<std::string>(),
      tr("a run ends with an error after so many events ({} unless said)", model::count_text(usual.events))
          .c_str());
  line.add()(
      "most-record", po::value<std::string>(),
      tr("or when its record takes so much memory ({} unless said)", model::size_text(usual.record_bytes))
          .c_str());
}

model::Budget read_budget(const CommandLine& line) {
  constexpr std::uint64_t most_events = 1'000'000'000'000;
  constexpr std::uint64_t least_bytes = 1'000;
  model::Budget budget;
  if (line.has("most-events")) budget.events = line.number("most-events", 1, most_events);
  if (line.has("most-record")) {
    const std::uint64_t bytes = line.bytes("most-record");
    if (bytes < least_bytes) throw Unusable{tr("--most-record: expected 1 kB or more")};
    budget.record_bytes = bytes;
  }
  return budget;
}

void refuse_used_up(const std::string& name, const model::Scenario& scenario,
                    const model::RunResult& result) {
  if (!result.broken_off || !result.broken_off->used_up || result.broken_off->firmware) return;
  const std::string why = describe(scenario, *result.broken_off);
  throw Unusable{result.broken_off->step ? why : name + ": " + why};
}

}  // namespace drybus::tools
