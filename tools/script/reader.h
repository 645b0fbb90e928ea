// Reads scenarios, sites and families: either what the file says, or everything that is wrong with it.
//
// Nothing in a file can crash, hang or eat memory: files over 4 MiB, nesting over 64 levels, more than
// 100,000 values (aliases expanded) and more than 65,000 steps for one person are refused.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "model/call/answer.h"
#include "model/diagnosis/report.h"
#include "model/family/radio.h"
#include "model/people/script.h"
#include "tools/script/files.h"
#include "tools/script/problem.h"

namespace drybus::tools {

/// $DRYBUS_FAMILIES (folders with colons between them), then the families that came with the program.
std::vector<std::filesystem::path> default_family_folders();

struct ReadOptions {
  /// Searched after the `families` folders beside the file and in the folders above it.
  std::vector<std::filesystem::path> family_folders = default_family_folders();
  /// Where texts come from; null: the disk.
  const Files* files = nullptr;
};

/// As a file names a family, and where that was found.
struct FamilySource {
  std::string ref;
  std::filesystem::path file;
};

struct LoadedScenario {
  model::Scenario scenario;           ///< scenario.files are the paths of `sources`
  std::string family_ref;             ///< as the file names its family
  std::filesystem::path family_file;  ///< and where that was found
  std::vector<SourceFile> sources;    ///< [0] is the scenario's own; a SourceMark's `file` indexes them
  std::vector<std::optional<model::Spot>> spots;  ///< of each place, where the file gives coordinates
  std::vector<FamilySource> other_families;       ///< in the order of Site::other_families
};

struct LoadedSite {
  model::Site site;
  std::string about;
  std::string family_ref;
  std::filesystem::path family_file;
  std::vector<SourceFile> sources;
  std::vector<std::optional<model::Spot>> spots;
  std::vector<FamilySource> other_families;
};

struct LoadedFamily {
  model::Family family;
  std::vector<SourceFile> sources;
};

/// A report ("drybus-report: 1"): what was told on the telephone.
struct LoadedReport {
  model::Report report;                          ///< with the answers that were given since
  LoadedScenario told;                           ///< the same story as a scenario, for writing others like it
  std::optional<std::filesystem::path> capture;  ///< as the report names it, from where the report lies
  model::Report call;                            ///< as it was told, without the answers
  std::vector<model::CallAnswer> answers;        ///< of a guided repair, so far
};

Reading<LoadedReport> read_report(const std::filesystem::path& path, const ReadOptions& options = {});
Reading<LoadedReport> read_report_text(std::string text, const std::filesystem::path& path,
                                       const ReadOptions& options = {});

Reading<LoadedScenario> read_scenario(const std::filesystem::path& path, const ReadOptions& options = {});

/// The same for a text in memory that stands for the file `path`, by which its family and includes are found.
Reading<LoadedScenario> read_scenario_text(std::string text, const std::filesystem::path& path,
                                           const ReadOptions& options = {});

/// A site file ("drybus-site: 1"), which has to name its family.
Reading<LoadedSite> read_site(const std::filesystem::path& path, const ReadOptions& options = {});

Reading<LoadedFamily> read_family(const std::filesystem::path& path, const ReadOptions& options = {});
Reading<LoadedFamily> read_family_text(std::string text, const std::filesystem::path& path);

/// The file of a family: a path ending in .yaml is taken from `folder`; a name is looked for in `families`
/// beside it and in the folders above, then in the options' folders. Nothing when there is none.
std::optional<std::filesystem::path> find_family(const std::string& ref, const std::filesystem::path& folder,
                                                 const ReadOptions& options = {});

}  // namespace drybus::tools
