// Sizes that every part of a picture keeps to. A page is 1280 px wide unless said otherwise, to be seen from
// the back of a classroom: nothing that matters is smaller than 18 px, and nothing at all smaller than 14 px.
#pragma once

#include "tools/picture/picture.h"

namespace drybus::tools::picture {

inline constexpr double smallest_size = 14;
inline constexpr TextStyle title_style{28, true};
inline constexpr TextStyle name_style{20, true};
inline constexpr TextStyle main_style{18, false};
inline constexpr TextStyle strong_style{18, true};
inline constexpr TextStyle second_style{15, false};
inline constexpr TextStyle second_strong_style{15, true};
inline constexpr TextStyle caption_style{14, false};

inline constexpr double page_margin = 20;
inline constexpr double names_width = 128;    ///< left of every lane: who it is
inline constexpr double captions_width = 72;  ///< and what its rows show
inline constexpr double plot_left = page_margin + names_width + captions_width + 8;

inline constexpr double disc_radius = 11;
inline constexpr double inside_padding = 6;  ///< left of words inside a band

/// From the top of a line of text to its baseline.
constexpr double baseline(const TextStyle& style) {
  return text_ascent * style.size;
}
constexpr double line_height(const TextStyle& style) {
  return (text_ascent + text_descent) * style.size;
}

}  // namespace drybus::tools::picture
