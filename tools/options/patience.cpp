#include "tools/options/patience.h"

#include "model/words/words.h"
#include "tools/base/output.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::msg;
using model::tr;

void offer_patience(CommandLine& line) {
  line.add()("within", po::value<std::string>(),
             msg("what is the same so little apart in time is no difference, such as 20ms").data());
  line.add()("known", po::value<std::string>(),
             msg("a list of differences that are as they should be, with reasons").data());
}

Patience read_patience(const CommandLine& line) {
  Patience patience;
  if (line.has("within")) patience.within = line.duration("within");
  if (line.has("known")) patience.known = read_known(line.text("known"));
  return patience;
}

void tell_unmet(const std::vector<KnownDifference>& known, const std::vector<bool>& met) {
  for (std::size_t i = 0; i < known.size(); ++i) {
    if (!met[i]) print_err(tr("{}: nothing of it was met: {}", known[i].place, known[i].reason) + "\n");
  }
}

}  // namespace drybus::tools
