#include "model/record/family_names.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <vector>

#include "model/words/words.h"

namespace drybus::model {

std::string family_names(const Site& site) {
  std::vector<std::string> names;
  site.each_family([&](const Family& family) { names.push_back(family.name); });
  const std::string last = names.back();
  names.pop_back();
  return names.empty() ? last : tr("{} and {}", fmt::format("{}", fmt::join(names, ", ")), last);
}

}  // namespace drybus::model
