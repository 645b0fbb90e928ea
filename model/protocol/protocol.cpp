#include "model/protocol/protocol.h"

#include <algorithm>

namespace drybus::protocol {

bool Run::passed() const {
  return broken_off.empty() &&
         std::all_of(checks.begin(), checks.end(), [](const CheckOutcome& c) { return c.passed; });
}

std::vector<sim::EntryId> chain(const sim::Record& record, sim::EntryId from) {
  std::vector<sim::EntryId> entries;
  for (sim::EntryId at = from; at != sim::no_entry; at = record[at].cause) entries.push_back(at);
  return entries;
}

}  // namespace drybus::protocol
