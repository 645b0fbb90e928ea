// The whole page: title, rows, what was out of step in sentences, remarks, legend. What does not fit one is told in chapters.
#pragma once

#include <vector>

#include "tools/picture/picture.h"
#include "tools/picture/plan.h"

namespace drybus::tools::picture {

/// Everything in one picture, as high as it takes.
/// REQUIRES: options.from <= timeline.end, options.from <= options.to, options.width >= least_width.
Picture draw_picture(const model::Scenario& scenario, const model::RunResult& result,
                     const Timeline& timeline, const PictureOptions& options);

/// The picture in as few chapters as it takes, each to be shown options.width wide and no higher than its page: in one with
/// the largest letters that fit, at most three tenths smaller; else one after another, by time, and by rooms where a
/// moment has more lanes than a page. REQUIRES: as draw_picture.
std::vector<Picture> draw_chapters(const model::Scenario& scenario, const model::RunResult& result,
                                   const Timeline& timeline, const PictureOptions& options);

/// How high a page of this shape is that is so wide, px. Narrow ones are higher than their shape: they are for columns.
double page_height(PageShape shape, double width);

/// Below this there is no room beside the names, above it nobody has a screen or a sheet. px.
inline constexpr double least_width = 800;
inline constexpr double greatest_width = 10'000;

}  // namespace drybus::tools::picture
