// Working a bench as the page does, for tests.
#pragma once

#include <string>

#include "model/run/run.h"
#include "tools/panel/bench.h"
#include "tools/panel/take_message.h"

namespace drybus::tests {

/// A scenario below scenarios/, by its path there.
tools::LoadedScenario shipped(const std::string& path);

/// A bench with a hand and a clock.
class Hand {
 public:
  explicit Hand(tools::Bench& bench) : bench_(bench) {}

  /// Sends a message that has to be carried out.
  Hand& does(const std::string& message);
  /// Sends one that has to be refused; answers the code.
  std::string is_refused(const std::string& message);
  /// Real time goes by.
  Hand& waits(tools::RealTime time);

 private:
  tools::Bench& bench_;
  tools::RealTime real_{};
};

/// Reads a saved text and runs it, as `drybus run` would.
model::RunResult run_saved(const tools::SavedScenario& saved);

}  // namespace drybus::tests
