// How a command ends, and why it may not begin.
#pragma once

#include <stdexcept>

namespace drybus::tools {

/// Exit codes, the same everywhere.
inline constexpr int exit_fine = 0;
inline constexpr int exit_failed = 1;    ///< an expectation failed, or what must not be was found
inline constexpr int exit_unusable = 2;  ///< the input or the usage is wrong

/// Bad usage, bad input or an output that cannot be written: main prints it on stderr and exits with 2.
class Unusable : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

}  // namespace drybus::tools
