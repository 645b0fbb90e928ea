// Fetches files and parses them, each once, and keeps their trees.
#pragma once

#include <filesystem>
#include <map>
#include <memory>

#include "tools/script/complaints.h"
#include "tools/script/files.h"
#include "tools/script/tree.h"

namespace drybus::tools {

class Loader {
 public:
  Loader(const Files& files, Complaints& complaints) : files_(files), complaints_(complaints) {}

  /// The root of a file's tree; null when it cannot be read or parsed. A file that is not there is complained
  /// of where somebody asked for it, or as a whole when nobody did.
  const Node* load(const std::filesystem::path& path, const Place* asked_at = nullptr);

  /// The same for a text that is at hand already.
  const Node* take(SourceFile source);

  [[nodiscard]] const Files& files() const { return files_; }

  /// The folder of the file in which something stands.
  [[nodiscard]] std::filesystem::path folder_of(const Place& place) const;

 private:
  const Node* parse(SourceFile source);

  const Files& files_;
  Complaints& complaints_;
  std::map<std::filesystem::path, std::unique_ptr<Tree>> trees_;  ///< null: there is something wrong with it
};

}  // namespace drybus::tools
