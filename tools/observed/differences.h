// Two runs held against one another in what could be seen and heard: device by device, with some patience in time.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tools/observed/seen.h"

namespace drybus::tools {

/// What one device showed or sent in one of the runs and not in the other, or showed at another time.
struct Difference {
  std::optional<Seen> was;  ///< in the first run
  std::optional<Seen> is;   ///< in the second; at least one of the two is there
  std::string known;        ///< why it is as it should be; empty: nobody said

  [[nodiscard]] const Seen& either() const { return was ? *was : *is; }
  /// When the runs part here: the earlier of the two.
  [[nodiscard]] sim::Instant at() const;
};

/// In order of time. What is the same thing at most `within` apart is no difference. What one device does after another
/// does not count, only what each does.
std::vector<Difference> differences(std::span<const Seen> before, std::span<const Seen> now,
                                    sim::Duration within = {});

/// "M3: at 0:12.3 it was indicator blip, and is indicator breathe", with times as exact as it takes to tell the two apart.
std::string to_text(const Difference& difference);

}  // namespace drybus::tools
