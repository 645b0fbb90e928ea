// Widths of text against the font itself: DejaVu Sans as Debian's fonts-dejavu-core ships it.
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "tools/picture/text_width.h"

namespace {

using namespace drybus::tools;

/// Reads advance widths from a TrueType file, as the OpenType specification lays out its tables cmap (format
/// 4), head, hhea and hmtx.
class Font {
 public:
  explicit Font(const std::string& path) {
    std::ifstream file{path, std::ios::binary};
    bytes_.assign(std::istreambuf_iterator<char>{file}, {});
    const std::size_t tables = u16(4);
    for (std::size_t i = 0; i < tables; ++i) {
      const std::size_t entry = 12 + 16 * i;
      tables_[bytes_.substr(entry, 4)] = u32(entry + 8);
    }
  }
  [[nodiscard]] double units_per_em() const { return static_cast<double>(u16(tables_.at("head") + 18)); }
  [[nodiscard]] double ascent() const { return static_cast<std::int16_t>(u16(tables_.at("hhea") + 4)); }
  [[nodiscard]] double descent() const { return static_cast<std::int16_t>(u16(tables_.at("hhea") + 6)); }

  /// Nothing where the font has no glyph for it.
  [[nodiscard]] std::optional<double> advance(unsigned code) const {
    const std::size_t glyph = glyph_of(code);
    if (glyph == 0) return std::nullopt;
    const std::size_t metrics = u16(tables_.at("hhea") + 34);
    return static_cast<double>(u16(tables_.at("hmtx") + 4 * std::min(glyph, metrics - 1)));
  }

 private:
  [[nodiscard]] std::size_t u16(std::size_t at) const {
    return static_cast<std::size_t>(static_cast<unsigned char>(bytes_.at(at))) << 8 |
           static_cast<unsigned char>(bytes_.at(at + 1));
  }
  [[nodiscard]] std::size_t u32(std::size_t at) const { return u16(at) << 16 | u16(at + 2); }

  [[nodiscard]] std::size_t glyph_of(unsigned code) const {
    const std::size_t cmap = tables_.at("cmap");
    for (std::size_t i = 0; i < u16(cmap + 2); ++i) {
      const std::size_t table = cmap + u32(cmap + 4 + 8 * i + 4);
      if (u16(table) == 4) return glyph_in(table, code);
    }
    return 0;
  }

  [[nodiscard]] std::size_t glyph_in(std::size_t table, unsigned code) const {
    const std::size_t twice = u16(table + 6);
    for (std::size_t i = 0; i < twice; i += 2) {
      if (u16(table + 14 + i) < code) continue;
      const std::size_t start = u16(table + 16 + twice + i);
      if (start > code) return 0;
      const std::size_t delta = u16(table + 16 + 2 * twice + i);
      const std::size_t offset_at = table + 16 + 3 * twice + i;
      const std::size_t offset = u16(offset_at);
      if (offset == 0) return (code + delta) & 0xffff;
      const std::size_t glyph = u16(offset_at + offset + 2 * (code - start));
      return glyph == 0 ? 0 : (glyph + delta) & 0xffff;
    }
    return 0;
  }

  std::string bytes_;
  std::map<std::string, std::size_t> tables_;
};

std::string utf8(unsigned code) {
  if (code < 0x80) return {static_cast<char>(code)};
  if (code < 0x800) return {static_cast<char>(0xc0 | code >> 6), static_cast<char>(0x80 | (code & 0x3f))};
  return {static_cast<char>(0xe0 | code >> 12), static_cast<char>(0x80 | ((code >> 6) & 0x3f)),
          static_cast<char>(0x80 | (code & 0x3f))};
}

void check_against(const std::string& path, bool bold) {
  if (!std::filesystem::exists(path)) {
    MESSAGE("not checked: " << path << " is not installed");
    return;
  }
  const Font font{path};
  const TextStyle style{font.units_per_em(), bold};  // so that widths come out in the font's units
  int compared = 0;
  for (unsigned code = 0x20; code < 0xffff; ++code) {
    const auto advance = font.advance(code);
    if (!advance || (code >= 0x7f && code < 0xa0)) continue;
    const double measured = text_width(utf8(code), style);
    const bool in_table = code <= 0x7e || (code >= 0xa0 && code <= 0xff) || code == 0x2026;
    if (in_table ? std::abs(measured - *advance) > 0.01 : measured < *advance) {
      FAIL_CHECK("U+" << std::hex << code << std::dec << " measures " << measured << ", the font says "
                      << *advance);
    }
    ++compared;
  }
  CHECK(compared > 3000);
  CHECK(font.ascent() / font.units_per_em() <= text_ascent);
  CHECK(-font.descent() / font.units_per_em() <= text_descent);
}

TEST_CASE("text is as wide as the font makes it: exactly so in Latin-1, never narrower elsewhere") {
  check_against("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", false);
  check_against("/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf", true);
}

TEST_CASE("text that is too long is cut between characters and says so") {
  const TextStyle style{16, false};
  const std::string word = "Küchenpendelleuchten über dem Tisch";
  CHECK(fitted(word, 1000, style) == word);
  for (int width = 20; width < 300; ++width) {
    const std::string text = fitted(word, width, style);
    CHECK(text_width(text, style) <= width);
    CHECK(text.ends_with("…"));
    CHECK(word.starts_with(text.substr(0, text.size() - std::string{"…"}.size())));
  }
}

TEST_CASE("a paragraph keeps to its width, loses no word, and tells when it had to stop") {
  const TextStyle style{18, false};
  const std::string text =
      "P1 was out of setup while M1 was still in it.\nP1's time-out is 240 s, counted from the last press.";
  const auto lines = lines_within(text, 200, style);
  std::string joined;
  for (const std::string& line : lines) {
    CHECK(text_width(line, style) <= 200);
    joined += (joined.empty() ? "" : " ") + line;
  }
  std::string flat = text;
  flat[flat.find('\n')] = ' ';
  CHECK(joined == flat);
  const auto two = lines_within(text, 200, style, 2);
  REQUIRE(two.size() == 2);
  CHECK(two.back().ends_with("…"));
  CHECK(text_width(two.back(), style) <= 200);
}

TEST_CASE("bytes that are no UTF-8 are measured as something, and nothing runs past the end") {
  const TextStyle style{10, false};
  for (const std::string text : {"\xff", "\xe2\x82", "\xf0\x9f", "a\xc3", "\xc0\xaf"})
    CHECK(text_width(text, style) > 0);
  CHECK(text_width("", style) == 0);
}

}  // namespace
