// The small shapes of which pictures are made, as SVG paths.
#pragma once

#include <span>
#include <string>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// A number as it is written into a path: one decimal at most.
std::string number_text(double value);

std::string line_path(Point from, Point to);
std::string polygon_path(std::span<const Point> points);
std::string polyline_path(std::span<const Point> points);
std::string circle_path(Point centre, double radius);
/// A circle drawn out to a width; half_width >= radius.
std::string pill_path(Point centre, double half_width, double radius);
/// Filled, its tip at `tip`, pointing down or up.
std::string arrow_path(Point tip, bool down, double size);
/// A line with a small filled head at its tip, level.
std::string pointer_path(Point from, Point tip);
std::string cross_path(Point centre, double radius);
std::string tick_path(Point centre, double radius);
/// An upright zigzag.
std::string zigzag_path(double x, double top, double bottom);
/// A level zigzag line within a box: a telegram that was broken.
std::string jagged_path(const Box& box);
std::string hourglass_path(Point centre, double radius);
std::string eye_path(Point centre);
std::string pupil_path(Point centre);
std::string closed_eye_path(Point centre);

}  // namespace drybus::tools::picture
