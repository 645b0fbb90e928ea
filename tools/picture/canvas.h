// A picture being drawn: labels find out whether there is room for them.
#pragma once

#include <map>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// Keeps a picture's labels apart. Labels ask for room in the order in which they matter.
class Canvas {
 public:
  /// Labels stay `margin` inside the page's left and right edges.
  Canvas(double width, double margin);

  void draw(Mark mark) { picture_.marks.push_back(std::move(mark)); }
  void draw(Layer layer, Look look, const Box& box, Shown shown = Shown::always) {
    draw({layer, shown, {{look, box, {}}}, {}});
  }
  void draw(Layer layer, Look look, std::string path, Shown shown = Shown::always) {
    draw({layer, shown, {{look, {}, std::move(path)}}, {}});
  }

  /// Writes the label where there is room; says whether there was.
  bool write_if_free(const Label& label);

  /// Writes a label that was promised room. Where there is none after all it is left out and counted.
  void write(const Label& label);

  /// Keeps later labels out of a box.
  void reserve(const Box& box);

  [[nodiscard]] bool is_free(const Box& box) const;
  [[nodiscard]] double width() const { return picture_.width; }
  [[nodiscard]] double margin() const { return margin_; }
  Picture& picture() { return picture_; }

 private:
  static constexpr double band_height = 32;  ///< boxes are kept by the bands that they touch

  Picture picture_;
  double margin_;
  std::map<int, std::vector<Box>> taken_;
};

}  // namespace drybus::tools::picture
