#include "tools/options/paper.h"

#include <fmt/format.h>

#include "tools/base/nearest.h"

namespace drybus::tools {

void offer_paper(CommandLine& line) {
  line.add()("paper", boost::program_options::value<std::string>()->default_value("a4"),
             "of the sheet: a4 or letter");
}

bool letter_paper(const CommandLine& line) {
  const std::string paper = line.text("paper");
  if (paper == "letter") return true;
  if (paper == "a4") return false;
  const std::vector<std::string> known{"a4", "letter"};
  throw Unusable{fmt::format("--paper {}: expected a4 or letter.{}", paper, did_you_mean(paper, known))};
}

}  // namespace drybus::tools
