#include "tools/panel/qr_code.h"

#include <fmt/format.h>
#include <qrencode.h>

#include <memory>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace {
constexpr std::size_t quiet = 4;  // ISO/IEC 18004: at least four modules
}

QrCode qr_code(std::string_view text) {
  const std::unique_ptr<QRcode, void (*)(QRcode*)> made{
      QRcode_encodeString8bit(std::string{text}.c_str(), 0, QR_ECLEVEL_M), QRcode_free};
  if (made == nullptr) throw Unusable{tr("'{}' is too long for a QR code", text)};
  QrCode code;
  code.width = static_cast<std::size_t>(made->width);
  code.dark.resize(code.width * code.width);
  for (std::size_t i = 0; i < code.dark.size(); ++i) code.dark[i] = (made->data[i] & 1) != 0;
  return code;
}

std::string qr_blocks(std::string_view text) {
  const QrCode code = qr_code(text);
  const std::size_t side = code.width + 2 * quiet;
  const auto is_dark = [&](std::size_t x, std::size_t y) {
    const bool inside = x >= quiet && y >= quiet && x < quiet + code.width && y < quiet + code.width;
    return inside && code.at(x - quiet, y - quiet);
  };
  std::string blocks;
  for (std::size_t y = 0; y < side; y += 2) {
    for (std::size_t x = 0; x < side; ++x) {
      const bool upper = is_dark(x, y);
      const bool lower = y + 1 < side && is_dark(x, y + 1);
      // Terminals are mostly dark: what is light is drawn.
      blocks += upper ? (lower ? " " : "\u2584") : (lower ? "\u2580" : "\u2588");
    }
    blocks += "\n";
  }
  return blocks;
}

}  // namespace drybus::tools
