// Where families are looked for.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "tools/script/reader.h"

namespace drybus::tools {

/// Whether a family is named by its file instead of its name.
bool is_family_path(const std::string& ref);

/// All folders in which a family's name is looked for, in order.
std::vector<std::filesystem::path> family_folders(const std::filesystem::path& folder,
                                                  const ReadOptions& options);

/// The names of all families that could have been meant, sorted.
std::vector<std::string> known_families(const std::filesystem::path& folder, const ReadOptions& options);

/// The files of the options, or the disk.
const Files& files_of(const ReadOptions& options);

}  // namespace drybus::tools
