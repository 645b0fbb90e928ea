// How wide text is when it is drawn, without a font at hand.
//
// Advance widths of DejaVu Sans 2.37, regular and bold, for ASCII and Latin-1, read from the font's own
// tables (hmtx by way of cmap, 2048 units an em). What the table does not hold counts as wide as the widest
// glyph of its script in that font, so that a measure errs towards room.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

/// The fonts to ask for: the first that a viewer has. Verdana is about as wide as DejaVu Sans, Arial narrower
/// (from memory).
inline constexpr std::string_view text_family = "'DejaVu Sans', Verdana, Arial, sans-serif";

/// Above and below the baseline, in parts of the size: the font's own ascent and descent (hhea).
inline constexpr double text_ascent = 0.929;
inline constexpr double text_descent = 0.236;

struct TextStyle {
  double size = 16;  ///< px, the em
  bool bold = false;
};

/// Width of UTF-8 text in px. Bytes that are no UTF-8 count as one replacement character each.
double text_width(std::string_view text, const TextStyle& style);

/// The text itself where it fits `width`, else as much of its beginning as fits with "…" after it.
std::string fitted(std::string_view text, double width, const TextStyle& style);

/// The text in lines of at most `width`, broken at spaces and line ends; a word that is wider still is
/// fitted. At most `most` lines; what does not fit is told by a "…" at the end of the last.
std::vector<std::string> lines_within(std::string_view text, double width, const TextStyle& style,
                                      std::size_t most = 1000);

}  // namespace drybus::tools
