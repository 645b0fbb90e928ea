// Which sources the program was built from.
#pragma once

#include <string_view>

namespace drybus::tools {

/// "3f2a91c04b7d (GNU 12.2.0, Release)": the beginning of a digest over all sources, and what compiled them. The same
/// sources have the same in any folder. Its body is made by tools/cmake/build_id.cmake.
std::string_view build_id();

}  // namespace drybus::tools
