#include "tools/picture/page.h"

#include <algorithm>
#include <array>

#include "tools/picture/sheet_drawer.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

/// A layout of one page: so much wider are its coordinates than it is shown, and whether its lanes are low.
struct Density {
  double wider = 1;
  bool compact = false;
};

/// Letters are tried from large to small. A quarter smaller they can still be read from the last row on a screen of 1080
/// lines, and by anybody on paper: the smallest are two and a half millimetres. Rather than turn a page in the middle of
/// a story they may be a little smaller still.
constexpr std::array densities = {Density{1, false}, Density{1, true}, Density{1.125, true},
                                  Density{1.25, true}, Density{1.4, true}};
constexpr double smallest_unless_all_else_fails = 1.25;
constexpr std::size_t hopeless_rows = 8;
constexpr double hopeless = 2.5;  ///< what is so much higher than its page fits at no density

PictureOptions dense(const PictureOptions& options, const Density& density) {
  PictureOptions wider = options;
  wider.width *= density.wider;
  wider.compact = density.compact;
  return wider;
}

/// Shown no higher than the page, and as wide as was asked where that can be.
Picture shown(Picture picture, double width, double height) {
  picture.shown_width = std::min(width, height * picture.width / picture.height);
  return picture;
}

}  // namespace

double page_height(PageShape shape, double width) {
  constexpr double least = 720;
  switch (shape) {
    case PageShape::screen:
      return std::max(least, width * 9 / 16);
    case PageShape::a4:  // 297 mm x 210 mm
      return std::max(least, width * 190 / 277);
    case PageShape::letter:  // 279 mm x 216 mm
      return std::max(least, width * 196 / 259);
  }
  return least;
}

Picture draw_picture(const Scenario& scenario, const RunResult& result, const Timeline& timeline,
                     const PictureOptions& options) {
  const Timeline seen = options.hide_hidden && !timeline.only_seen ? seen_on_site(timeline) : timeline;
  const Source source{scenario, result.record, seen};
  return SheetDrawer{source, result, options}.whole();
}

std::vector<Picture> draw_chapters(const Scenario& scenario, const RunResult& result,
                                   const Timeline& timeline, const PictureOptions& options) {
  const PageShape shape = options.page.value_or(PageShape::screen);
  const double height = page_height(shape, options.width);
  const double paper = options.page ? height : page_height(PageShape::a4, options.width);
  const Timeline seen = options.hide_hidden && !timeline.only_seen ? seen_on_site(timeline) : timeline;
  const Source source{scenario, result.record, seen};
  std::optional<Picture> on_paper;
  for (const Density& density : densities) {
    if (density.wider > smallest_unless_all_else_fails && on_paper) break;
    const PictureOptions tried = dense(options, density);
    SheetDrawer drawer{source, result, tried};
    if (drawer.rows() > hopeless_rows) break;
    Picture picture = drawer.whole();
    if (picture.height > hopeless * height * density.wider) break;
    if (picture.height <= height * density.wider) return {shown(std::move(picture), options.width, height)};
    if (!on_paper && picture.height <= paper * density.wider) on_paper = std::move(picture);
  }
  if (on_paper) return {shown(std::move(*on_paper), options.width, paper)};

  const PictureOptions low = dense(options, {1, true});
  std::vector<Picture> chapters = SheetDrawer{source, result, low}.chapters(height);
  for (Picture& chapter : chapters) chapter = shown(std::move(chapter), options.width, height);
  return chapters;
}

}  // namespace drybus::tools::picture
