// The whole page: title, rows, what was out of step in sentences, remarks, legend.
#pragma once

#include "tools/picture/picture.h"
#include "tools/picture/plan.h"

namespace drybus::tools::picture {

/// REQUIRES: options.from <= timeline.end, options.from <= options.to, options.width >= least_width.
Picture draw_picture(const model::Scenario& scenario, const model::RunResult& result,
                     const Timeline& timeline, const PictureOptions& options);

/// Below this there is no room beside the names, above it nobody has a screen or a sheet. px.
inline constexpr double least_width = 800;
inline constexpr double greatest_width = 10'000;

}  // namespace drybus::tools::picture
