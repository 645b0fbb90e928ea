// A picture as SVG.
#pragma once

#include <string>
#include <string_view>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// Text for XML and HTML, in content and between double quotes. What no XML document may hold becomes U+FFFD.
std::string escaped(std::string_view text);

struct SvgForm {
  /// Part of an HTML page: what a mark stands for is in data attributes, without tooltips; styles and textures are the page's.
  bool inside_page = false;
  /// For programs that know little CSS: what lies around letters is drawn before them, as a text of its own;
  /// and for paper: nothing can be pointed at.
  bool plain = false;
  std::size_t number = 0;  ///< of several in one page: its ids end in it
};

/// One whole <svg> element: styles and textures are inside, nothing outside is needed, unless it is inside a page.
std::string svg_text(const Picture& picture, const SvgForm& form = {});

}  // namespace drybus::tools::picture
