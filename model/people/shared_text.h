// A text that is kept once, however often what it belongs to is copied.
#pragma once

#include <memory>
#include <string>
#include <utility>

namespace drybus::model {

/// Reads like a const std::string. A copy is a copy of a pointer: steps are repeated, and whole scripts copied.
class SharedText {
 public:
  SharedText() = default;
  // NOLINTNEXTLINE(google-explicit-constructor): assigned to as a string is
  SharedText(std::string text)
      : text_(text.empty() ? nullptr : std::make_shared<const std::string>(std::move(text))) {}
  // NOLINTNEXTLINE(google-explicit-constructor): likewise
  SharedText(const char* text) : SharedText(std::string{text}) {}

  [[nodiscard]] const std::string& str() const {
    static const std::string none;
    return text_ ? *text_ : none;
  }
  // NOLINTNEXTLINE(google-explicit-constructor): read as a string is
  operator const std::string&() const { return str(); }
  [[nodiscard]] bool empty() const { return text_ == nullptr; }
  [[nodiscard]] std::size_t size() const { return str().size(); }
  void clear() { text_.reset(); }

  friend bool operator==(const SharedText& a, const SharedText& b) { return a.str() == b.str(); }

 private:
  std::shared_ptr<const std::string> text_;
};

}  // namespace drybus::model
