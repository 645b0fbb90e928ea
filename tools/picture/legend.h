// What the shapes of a picture mean, for those that occur in it.
#pragma once

#include "tools/picture/canvas.h"

namespace drybus::tools::picture {

/// Explains what has been drawn on the canvas so far, across the page below `top`; answers where that ends.
double draw_legend(Canvas& canvas, double left, double width, double top, bool hide_hidden);

}  // namespace drybus::tools::picture
