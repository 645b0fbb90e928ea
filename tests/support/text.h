// Words in what was told.
#pragma once

#include <string>

namespace drybus::tests {

/// Whether a part stands in a text.
inline bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace drybus::tests
