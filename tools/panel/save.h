// A branch of the bench as a scenario of its own.
#pragma once

#include <string>

#include "tools/panel/branch.h"
#include "tools/script/reader.h"

namespace drybus::tools {

struct SavedScenario {
  std::string name;  ///< of a file
  std::string text;
  std::string digest;  ///< of its run
  sim::Instant ended{};
};

/// `done` is what people do, up to `until`; the saved scenario goes on to that moment and there expects the
/// findings that there are. `history`, where given, is what the bench recorded so far: should the scenario's
/// own run not begin with it, the bench has shown something that would not replay, and that is thrown as
/// std::logic_error.
SavedScenario save_scenario(const LoadedScenario& loaded, model::Scenario done, sim::Instant until,
                            const sim::Record* history, const std::string& name);

}  // namespace drybus::tools
