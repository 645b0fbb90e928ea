#include "tools/commands/on_the_line.h"

#include <unistd.h>

#include <iostream>

#include "tools/base/output.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

std::optional<std::string> OnTheLine::answer(const std::string& question) {
  // Nobody at a terminal is left to wait for a question that is not printed.
  if (quiet_ && ::isatty(STDIN_FILENO) != 0) return std::nullopt;
  if (!quiet_) print_out(question + "> ");
  std::string line;
  if (!std::getline(std::cin, line)) {
    if (!quiet_) print_out("\n");
    return std::nullopt;
  }
  // What is typed shows by itself.
  if (!quiet_ && ::isatty(STDIN_FILENO) == 0) print_out(harmless(line) + "\n");
  return line;
}

bool OnTheLine::again(const std::string& complaint) {
  if (!quiet_) print_out(complaint + "\n");
  return true;
}

void OnTheLine::tell(const std::string& text) {
  if (!quiet_) print_out(text);
}

}  // namespace drybus::tools
