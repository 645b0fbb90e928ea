// The commands of the program, and what they share.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "tools/options/command_line.h"

namespace drybus::tools {

struct Command {
  std::string_view name;
  std::string_view usage;    ///< what follows the name
  std::string_view summary;  ///< one line, in English: told by in_words_spoken
  int (*run)(Arguments arguments);
  std::string_view parts = {};  ///< first words that have options of their own, with blanks between
};

/// All commands, in the order in which help lists them.
std::span<const Command> commands();

/// Commands for programs: completions ask them, builds run them. In no list that people read.
std::span<const Command> hidden_commands();

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
int call_command(Arguments arguments);
int diagnose_command(Arguments arguments);
int plan_command(Arguments arguments);
int recover_command(Arguments arguments);
int family_command(Arguments arguments);
int switches_command(Arguments arguments);
int building_command(Arguments arguments);

}  // namespace drybus::tools
