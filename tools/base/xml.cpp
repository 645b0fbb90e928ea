#include "tools/base/xml.h"

#include <algorithm>

#include "tools/base/utf8.h"

namespace drybus::tools {

namespace {

/// What XML 1.0 can hold: no control characters but line feed and tab, and no codes that are no characters.
std::string xml_characters(std::string_view text) {
  std::string plain;
  for (std::size_t line = 0; line <= text.size();) {
    const std::size_t end = std::min(text.find('\n', line), text.size());
    plain += harmless(text.substr(line, end - line));
    if (end < text.size()) plain += '\n';
    line = end + 1;
  }
  return plain;
}

}  // namespace

std::string xml_escaped(std::string_view text) {
  std::string escaped;
  for (const char c : xml_characters(text)) {
    switch (c) {
      case '&':
        escaped += "&amp;";
        break;
      case '<':
        escaped += "&lt;";
        break;
      case '>':
        escaped += "&gt;";
        break;
      case '"':
        escaped += "&quot;";
        break;
      default:
        escaped += c;
    }
  }
  return escaped;
}

}  // namespace drybus::tools
