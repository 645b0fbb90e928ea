#include "tools/reference/manual.h"

namespace drybus::tools {

Usage usage_of(const CommandDescription& description) {
  const std::string& text = description.usage;
  Usage usage;
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    std::string line = text.substr(from, end - from);
    if (line.empty()) {
      usage.about = text.substr(std::min(end + 1, text.size()));
      break;
    }
    line.erase(0, line.find_first_not_of(' '));
    // "drybus diff A B [options]   (scenarios, or records)": what stands behind is said below.
    if (const std::size_t behind = line.find("   ("); behind != std::string::npos) {
      usage.about = line.substr(behind + 4, line.size() - behind - 5);
      line.erase(behind);
    }
    usage.lines.push_back(std::move(line));
    from = end + 1;
  }
  return usage;
}

}  // namespace drybus::tools
