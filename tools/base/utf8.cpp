#include "tools/base/utf8.h"

#include <fmt/format.h>

#include <cstdint>

#include "model/words/words.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;

namespace {

struct Character {
  std::size_t length = 1;
  std::uint32_t code = 0;
  bool valid = false;
};

std::uint8_t byte_at(std::string_view text, std::size_t i) {
  return static_cast<std::uint8_t>(text[i]);
}

/// How long the sequence is that this byte begins; 0 when it begins none.
std::size_t sequence_length(std::uint8_t lead) {
  if (lead < 0x80) return 1;
  if (lead >= 0xc2 && lead < 0xe0) return 2;
  if (lead >= 0xe0 && lead < 0xf0) return 3;
  return lead >= 0xf0 && lead < 0xf5 ? 4 : 0;
}

Character character_at(std::string_view text, std::size_t at) {
  constexpr std::uint32_t smallest[] = {0, 0, 0x80, 0x800, 0x10000};
  const std::uint8_t lead = byte_at(text, at);
  const std::size_t length = sequence_length(lead);
  if (length == 0 || at + length > text.size()) return {};
  if (length == 1) return {1, lead, true};
  std::uint32_t code = lead & (0xffu >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    const std::uint8_t next = byte_at(text, at + i);
    if ((next & 0xc0) != 0x80) return {};
    code = code << 6 | (next & 0x3fu);
  }
  const bool surrogate = code >= 0xd800 && code <= 0xdfff;
  if (code < smallest[length] || surrogate || code > 0x10ffff) return {};
  return {length, code, true};
}

bool is_control(std::uint32_t code) {
  return code < 0x20 || (code >= 0x7f && code < 0xa0);
}

/// Embeddings, overrides and isolates; the marks that turn only what stands beside them are not among them.
bool turns_direction(std::uint32_t code) {
  return (code >= 0x202a && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
}

bool is_separator(std::uint32_t code) {
  return code == 0x2028 || code == 0x2029;
}

bool is_no_character(std::uint32_t code) {
  return (code >= 0xfdd0 && code <= 0xfdef) || (code & 0xfffe) == 0xfffe;
}

/// What is wrong with a character wherever it stands; empty when nothing is.
std::string_view wrong_with(const Character& c) {
  if (!c.valid) return msg("text that is not UTF-8");
  if (c.code == 0) return msg("a NUL byte");
  if (is_control(c.code)) return msg("a control character");
  if (turns_direction(c.code)) return msg("a mark that turns the direction of text");
  if (is_separator(c.code)) return msg("a separator of lines");
  return is_no_character(c.code) ? msg("a code that is no character") : std::string_view{};
}

bool ends_line(std::string_view text, std::size_t at) {
  return text[at] == '\n' || (text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n');
}

/// Each wrong character as `replaced` has it: a function from where it stands to what comes there.
template <class Replaced>
std::string mended(std::string_view text, Replaced replaced) {
  std::string result;
  result.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    const Character c = character_at(text, i);
    result += wrong_with(c).empty() ? text.substr(i, c.length) : replaced(i, c);
    i += c.length;
  }
  return result;
}

}  // namespace

std::optional<BadCharacter> first_bad_character(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const Character c = character_at(text, i);
    const std::string_view wrong = in_words_spoken(wrong_with(c));
    if (!wrong.empty() && c.code != '\t' && !ends_line(text, i)) {
      const bool has_code = c.valid && c.code != 0;
      return BadCharacter{i, has_code ? fmt::format("{} (U+{:04X})", wrong, c.code) : std::string{wrong}};
    }
    i += c.length;
  }
  return std::nullopt;
}

std::size_t character_count(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size(); i += character_at(text, i).length) ++count;
  return count;
}

std::string_view characters(std::string_view text, std::size_t first, std::size_t count) {
  std::size_t begin = 0;
  for (; first > 0 && begin < text.size(); --first) begin += character_at(text, begin).length;
  std::size_t end = begin;
  for (; count > 0 && end < text.size(); --count) end += character_at(text, end).length;
  return text.substr(begin, end - begin);
}

std::string harmless(std::string_view text) {
  return mended(
      text, [](std::size_t, const Character& c) -> std::string_view { return c.code == '\t' ? "\t" : "?"; });
}

std::string printable(std::string_view text) {
  return mended(text, [&](std::size_t at, const Character& c) -> std::string_view {
    if (c.code == '\t') return " ";
    return !ends_line(text, at) ? "?" : c.code == '\n' ? "\n" : "";
  });
}

std::string as_utf8(std::string_view text) {
  return mended(text, [&](std::size_t at, const Character& c) -> std::string_view {
    return c.valid ? text.substr(at, c.length) : "?";
  });
}

}  // namespace drybus::tools
