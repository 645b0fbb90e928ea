// A picture as SVG.
#pragma once

#include <string>
#include <string_view>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// Text for XML and HTML, in content and between double quotes. What no XML document may hold becomes U+FFFD.
std::string escaped(std::string_view text);

struct SvgForm {
  bool inside_page =
      false;  ///< part of an HTML page: what a mark stands for is in data attributes, without tooltips
};

/// One whole <svg> element: styles and textures are inside, nothing outside is needed.
std::string svg_text(const Picture& picture, const SvgForm& form = {});

}  // namespace drybus::tools::picture
