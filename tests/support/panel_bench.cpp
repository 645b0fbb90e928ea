#include "tests/support/panel_bench.h"

#include <doctest/doctest.h>

#include "tools/load/load.h"

namespace drybus::tests {

tools::LoadedScenario shipped(const std::string& path) {
  return tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/" + path);
}

Hand& Hand::does(const std::string& message) {
  const tools::Answer answer = tools::take_message(bench_, message);
  const std::string why = answer.refused ? answer.refused->what() : "";
  CHECK_MESSAGE(!answer.refused, message << ": " << why);
  return *this;
}

std::string Hand::is_refused(const std::string& message) {
  const tools::Answer answer = tools::take_message(bench_, message);
  CHECK_MESSAGE(answer.refused.has_value(), message);
  return answer.refused ? std::string{to_string(answer.refused->code())} : "";
}

Hand& Hand::waits(tools::RealTime time) {
  real_ += time;
  bench_.at_real(real_);
  return *this;
}

model::RunResult run_saved(const tools::SavedScenario& saved) {
  auto reading = tools::read_scenario_text(saved.text, DRYBUS_SOURCE_DIR "/scenarios/training/" + saved.name);
  const std::string problems = reading.ok() ? "" : tools::to_text(reading.problems());
  REQUIRE_MESSAGE(reading.ok(), problems << "\n" << saved.text);
  return model::run(reading.value().scenario);
}

}  // namespace drybus::tests
