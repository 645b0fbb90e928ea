#include <array>

#include "tools/command.h"

namespace drybus::tools {

std::span<const Command> commands() {
  static constexpr std::array table = {
      Command{"run", "SCENARIO", "run it at once: the story, the checks, the findings", run_command},
      Command{"check", "PATH...", "run every scenario below the paths, a line each", check_command},
  };
  return table;
}

}  // namespace drybus::tools
