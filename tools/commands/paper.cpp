#include "tools/commands/paper.h"

#include <fmt/format.h>

namespace drybus::tools {

bool letter_paper(const CommandLine& line) {
  const std::string paper = line.text("paper");
  if (paper != "a4" && paper != "letter")
    throw Unusable{fmt::format("--paper {}: expected a4 or letter", paper)};
  return paper == "letter";
}

}  // namespace drybus::tools
