// What compilers put into a library for themselves: counters of coverage, checks of sanitizers, and what these report.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "tools/seat/loaded_image.h"

namespace drybus::tools {

struct Instruments {
  bool any = false;  ///< its code writes to variables that are none of its author's
  std::vector<std::span<std::byte>> variables;  ///< these
  std::vector<std::span<std::byte>> counters;   ///< of them: 8 bytes each, how often a place was come to
};
/// Read from the library's file, which must not be stripped.
Instruments instruments_of(const LoadedImage& image);

/// What has to be done so that a library with a sanitizer can be loaded; empty when nothing has.
std::string missing_runtime(const std::string& path);

// --- counters: each process counts for itself, and the one that loaded the library writes them to a file as it ends ---

/// Shares these counters with the processes that are forked from now on.
void share_counters(const std::vector<std::span<std::byte>>& counters);
/// In a process that has just been forked.
void begin_counting();
/// As its last thing: adds what it has counted to what is shared.
void hand_over_counts();
/// In the process that forked them: takes in what they have counted.
void take_in_counts();

}  // namespace drybus::tools
