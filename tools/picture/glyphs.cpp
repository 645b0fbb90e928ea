#include "tools/picture/glyphs.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace drybus::tools::picture {

namespace {

std::string point_text(Point point) {
  return number_text(point.x) + " " + number_text(point.y);
}

}  // namespace

std::string number_text(double value) {
  const double tenths = std::round(value * 10);
  if (std::fmod(tenths, 10) == 0) return fmt::format("{:.0f}", tenths / 10 + 0.0);
  return fmt::format("{:.1f}", tenths / 10);
}

std::string line_path(Point from, Point to) {
  return "M" + point_text(from) + "L" + point_text(to);
}

std::string polyline_path(std::span<const Point> points) {
  std::string path;
  for (const Point& point : points) path += (path.empty() ? "M" : "L") + point_text(point);
  return path;
}

std::string polygon_path(std::span<const Point> points) {
  return polyline_path(points) + "Z";
}

std::string pill_path(Point centre, double half_width, double radius) {
  // A quarter of a circle as a cubic: not every program draws small arcs round.
  const double k = radius * 0.5523;
  const auto point = [](double x, double y) { return number_text(x) + " " + number_text(y); };
  const double straight = 2 * (half_width - radius);
  return "M" + point_text({centre.x - half_width, centre.y}) + "c" + point(0, -k) + " " +
         point(radius - k, -radius) + " " + point(radius, -radius) +
         (straight > 0 ? "h" + number_text(straight) : "") + "c" + point(k, 0) + " " +
         point(radius, radius - k) + " " + point(radius, radius) + "c" + point(0, k) + " " +
         point(k - radius, radius) + " " + point(-radius, radius) +
         (straight > 0 ? "h" + number_text(-straight) : "") + "c" + point(-k, 0) + " " +
         point(-radius, k - radius) + " " + point(-radius, -radius) + "Z";
}

std::string circle_path(Point centre, double radius) {
  return pill_path(centre, radius, radius);
}

std::string arrow_path(Point tip, bool down, double size) {
  const double back = down ? -size : size;
  const Point points[] = {tip, {tip.x - size * 0.62, tip.y + back}, {tip.x + size * 0.62, tip.y + back}};
  return polygon_path(points);
}

std::string pointer_path(Point from, Point tip) {
  const double back = tip.x < from.x ? 6 : -6;
  const Point head[] = {tip, {tip.x + back, tip.y - 3}, {tip.x + back, tip.y + 3}};
  return line_path(from, tip) + polygon_path(head);
}

std::string cross_path(Point centre, double radius) {
  return line_path({centre.x - radius, centre.y - radius}, {centre.x + radius, centre.y + radius}) +
         line_path({centre.x - radius, centre.y + radius}, {centre.x + radius, centre.y - radius});
}

std::string tick_path(Point centre, double radius) {
  const Point points[] = {{centre.x - radius, centre.y},
                          {centre.x - radius * 0.2, centre.y + radius * 0.8},
                          {centre.x + radius, centre.y - radius}};
  return polyline_path(points);
}

std::string zigzag_path(double x, double top, double bottom) {
  constexpr double step = 7;
  constexpr double swing = 3;
  std::string path = "M" + point_text({x - swing, top});
  double y = top;
  bool right = true;
  while (y < bottom) {
    y = std::min(y + step, bottom);
    path += "L" + point_text({right ? x + swing : x - swing, y});
    right = !right;
  }
  return path;
}

std::string jagged_path(const Box& box) {
  const double teeth = std::max(2.0, std::floor(box.width / 5));
  std::string path = "M" + point_text({box.x, box.bottom()});
  for (int i = 1; i <= static_cast<int>(teeth); ++i) {
    const double middle = box.x + box.width * (i - 0.5) / teeth;
    path +=
        "L" + point_text({middle, box.y}) + "L" + point_text({box.x + box.width * i / teeth, box.bottom()});
  }
  return path + "Z";
}

std::string hourglass_path(Point c, double r) {
  const Point points[] = {{c.x - r * 0.75, c.y - r},
                          {c.x + r * 0.75, c.y - r},
                          {c.x - r * 0.75, c.y + r},
                          {c.x + r * 0.75, c.y + r}};
  return polygon_path(points);
}

std::string eye_path(Point c) {
  return fmt::format("M{} {}q9 -9 18 0q-9 9 -18 0Z", number_text(c.x - 9), number_text(c.y));
}

std::string pupil_path(Point c) {
  return circle_path(c, 2.6);
}

std::string closed_eye_path(Point c) {
  return fmt::format("M{} {}q9 8 18 0", number_text(c.x - 9), number_text(c.y - 3)) +
         line_path({c.x - 6, c.y - 0.5}, {c.x - 8, c.y + 3.5}) + line_path({c.x, c.y + 1}, {c.x, c.y + 5.5}) +
         line_path({c.x + 6, c.y - 0.5}, {c.x + 8, c.y + 3.5});
}

}  // namespace drybus::tools::picture
