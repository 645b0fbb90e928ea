// Files of the source tree that tests hold against the program.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace drybus::tests {

/// Where a file of the source tree is read from: below the folder in DRYBUS_TRIED, should it be there, so that a change can
/// be tried on a copy (tests/recipes); else in the tree.
std::filesystem::path source_file(const std::string& name);

/// Its text. REQUIREs that it can be read.
std::string source_text(const std::string& name);

/// The files in a folder of the tree with that extension, those below DRYBUS_TRIED among them; by name, each once.
std::vector<std::string> source_names(const std::string& folder, const std::string& extension);

}  // namespace drybus::tests
