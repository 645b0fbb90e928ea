// Loading what a command works on, with every problem told.
#pragma once

#include <optional>
#include <string>

#include "model/diagnosis/catalogue.h"
#include "tools/capsule/capsule.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// Reads a scenario, or one that was packed in a capsule (with the capsule's seed). Throws Unusable with
/// everything that is wrong with it.
LoadedScenario load_scenario(const std::string& path);

/// Reads a site file, or the site of a scenario. Throws Unusable likewise.
LoadedSite load_site(const std::string& path);

/// Finds and reads a family. Throws Unusable likewise.
LoadedFamily load_family(const std::string& name);

/// A scenario and, when it came in a capsule, the run that was packed.
struct LoadedRun {
  LoadedScenario loaded;
  std::optional<CapsuleRun> packed;
};
/// `firmware`: what the run will be made with, compared with what the capsule says.
LoadedRun load_run(const std::string& path, std::string_view firmware = built_in_firmware);

/// Reads a report with its capture: that of `capture` where given, else the one that it names. `in_part`: the capture is
/// of a part of what was told. Throws Unusable likewise.
LoadedReport load_report(const std::string& path, const std::optional<std::string>& capture = {},
                         bool in_part = false);

/// Takes the capture of a report in: that of `capture` where given, else the one that it names. Throws Unusable.
void add_capture(LoadedReport& loaded, const std::optional<std::string>& capture, bool in_part);

/// The catalogue of slips and faults: that file, or the one beside the families, seen from where `for_path` lies.
model::Catalogue load_catalogue(const std::string& for_path, const std::optional<std::string>& path = {});

}  // namespace drybus::tools
