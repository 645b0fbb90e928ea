#include "tools/picture/canvas.h"

#include <algorithm>
#include <cmath>

namespace drybus::tools::picture {

bool overlap(const Box& a, const Box& b) {
  constexpr double touch = 0.01;  // px: what rounding makes of edges that meet
  return a.x + touch < b.right() && b.x + touch < a.right() && a.y + touch < b.bottom() &&
         b.y + touch < a.bottom();
}

Box box_of(const Label& label) {
  const double width = text_width(label.text, label.style);
  const double left = label.anchor == Anchor::start    ? label.at.x
                      : label.anchor == Anchor::middle ? label.at.x - width / 2
                                                       : label.at.x - width;
  return {left, label.at.y - text_ascent * label.style.size, width,
          (text_ascent + text_descent) * label.style.size};
}

Canvas::Canvas(double width, double margin) : margin_(margin) {
  picture_.width = width;
}

bool Canvas::is_free(const Box& box) const {
  if (box.x < margin_ || box.right() > picture_.width - margin_ || box.y < 0) return false;
  const auto last = taken_.upper_bound(static_cast<int>(std::floor(box.bottom() / band_height)));
  for (auto band = taken_.lower_bound(static_cast<int>(std::floor(box.y / band_height))); band != last;
       ++band) {
    for (const Box& taken : band->second) {
      if (overlap(taken, box)) return false;
    }
  }
  return true;
}

void Canvas::reserve(const Box& box) {
  const int last = static_cast<int>(std::floor(box.bottom() / band_height));
  for (int band = static_cast<int>(std::floor(box.y / band_height)); band <= last; ++band)
    taken_[band].push_back(box);
}

bool Canvas::write_if_free(const Label& label) {
  const Box box = box_of(label);
  if (!is_free(box)) return false;
  reserve(box);
  picture_.labels.push_back(label);
  return true;
}

void Canvas::write(const Label& label) {
  if (!label.text.empty() && !write_if_free(label)) picture_.left_out.push_back(label.text);
}

}  // namespace drybus::tools::picture
