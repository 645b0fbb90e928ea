// What the panel and the reader need of the program around them, where there is none: no log is kept, nobody else has a seat, and
// nothing is written: neither over what was read nor as a scenario, which takes a writer of YAML.
#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/log/log.h"
#include "tools/panel/gate.h"
#include "tools/panel/refused.h"
#include "tools/panel/save.h"

namespace drybus::tools {

using model::tr;

bool Log::says(LogLevel) const {
  return false;
}

void Log::write(LogLevel, std::string_view) const {}

void note_read(const std::filesystem::path&) {}

std::string random_token() {
  return "the only seat";
}

bool equal_in_constant_time(std::string_view a, std::string_view b) {
  return a == b;
}

SavedScenario save_scenario(const LoadedScenario&, model::Scenario, sim::Instant, const sim::Record*,
                            const std::string&) {
  throw Refused{RefusalCode::not_now, tr("A page writes no scenarios; 'drybus panel' does.")};
}

}  // namespace drybus::tools
