#include "tools/options/patience.h"

#include <fmt/format.h>

#include "tools/base/output.h"

namespace drybus::tools {

namespace po = boost::program_options;

void offer_patience(CommandLine& line) {
  line.add()("within", po::value<std::string>(),
             "what is the same so little apart in time is no difference, such as 20ms");
  line.add()("known", po::value<std::string>(), "a list of differences that are as they should be, with reasons");
}

Patience read_patience(const CommandLine& line) {
  Patience patience;
  if (line.has("within")) patience.within = line.duration("within");
  if (line.has("known")) patience.known = read_known(line.text("known"));
  return patience;
}

void tell_unmet(const std::vector<KnownDifference>& known, const std::vector<bool>& met) {
  for (std::size_t i = 0; i < known.size(); ++i) {
    if (!met[i])
      print_err(fmt::format("{}: nothing of it was met: {}\n", known[i].place, known[i].reason));
  }
}

}  // namespace drybus::tools
