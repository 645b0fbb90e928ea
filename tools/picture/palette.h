// The inks of a picture, and how each look is drawn with them.
//
// Hues are those of Okabe and Ito (Color Universal Design, 2008), which stay apart for colour-blind readers:
// orange #E69F00, blue #0072B2, vermillion #D55E00; darkened where they are text. No two looks differ by
// colour alone.
#pragma once

#include <string>
#include <string_view>

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// "#1a1a1a"
std::string_view colour(Ink ink);
std::string_view colour(Ground ground);

/// "quiet", "paper": as classes are named.
std::string_view name(Ink ink);
std::string_view name(Ground ground);

/// The class that shapes of the look have in a file.
std::string_view class_name(Look look);

/// Rules for all looks, as CSS.
std::string_view style_sheet();

/// Rules for the labels that the picture has: their sizes, inks, and grounds around them, which a plain one has none of.
std::string label_sheet(const Picture& picture, bool plain = false);

/// Textures that the rules use, as SVG definitions.
std::string_view textures();

}  // namespace drybus::tools::picture
