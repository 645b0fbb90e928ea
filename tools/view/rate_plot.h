// Rates with their intervals against a parameter, as SVG.
#pragma once

#include <string>
#include <vector>

namespace drybus::tools {

struct RatePoint {
  double x = 0;
  double rate = 0;  ///< 0 to 1
  double low = 0;
  double high = 0;
};

struct RateSeries {
  std::string name;
  std::vector<RatePoint> points;
};

inline constexpr std::size_t most_rate_series = 6;

/// What stands around the curves.
struct RatePlot {
  std::string title;
  std::string x_label;
  std::string y_label;
  std::vector<std::string> remarks;  ///< sentences below the title
};

/// At most that many series; each has a marker and a dash of its own, so that it needs no colour.
std::string rate_plot(const RatePlot& plot, const std::vector<RateSeries>& series);

}  // namespace drybus::tools
