#include "tools/base/wrap.h"

#include <algorithm>

namespace drybus::tools {

std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::string_view word = text.substr(at, end - at);
    const bool fits = columns(line) + 1 + columns(word) <= width;
    if (!line.empty() && !word.empty() && !fits) {
      lines.push_back(line);
      line.clear();
    }
    if (!word.empty()) line += (line.empty() ? "" : " ") + std::string{word};
    if (end < text.size() && text[end] == '\n') {
      lines.push_back(line);
      line.clear();
    }
    at = end + 1;
  }
  if (!line.empty() || lines.empty()) lines.push_back(line);
  return lines;
}

std::string padded(std::string_view text, std::size_t width) {
  std::string result{text};
  const std::size_t taken = columns(text);
  if (taken < width) result.append(width - taken, ' ');
  return result;
}

std::string paragraph(std::string_view text, std::size_t width, std::string_view first_indent,
                      std::string_view indent) {
  std::string result;
  bool first = true;
  for (const std::string& line : wrapped(text, width - columns(indent))) {
    result += std::string{first ? first_indent : indent} + line + "\n";
    first = false;
  }
  return result;
}

}  // namespace drybus::tools
