// A workshop that outlives its program: which benches there are, what is open, how pupils fared; each bench in a file of its own.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>

#include "tools/panel/workshop.h"

namespace drybus::tools {

/// All that a folder keeps but for the class's bench.
struct KeptClass {
  KeptWorkshop workshop;
  std::map<BenchId, KeptBench> own;
};

std::filesystem::path kept_class_file(const std::filesystem::path& folder);
std::filesystem::path kept_own_file(const std::filesystem::path& folder, BenchId bench);

std::string kept_class_text(const KeptWorkshop& kept);
/// Throws Unusable where it is not what kept_class_text writes; `place` is told.
KeptWorkshop parse_kept_class(std::string_view text, const std::string& place);

/// Which workshop the folder keeps, if any; its benches are read when it is known what is open.
std::optional<KeptWorkshop> read_kept_class(const std::filesystem::path& folder);
/// Benches of pupils; those of another scenario are left out, and lie where they lay.
std::map<BenchId, KeptBench> read_kept_own(const std::filesystem::path& folder, const LoadedScenario& loaded);

/// Takes away what is kept of pupils' benches that are no more.
void forget_kept_own(const std::filesystem::path& folder);

}  // namespace drybus::tools
