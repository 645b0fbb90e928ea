// A picture as a page of its own, to be looked at in a browser.
#pragma once

#include <string>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// One file, without links: the picture, controls to zoom, pan and cover what is hidden, and a box that tells
/// what is pointed at.
std::string html_text(const Picture& picture);

}  // namespace drybus::tools::picture
