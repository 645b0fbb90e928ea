// drybus check --observables: what could be seen and heard, stored, or held against what was stored.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "tools/observed/golden_record.h"
#include "tools/options/patience.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

struct ObservablesRequest {
  std::filesystem::path file;
  bool store = false;  ///< those of now
  Patience patience;
};

/// What --observables, --accept, --within and --known say; nothing without --observables. Throws Unusable.
std::optional<ObservablesRequest> read_observables(const CommandLine& line);

/// One scenario that was run, and what comes of it.
struct SeenScenario {
  std::string path;
  SeenRun run;
  bool broke_off = false;
  std::vector<std::string> failures;  ///< is filled in: a line for each difference
  std::vector<std::string> notes;     ///< and for what is known to differ
};

/// Stores, and says on standard error what moved; or fills in failures and notes.
void hold_observables(const ObservablesRequest& request, std::vector<SeenScenario>& scenarios);

}  // namespace drybus::tools
