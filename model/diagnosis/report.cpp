#include "model/diagnosis/report.h"

#include <fmt/format.h>

#include "model/diagnosis/unchanged.h"
#include "model/record/describe.h"

namespace drybus::model {

std::string describe(const Site& site, const Seen& seen) {
  const std::string& name = site.name(seen.device);
  if (seen.fact == Fact::indicator) {
    if (seen.what == "dark") return fmt::format("{}'s lamp is dark", name);
    if (seen.what == "steady") return fmt::format("{}'s lamp is steady", name);
    return fmt::format("{}'s lamp shows {}", name, seen.what);
  }
  if (seen.what == "lit" || seen.what == "dark") return fmt::format("{}'s load is {}", name, seen.what);
  if (seen.what == as_it_was) return fmt::format("{}'s load stays as it was", name);
  return fmt::format("{}'s load is at {}", name, seen.what);
}

}  // namespace drybus::model
