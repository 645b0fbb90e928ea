// The record of a site: one file with what was planned, done, seen and signed. It is a site file whose plates are set and
// whose modules store their addresses, with a list of entries; so whatever reads a site reads it, and a report names it
// with `as built`.
#pragma once

#include <string>

#include "tools/commands/handover_answers.h"
#include "tools/view/handover_report.h"

namespace drybus::tools {

struct Signature {
  std::string by;  ///< as people sign; empty: nobody
  std::string on;  ///< the date as people write it; empty: none. The clock of this machine is not asked.
};

/// The record after a round. Entries that the site has already stay before the new one. `round` is the round's scenario.
std::string site_record(const HandoverReport& report, const RoundAnswers& answers, const Signature& signature,
                        const LoadedScenario& round, const WriteOptions& options);

/// What changed from one site or record to the next, a line each: devices that came, went, moved or were renamed;
/// switches, addresses and loads that are others; entries that the newer has and the older has not. Devices go by name;
/// one that is gone and one that has come in the same place with the same address are told as swapped.
std::string site_changes(const LoadedSite& before, const LoadedSite& after);

}  // namespace drybus::tools
