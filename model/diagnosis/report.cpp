#include "model/diagnosis/report.h"

#include "model/diagnosis/unchanged.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

std::string describe(const Site& site, const Seen& seen) {
  const std::string& name = site.name(seen.device);
  if (seen.fact == Fact::indicator) {
    if (seen.what == "dark") return tr("{}'s lamp is dark", name);
    if (seen.what == "steady") return tr("{}'s lamp is steady", name);
    return tr("{}'s lamp shows {}", name, in_words_spoken(seen.what));
  }
  if (seen.what == "lit") return tr("{}'s load is lit", name);
  if (seen.what == "dark") return tr("{}'s load is dark", name);
  if (seen.what == as_it_was) return tr("{}'s load stays as it was", name);
  return tr("{}'s load is at {}", name, with_decimal_mark(seen.what));
}

}  // namespace drybus::model
