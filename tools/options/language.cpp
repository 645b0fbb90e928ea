#include "tools/options/language.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "tools/base/nearest.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace po = boost::program_options;

void offer_language(CommandLine& line, std::string_view help) {
  const std::string all = fmt::format("{}", fmt::join(languages(), " or "));
  line.add()("language", po::value<std::string>(), fmt::format(fmt::runtime(help), all).c_str());
}

std::optional<std::string> read_language(const CommandLine& line) {
  const auto wanted = line.optional_text("language");
  if (!wanted) return std::nullopt;
  const std::vector<std::string> known = languages();
  if (std::find(known.begin(), known.end(), *wanted) != known.end()) return wanted;
  throw Unusable{
      fmt::format("--language: unknown language '{}'; expected {}", *wanted, fmt::join(known, " or "))};
}

}  // namespace drybus::tools
