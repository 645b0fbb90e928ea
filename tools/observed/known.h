// A list of differences that are as they should be, each with its reason.
//
//     drybus-known: 1
//     known:
//       - reason: blips last 200 ms longer since 2.1
//         scenario: time-outs.yaml   # the end of its path; where left out, any
//         device: M1                 # any
//         was: indicator blip        # words that it holds; any
//         is: indicator dark
//         from: 3s                   # on the run's clock
//         to: 12min
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tools/observed/differences.h"

namespace drybus::tools {

struct KnownDifference {
  std::string reason;
  std::string scenario, device, was, is;  ///< empty: any
  std::optional<sim::Instant> from, to;
  std::string place;  ///< "known.yaml:4", for messages
};

/// Throws Unusable with all that is wrong with the file.
std::vector<KnownDifference> read_known(const std::filesystem::path& path);

/// Writes the reasons to those differences of a scenario that are on the list. The result says of each entry of the list
/// whether it was met.
std::vector<bool> mark_known(std::span<const KnownDifference> known, const std::string& scenario,
                             std::vector<Difference>& differences);

}  // namespace drybus::tools
