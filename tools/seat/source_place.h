// Where in somebody's sources a place in their library is: read from what the compiler left for debuggers (elfutils' libdw).
#pragma once

#include <span>
#include <string>

#include "tools/seat/loaded_image.h"

namespace drybus::tools {

/// "dimmer.c:88, in take", of the first of these addresses that lies in the library's code; without what debuggers need
/// "in take"; empty when none does. The first address is where the processor was, the others are return addresses.
std::string source_place(const LoadedImage& image, std::span<void* const> places);

/// The name of the variable that lies there; empty when it has none.
std::string variable_name(const LoadedImage& image, const void* address);

}  // namespace drybus::tools
