// Writes scenarios as YAML that reads back as the same scenario.
#pragma once

#include <filesystem>
#include <string>

#include "tools/script/reader.h"

namespace drybus::tools {

struct WriteOptions {
  /// The folder that the text is meant for; empty: where the scenario came from.
  std::filesystem::path folder;
  /// How the text will be read there. A family that would not be found under its name is named by its file.
  ReadOptions reading;
};

/// The scenario as it is now, which need not be as it was read: its people's scripts and its checks may have
/// been changed. Sites and steps from other files are written out, repeats too.
std::string write_scenario(const LoadedScenario& loaded, const WriteOptions& options = {});

/// One step of the scenario's people on one line: "{hold: P1 set, for: 5500ms}". Its checks are the scenario's.
std::string write_step(const LoadedScenario& loaded, const model::Step& step);

}  // namespace drybus::tools
