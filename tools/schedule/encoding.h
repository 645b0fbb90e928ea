// Bytes that a spreadsheet wrote, as UTF-8. The C library's iconv does it.
#pragma once

#include <string>
#include <string_view>

namespace drybus::tools {

struct Decoded {
  std::string text;
  std::string encoding;  ///< "UTF-8", "UTF-16", "Windows-1252 (Latin-1)"
};

/// By its byte order mark; else UTF-16 where every other byte is zero, UTF-8 where all of it is that, and what is left
/// is taken for Windows-1252, of which Latin-1 is a part. Throws std::runtime_error with the reason when it is none.
Decoded decoded(std::string_view bytes);

}  // namespace drybus::tools
