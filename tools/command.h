// The commands of the program, and what they share.
#pragma once

#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

/// Exit codes, the same everywhere.
inline constexpr int exit_fine = 0;
inline constexpr int exit_failed = 1;    ///< an expectation failed, or what must not be was found
inline constexpr int exit_unusable = 2;  ///< the input or the usage is wrong

using Arguments = std::span<const std::string>;

struct Command {
  std::string_view name;
  std::string_view usage;    ///< what follows the name
  std::string_view summary;  ///< one line
  int (*run)(Arguments arguments);
};

/// All commands, in the order in which help lists them.
std::span<const Command> commands();

/// Bad usage, bad input or an output that cannot be written: main prints it on stderr and exits with 2.
class Unusable : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

int run_command(Arguments arguments);
int check_command(Arguments arguments);
int hunt_command(Arguments arguments);
int sweep_command(Arguments arguments);
int shrink_command(Arguments arguments);
int why_command(Arguments arguments);
int draw_command(Arguments arguments);
int diff_command(Arguments arguments);
int panel_command(Arguments arguments);
int compare_command(Arguments arguments);
int diagnose_command(Arguments arguments);
int plan_command(Arguments arguments);
int recover_command(Arguments arguments);
int switches_command(Arguments arguments);
int building_command(Arguments arguments);

}  // namespace drybus::tools
