#include "tools/picture/text_width.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>

namespace drybus::tools {

namespace {

constexpr double units_per_em = 2048;
constexpr std::size_t glyphs = 95 + 96;  // U+0020 to U+007E, U+00A0 to U+00FF

constexpr std::array<std::uint16_t, glyphs> regular = {
    651,  821,  942,  1716, 1303, 1946, 1597, 563,  799,  799,  1024, 1716, 651,  739,  651,  690,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690,  690,  1716, 1716, 1716, 1087,
    2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604,  604,  1343, 1141, 1767, 1532, 1612,
    1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799,  690,  799,  1716, 1024,
    1024, 1255, 1300, 1126, 1300, 1260, 721,  1300, 1298, 569,  569,  1186, 569,  1995, 1298, 1253,
    1300, 1300, 842,  1067, 803,  1298, 1212, 1675, 1212, 1212, 1075, 1303, 690,  1303, 1716, 651,
    821,  1303, 1303, 1303, 1303, 690,  1024, 1024, 2048, 965,  1253, 1716, 739,  2048, 1024, 1024,
    1716, 821,  821,  1024, 1303, 1303, 651,  1024, 821,  965,  1253, 1985, 1985, 1985, 1087, 1401,
    1401, 1401, 1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604,  604,  604,  604,  1587,
    1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499, 1251, 1239, 1290, 1255,
    1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260, 1260, 1260, 569,  569,  569,  569,  1253,
    1298, 1253, 1253, 1253, 1253, 1253, 1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212,
};

constexpr std::array<std::uint16_t, glyphs> bold = {
    713,  934,  1067, 1716, 1425, 2052, 1786, 627,  936,  936,  1071, 1716, 778,  850,  778,  748,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819,  819,  1716, 1716, 1716, 1188,
    2048, 1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762,  762,  1587, 1305, 2038, 1714, 1741,
    1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936,  748,  936,  1716, 1024,
    1024, 1382, 1466, 1214, 1466, 1389, 891,  1466, 1458, 702,  702,  1362, 702,  2134, 1458, 1407,
    1466, 1466, 1010, 1219, 979,  1458, 1335, 1892, 1321, 1335, 1192, 1458, 748,  1458, 1716, 713,
    934,  1425, 1425, 1303, 1425, 748,  1024, 1024, 2048, 1155, 1323, 1716, 850,  2048, 1024, 1024,
    1716, 897,  897,  1024, 1507, 1303, 778,  1024, 897,  1155, 1323, 2120, 2120, 2120, 1188, 1585,
    1585, 1585, 1585, 1585, 1585, 2222, 1503, 1399, 1399, 1399, 1399, 762,  762,  762,  762,  1716,
    1714, 1741, 1741, 1741, 1741, 1741, 1716, 1741, 1663, 1663, 1663, 1663, 1483, 1511, 1473, 1382,
    1382, 1382, 1382, 1382, 1382, 2146, 1214, 1389, 1389, 1389, 1389, 702,  702,  702,  702,  1407,
    1458, 1407, 1407, 1407, 1407, 1407, 1716, 1407, 1458, 1458, 1458, 1458, 1335, 1466, 1335,
};

struct Character {
  char32_t code = 0xfffd;
  std::size_t bytes = 1;
};

/// The first character of text that is not empty.
Character first_character(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  if (lead < 0x80) return {lead, 1};
  const std::size_t length = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : lead >= 0xc2 ? 2 : 0;
  if (length == 0 || lead > 0xf4 || text.size() < length) return {};
  char32_t code = lead & (0x7fu >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xc0u) != 0x80u) return {};
    code = code << 6 | (byte(i) & 0x3fu);
  }
  return {code, length};
}

/// In ems. The classes beyond Latin-1 are the widest glyphs of the font for those ranges.
double advance(char32_t code, bool heavy) {
  const auto of = [&](std::size_t index) { return (heavy ? bold : regular)[index] / units_per_em; };
  if (code >= 0x20 && code <= 0x7e) return of(code - 0x20);
  if (code >= 0xa0 && code <= 0xff) return of(95 + code - 0xa0);
  if (code == 0x2026) return 1.0;                // the ellipsis
  if (code < 0x600) return heavy ? 1.56 : 1.43;  // Latin with more marks, Greek, Cyrillic, Armenian, Hebrew
  return heavy ? 2.02 : 1.88;                    // the widest glyph of all
}

}  // namespace

double text_width(std::string_view text, const TextStyle& style) {
  double ems = 0;
  while (!text.empty()) {
    const Character character = first_character(text);
    ems += advance(character.code, style.bold);
    text.remove_prefix(character.bytes);
  }
  return ems * style.size;
}

std::string fitted(std::string_view text, double width, const TextStyle& style) {
  if (text_width(text, style) <= width) return std::string{text};
  const double room = width / style.size - advance(0x2026, style.bold);
  double ems = 0;
  std::size_t end = 0;
  while (end < text.size()) {
    const Character character = first_character(text.substr(end));
    ems += advance(character.code, style.bold);
    if (ems > room) break;
    end += character.bytes;
  }
  while (end > 0 && text[end - 1] == ' ') --end;
  return std::string{text.substr(0, end)} + "…";
}

std::vector<std::string> lines_within(std::string_view text, double width, const TextStyle& style,
                                      std::size_t most) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  const auto finish = [&] {
    lines.push_back(line);
    line.clear();
  };
  while (at < text.size() && lines.size() < most) {
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::string word = fitted(text.substr(at, end - at), width, style);
    if (!line.empty() && !word.empty() && text_width(fmt::format("{} {}", line, word), style) > width) {
      if (lines.size() + 1 == most) break;
      finish();
    }
    if (!word.empty()) line += (line.empty() ? "" : " ") + word;
    if (end < text.size() && text[end] == '\n' && end + 1 < text.size()) finish();
    at = end + 1;
  }
  if (!line.empty() && lines.size() < most) finish();
  if (at < text.size() && !lines.empty()) {
    std::string rest = " " + std::string{text.substr(at)};
    std::replace(rest.begin(), rest.end(), '\n', ' ');
    lines.back() = fitted(lines.back() + rest, width, style);
  }
  return lines;
}

}  // namespace drybus::tools
