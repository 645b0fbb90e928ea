#include "tools/view/rate_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "tools/base/xml.h"

namespace drybus::tools {

namespace {

constexpr double width = 1280, height = 720, left = 110, right = 330, top = 80, bottom = 90;

/// Okabe and Ito's palette for colour-blind readers, the darker ones.
constexpr std::array<std::string_view, most_rate_series> inks = {"#0072b2", "#d55e00", "#006b4f",
                                                                 "#8f3b76", "#000000", "#7a5c00"};
constexpr std::array<std::string_view, most_rate_series> dashes = {"none",     "10 5", "3 4",
                                                                   "14 4 3 4", "1 6",  "20 6"};
static_assert(!inks.back().empty() && !dashes.back().empty(), "one for each series that a plot can have");

class Plot {
 public:
  explicit Plot(const std::vector<RateSeries>& series)
      : series_(series), x_low_(series[0].points.front().x), x_high_(series[0].points.back().x) {
    for (const RateSeries& each : series) {
      for (const RatePoint& point : each.points) y_high_ = std::max(y_high_, point.high);
    }
    y_high_ = round_up(y_high_);
  }

  std::string draw(const std::string& title, const std::string& x_label) const {
    std::string svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" "
        "font-family=\"DejaVu Sans, sans-serif\" font-size=\"20\">\n<rect width=\"{0}\" height=\"{1}\" "
        "fill=\"#ffffff\"/>\n",
        width, height);
    svg += fmt::format("<text x=\"{}\" y=\"44\" font-size=\"26\" font-weight=\"bold\">{}</text>\n", left,
                       xml_escaped(title));
    svg += axes(x_label);
    for (std::size_t i = 0; i < series_.size(); ++i) svg += curve(i);
    return svg + "</svg>\n";
  }

 private:
  /// 1, 2 or 5 times a power of ten.
  static double round_up(double value) {
    if (value <= 0) return 0.01;
    const double unit = std::pow(10, std::floor(std::log10(value)));
    for (const double step : {1.0, 2.0, 5.0, 10.0}) {
      if (value <= step * unit) return std::min(1.0, step * unit);
    }
    return 1;
  }

  [[nodiscard]] double x_of(double x) const {
    const double share = x_high_ > x_low_ ? (x - x_low_) / (x_high_ - x_low_) : 0.5;
    return left + share * (width - left - right);
  }
  [[nodiscard]] double y_of(double rate) const {
    return height - bottom - rate / y_high_ * (height - top - bottom);
  }

  [[nodiscard]] std::string axes(const std::string& x_label) const {
    std::string svg;
    for (int i = 0; i <= 5; ++i) {
      const double rate = y_high_ * i / 5;
      svg += fmt::format(
          "<line x1=\"{0}\" x2=\"{1}\" y1=\"{2:.1f}\" y2=\"{2:.1f}\" stroke=\"#c0c0c0\"/>"
          "<text x=\"{3}\" y=\"{4:.1f}\" text-anchor=\"end\">{5:.3g} %</text>\n",
          left, width - right, y_of(rate), left - 12, y_of(rate) + 7, rate * 100);
    }
    const std::size_t every = std::max<std::size_t>(1, series_[0].points.size() / 8);
    for (std::size_t i = 0; i < series_[0].points.size(); i += every) {
      const double x = series_[0].points[i].x;
      svg += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"middle\">{:.4g}</text>\n", x_of(x),
                         height - bottom + 32, x);
    }
    svg += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n",
                       (left + width - right) / 2, height - 24, xml_escaped(x_label));
    return svg;
  }

  [[nodiscard]] std::string curve(std::size_t index) const {
    const RateSeries& series = series_[index];
    std::string path, marks;
    for (const RatePoint& point : series.points) {
      const double x = x_of(point.x) + 3.0 * static_cast<double>(index);
      path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : " L", x, y_of(point.rate));
      marks += fmt::format("<line x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" y2=\"{2:.1f}\"/>", x,
                           y_of(point.low), y_of(point.high));
      marks += marker(index, x, y_of(point.rate));
    }
    const double legend = top + 20 + 34.0 * static_cast<double>(index);
    const double at = width - right + 30;
    return fmt::format(
        "<g stroke=\"{0}\" stroke-width=\"2.5\" fill=\"none\"><path d=\"{1}\" "
        "stroke-dasharray=\"{2}\"/>{3}{4}</g>"
        "<text x=\"{5}\" y=\"{6}\">{7}</text>\n",
        inks[index], path, dashes[index], marks, marker(index, at, legend), at + 18, legend + 7,
        xml_escaped(series.name));
  }

  static std::string marker(std::size_t index, double x, double y) {
    if (index % 3 == 0)
      return fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"6\" fill=\"#ffffff\"/>", x, y);
    if (index % 3 == 1)
      return fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"11\" height=\"11\" fill=\"#ffffff\"/>",
                         x - 5.5, y - 5.5);
    return fmt::format("<path d=\"M{:.1f} {:.1f} l7 12 h-14 z\" fill=\"#ffffff\"/>", x, y - 7);
  }

  const std::vector<RateSeries>& series_;
  double x_low_, x_high_;
  double y_high_ = 0;
};

}  // namespace

std::string rate_plot(const std::string& title, const std::string& x_label,
                      const std::vector<RateSeries>& series) {
  return Plot{series}.draw(title, x_label);
}

}  // namespace drybus::tools
