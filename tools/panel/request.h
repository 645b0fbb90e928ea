// One message from the page: a JSON object, read key by key. Whatever does not fit is thrown as Refused and
// says what was expected.
#pragma once

#include <boost/json.hpp>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "sim/time.h"
#include "tools/panel/refused.h"

namespace drybus::tools {

inline constexpr std::size_t most_message_bytes = 16'384;
inline constexpr std::size_t most_text_characters = 400;

class Request {
 public:
  /// Throws Refused when it is no object with a `do`.
  explicit Request(std::string_view text);

  [[nodiscard]] const std::string& verb() const { return verb_; }
  /// What the answer shall carry; null where nobody asked for one.
  [[nodiscard]] const boost::json::value& ref() const { return ref_; }

  /// Refuses every key but `do`, `ref` and these.
  void allow(std::initializer_list<std::string_view> keys) const;

  [[nodiscard]] bool has(std::string_view key) const { return object_.contains(key); }
  /// 1 to `most` characters, none of them a control character.
  [[nodiscard]] std::string text(std::string_view key, std::size_t most = most_text_characters) const;
  [[nodiscard]] bool truth(std::string_view key) const;
  [[nodiscard]] double number(std::string_view key, double least, double most) const;
  [[nodiscard]] std::uint32_t whole(std::string_view key, std::uint32_t least, std::uint32_t most) const;
  /// Seconds, to the nearest nanosecond.
  [[nodiscard]] sim::Duration seconds(std::string_view key, sim::Duration least, sim::Duration most) const;
  /// A list of 1 to `most` words.
  [[nodiscard]] std::vector<std::string> words(std::string_view key, std::size_t most) const;

 private:
  [[nodiscard]] const boost::json::value& need(std::string_view key) const;

  boost::json::object object_;
  std::string verb_;
  boost::json::value ref_;
};

}  // namespace drybus::tools
