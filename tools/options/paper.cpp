#include "tools/options/paper.h"

#include "model/words/words.h"
#include "tools/base/nearest.h"

namespace drybus::tools {

using model::msg;
using model::tr;

void offer_paper(CommandLine& line) {
  line.add()("paper", boost::program_options::value<std::string>()->default_value("a4"),
             msg("of the sheet: a4 or letter").data());
}

bool letter_paper(const CommandLine& line) {
  const std::string paper = line.text("paper");
  if (paper == "letter") return true;
  if (paper == "a4") return false;
  const std::vector<std::string> known{"a4", "letter"};
  throw Unusable{tr("--paper {}: expected a4 or letter.{}", paper, did_you_mean(paper, known))};
}

}  // namespace drybus::tools
