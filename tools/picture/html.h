// A picture as a page of its own, to be looked at in a browser.
#pragma once

#include <string>
#include <vector>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// One file, without links: the picture chapter by chapter, controls to zoom, pan, go from chapter to chapter and cover what
/// is hidden, and a box that tells what is pointed at. Printed, each chapter takes a landscape page of the paper.
std::string html_text(const std::vector<Picture>& chapters, bool letter = false);

}  // namespace drybus::tools::picture
