// What may have been a cause, and what would have been otherwise without it. Only a run can tell whether it was one.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/people/change.h"

namespace drybus::model {

/// One way of taking a cause away.
struct Way {
  Changes changes;
  std::string otherwise;  ///< "had M2's time-out not run out"
};

struct Lead {
  std::uint32_t group =
      0;  ///< leads of one group make one explanation; a later group is another, less likely one
  sim::Instant at{};
  std::string text;  ///< stands alone, without its time: "M2's setup timed out, 150 s after ..."
  std::string
      clause;  ///< as part of the answer, with its time and step; empty when the answer can do without
  std::optional<StepRef> step;
  std::vector<Way> ways;  ///< the least change first
  bool deeper = false;    ///< it explains the lead before it, rather than standing beside it
};

using Leads = std::vector<Lead>;

}  // namespace drybus::model
