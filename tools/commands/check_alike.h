// In which scenarios a firmware does what the tables of its family say.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "tools/options/firmware_choice.h"

namespace drybus::tools {

/// The scenarios in which nothing that can be seen or heard tells the firmware from the built-in devices: in these it was driven
/// through the same rows. Tells of the others on standard error.
std::vector<std::string> driven_alike(const std::vector<std::string>& paths, const FirmwareChoice& firmware,
                                      std::size_t jobs);

}  // namespace drybus::tools
