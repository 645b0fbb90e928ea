#include "model/diagnosis/capture_fit.h"

#include <algorithm>
#include <vector>

namespace drybus::model {

namespace {

/// A telegram that was captured and is not predicted, or the other way about: the capture may have missed it.
constexpr double log_uncaptured = -6.9;

}  // namespace

/// By the fewest telegrams that have to be left out on either side (the edit distance without replacements, whose
/// complement is the longest common subsequence). In part, those left out of `sent` at either end are free.
double capture_fit(const Report& report, std::span<const Telegram> sent) {
  const auto& captured = report.capture;
  std::vector<std::uint32_t> apart(captured.size() + 1);
  for (std::size_t i = 0; i < apart.size(); ++i) apart[i] = static_cast<std::uint32_t>(i);
  std::uint32_t best = apart.back();
  for (const Telegram& telegram : sent) {
    std::uint32_t diagonal = apart[0];
    if (!report.capture_in_part) ++apart[0];
    for (std::size_t i = 1; i < apart.size(); ++i) {
      const std::uint32_t above = apart[i];
      apart[i] = captured[i - 1].telegram == telegram ? diagonal : 1 + std::min(above, apart[i - 1]);
      diagonal = above;
    }
    best = std::min(best, apart.back());
  }
  return log_uncaptured * (report.capture_in_part ? best : apart.back());
}

}  // namespace drybus::model
