// What the shapes of a picture mean, for those that occur in it.
#pragma once

#include <set>

#include "tools/picture/canvas.h"

namespace drybus::tools::picture {

std::set<Look> looks_of(const Picture& picture);

/// Explains these looks across the page below `top`; answers where that ends.
double draw_legend(Canvas& canvas, const std::set<Look>& looks, double left, double width, double top,
                   bool hide_hidden);

}  // namespace drybus::tools::picture
