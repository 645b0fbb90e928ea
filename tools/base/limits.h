// What this process may use up of the machine, whatever it does. What a run may use up is model/run/driver.h's.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>

namespace drybus::tools {

/// Memory beyond that cannot be had: std::bad_alloc. Counts the address space, libraries and threads' stacks included.
/// Throws Unusable for less than the process has already.
void limit_memory(std::uint64_t bytes);

/// After so long the process says `words` on standard error and ends with exit_unusable; nothing that it was about to write is
/// left behind. The last call counts.
void limit_time(std::chrono::milliseconds most, const std::string& words);

}  // namespace drybus::tools
