// Finished blocks of a sweep on disk, so that a sweep that was killed goes on where it was, and parts that ran on
// several machines can be added up.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string>

#include "model/run/sweep.h"

namespace drybus::tools {

inline constexpr std::uint64_t sweep_block = 500;  ///< runs in a block

/// A block as one line of JSON, and back. `key` names the sweep that it belongs to; part_from throws std::exception for
/// what is no block of that sweep.
std::string block_text(const model::SweepPart& part, const std::string& key);
model::SweepPart part_from(const std::string& text, const std::string& key);

/// A folder of block files. Each names the sweep it belongs to by a key; blocks of another sweep are refused.
class SweepStore {
 public:
  /// Makes the folder where there is none. Throws Unusable when that cannot be done.
  SweepStore(std::filesystem::path folder, std::string key);

  /// Throws Unusable when the block is another sweep's or not readable as a block.
  [[nodiscard]] std::optional<model::SweepPart> find(std::uint64_t first_run) const;
  void keep(const model::SweepPart& part) const;

 private:
  [[nodiscard]] std::filesystem::path file(std::uint64_t first_run) const;

  std::filesystem::path folder_;
  std::string key_;
};

}  // namespace drybus::tools
