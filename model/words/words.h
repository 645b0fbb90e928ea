// What is said to people, in whichever language they are spoken to. Texts stand in the sources in English, and are told as they
// stand there unless somebody has put in words of another language. Nothing that reaches a digest, JSON, a file or a comparison
// of texts is said by these: what programs read stays as it is.
#pragma once

#include <fmt/format.h>

#include <cstdint>
#include <string>
#include <string_view>

namespace drybus::model {

/// Texts in another language than they are written in. What they give lives as long as they do.
class Words {
 public:
  virtual ~Words() = default;
  /// The text for one as it is written, or that one itself. `context` tells apart what is written alike; mostly empty.
  [[nodiscard]] virtual std::string_view text(std::string_view context, std::string_view written) const = 0;
  /// The form of a text for a count, by the language's own rule.
  [[nodiscard]] virtual std::string_view plural(std::string_view one, std::string_view several,
                                                std::uint64_t count) const = 0;
};

/// As long as this lives, this thread speaks in these words (null: as the texts are written).
class Speaking {
 public:
  explicit Speaking(const Words* words);
  ~Speaking();
  Speaking(const Speaking&) = delete;
  Speaking& operator=(const Speaking&) = delete;

 private:
  const Words* before_;
};

/// Whether this thread speaks as texts are written, in no other words.
[[nodiscard]] bool speaks_as_written();

/// The text in the words that this thread speaks. For what is no literal: then msg() marks it where it is written.
[[nodiscard]] std::string_view in_words_spoken(std::string_view written, std::string_view context = {});
[[nodiscard]] std::string_view form_spoken(std::string_view one, std::string_view several,
                                           std::uint64_t count);
/// A number as text, with the decimal mark of the language: "2.7" is "2,7" in German.
[[nodiscard]] std::string with_decimal_mark(std::string number);

/// Marks a text that is said elsewhere.
constexpr std::string_view msg(std::string_view written) {
  return written;
}
constexpr std::string_view msg_as([[maybe_unused]] std::string_view context, std::string_view written) {
  return written;
}

/// Where one word is written for two things: tr_as("link", "open").
[[nodiscard]] inline std::string tr_as(std::string_view context, std::string_view written) {
  return std::string{in_words_spoken(written, context)};
}

/// tr("{} sent {}", who, telegram). The placeholders are checked as those of fmt::format; those of another language by the test of
/// the catalogue.
template <class... Args>
[[nodiscard]] std::string tr(fmt::format_string<const Args&...> written, const Args&... args) {
  const fmt::string_view text = written;
  const std::string_view spoken = in_words_spoken({text.data(), text.size()});
  return fmt::vformat(fmt::string_view{spoken.data(), spoken.size()}, fmt::make_format_args(args...));
}

/// plural("{} hint", "{} hints", count, count).
template <class... Args>
[[nodiscard]] std::string plural(fmt::format_string<const Args&...> one,
                                 fmt::format_string<const Args&...> several, std::uint64_t count,
                                 const Args&... args) {
  const fmt::string_view first = one;
  const fmt::string_view second = several;
  const std::string_view spoken =
      form_spoken({first.data(), first.size()}, {second.data(), second.size()}, count);
  return fmt::vformat(fmt::string_view{spoken.data(), spoken.size()}, fmt::make_format_args(args...));
}

}  // namespace drybus::model
