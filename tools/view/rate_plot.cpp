#include "tools/view/rate_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/words/words.h"
#include "tools/base/wrap.h"
#include "tools/base/xml.h"

namespace drybus::tools {

namespace {

constexpr double width = 1280, height = 720, left = 140, right = 300, bottom = 90;
constexpr double remark_height = 24;
constexpr std::size_t remark_columns = 112;  ///< characters that fit the width at 18 px

/// Okabe and Ito's palette for colour-blind readers, the darker ones.
constexpr std::array<std::string_view, most_rate_series> inks = {"#0072b2", "#d55e00", "#006b4f",
                                                                 "#8f3b76", "#000000", "#7a5c00"};
constexpr std::array<std::string_view, most_rate_series> dashes = {"none",     "10 5", "3 4",
                                                                   "14 4 3 4", "1 6",  "20 6"};
static_assert(!inks.back().empty() && !dashes.back().empty(), "one for each series that a plot can have");

class Plot {
 public:
  Plot(const RatePlot& around, const std::vector<RateSeries>& series)
      : around_(around),
        series_(series),
        x_low_(series[0].points.front().x),
        x_high_(series[0].points.back().x) {
    for (const RateSeries& each : series) {
      for (const RatePoint& point : each.points) y_high_ = std::max(y_high_, point.high);
    }
    y_high_ = round_up(y_high_);
    for (const std::string& remark : around.remarks) {
      for (const std::string& line : wrapped(remark, remark_columns)) remarks_.push_back(line);
    }
    top_ = 66 + remark_height * static_cast<double>(remarks_.size()) + 14;
  }

  [[nodiscard]] std::string draw() const {
    std::string svg = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" "
        "font-family=\"DejaVu Sans, sans-serif\" font-size=\"20\">\n<rect width=\"{0}\" height=\"{1}\" "
        "fill=\"#ffffff\"/>\n",
        width, height);
    svg += fmt::format("<text x=\"40\" y=\"44\" font-size=\"26\" font-weight=\"bold\">{}</text>\n",
                       xml_escaped(around_.title));
    for (std::size_t i = 0; i < remarks_.size(); ++i) {
      svg += fmt::format("<text x=\"40\" y=\"{}\" font-size=\"18\">{}</text>\n",
                         74 + remark_height * static_cast<double>(i), xml_escaped(remarks_[i]));
    }
    svg += axes();
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
    return height - bottom - rate / y_high_ * (height - top_ - bottom);
  }

  [[nodiscard]] std::string axes() const {
    std::string svg;
    for (int i = 0; i <= 5; ++i) {
      const double rate = y_high_ * i / 5;
      svg += fmt::format(
          "<line x1=\"{0}\" x2=\"{1}\" y1=\"{2:.1f}\" y2=\"{2:.1f}\" stroke=\"#c0c0c0\"/>"
          "<text x=\"{3}\" y=\"{4:.1f}\" text-anchor=\"end\">{5} %</text>\n",
          left, width - right, y_of(rate), left - 12, y_of(rate) + 7,
          model::with_decimal_mark(fmt::format("{:.3g}", rate * 100)));
    }
    const std::size_t every = std::max<std::size_t>(1, series_[0].points.size() / 8);
    for (std::size_t i = 0; i < series_[0].points.size(); i += every) {
      const double x = series_[0].points[i].x;
      svg += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n", x_of(x),
                         height - bottom + 32, model::with_decimal_mark(fmt::format("{:.4g}", x)));
    }
    svg += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{}</text>\n",
                       (left + width - right) / 2, height - 24, xml_escaped(around_.x_label));
    // Upright beside the axis, as long as that is at most.
    const double middle = (top_ + height - bottom) / 2;
    const auto lines = wrapped(around_.y_label, 44);
    for (std::size_t i = 0; i < lines.size(); ++i) {
      svg += fmt::format(
          "<text transform=\"translate({} {}) rotate(-90)\" text-anchor=\"middle\" "
          "font-size=\"18\">{}</text>\n",
          26 + 22 * i, middle, xml_escaped(lines[i]));
    }
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
    const double legend = top_ + 20 + 34.0 * static_cast<double>(index);
    const double at = width - right + 30;
    return fmt::format(
        "<g stroke=\"{0}\" stroke-width=\"2.5\" fill=\"none\"><path d=\"{1}\" "
        "stroke-dasharray=\"{2}\"/><path d=\"M{8:.1f} {9:.1f}h44\" stroke-dasharray=\"{2}\"/>{3}{4}</g>"
        "<text x=\"{5}\" y=\"{6}\">{7}</text>\n",
        inks[index], path, dashes[index], marks, marker(index, at, legend), at + 30, legend + 7,
        xml_escaped(series.name), at - 22, legend);
  }

  static std::string marker(std::size_t index, double x, double y) {
    if (index % 3 == 0)
      return fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"6\" fill=\"#ffffff\"/>", x, y);
    if (index % 3 == 1)
      return fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"11\" height=\"11\" fill=\"#ffffff\"/>",
                         x - 5.5, y - 5.5);
    return fmt::format("<path d=\"M{:.1f} {:.1f} l7 12 h-14 z\" fill=\"#ffffff\"/>", x, y - 7);
  }

  const RatePlot& around_;
  const std::vector<RateSeries>& series_;
  std::vector<std::string> remarks_;  ///< line by line
  double x_low_, x_high_;
  double y_high_ = 0;
  double top_ = 0;  ///< of the plot
};

}  // namespace

std::string rate_plot(const RatePlot& plot, const std::vector<RateSeries>& series) {
  return Plot{plot, series}.draw();
}

}  // namespace drybus::tools
