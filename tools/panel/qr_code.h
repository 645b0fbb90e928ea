// A link as a picture that a telephone reads (ISO/IEC 18004), by libqrencode.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

/// Square; true is dark. Without the quiet zone around it.
struct QrCode {
  std::size_t width = 0;
  std::vector<bool> dark;
  [[nodiscard]] bool at(std::size_t x, std::size_t y) const { return dark[y * width + x]; }
};

/// Throws Unusable for a text that is too long for one.
QrCode qr_code(std::string_view text);

/// For a terminal: half blocks, two rows to a line, dark on light with the quiet zone of four.
std::string qr_blocks(std::string_view text);

}  // namespace drybus::tools
