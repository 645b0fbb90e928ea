#include "tools/view/sheet_switches.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace {

using model::SwitchBank;
using model::tr;
using model::tr_as;

/// What stands before the lines of a drawing: two blanks, and each filled up to the longest; six columns at least.
std::vector<std::string> alike_wide(std::vector<std::string> names) {
  std::size_t width = 6;
  for (const std::string& name : names) width = std::max(width, columns(name));
  for (std::string& name : names) name = "  " + padded(name, width);
  return names;
}

std::string binary_drawing(const std::vector<std::uint8_t>& shown) {
  const std::vector<std::string> names =
      alike_wide({tr("switch"), tr_as("switch", "up"), tr_as("switch", "down"), tr("worth")});
  std::string numbers = names[0], up = names[1] + "|", down = names[2] + "|", worth = names[3];
  std::string edge = std::string(columns(numbers), ' ') + "+";
  for (std::size_t i = 0; i < shown.size(); ++i) {
    numbers += fmt::format("{:>4}", i + 1);
    edge += "---+";
    up += shown[i] == 1 ? " # |" : "   |";
    down += shown[i] == 1 ? "   |" : " # |";
    worth += fmt::format("{:>4}", 1u << i);
  }
  return fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n", numbers, edge, up, down, edge, worth);
}

/// Highest dial first, as the number is read.
std::string rotary_drawing(const std::vector<std::uint8_t>& shown) {
  const std::vector<std::string> names = alike_wide({tr("dial"), tr_as("dial", "shows"), tr("worth")});
  std::string dials = names[0], faces = names[1], worth = names[2];
  unsigned each = 1;
  for (std::size_t i = 1; i < shown.size(); ++i) each *= 10;
  for (std::size_t i = shown.size(); i-- > 0; each /= 10) {
    dials += fmt::format("{:>6}", i + 1);
    faces += fmt::format("{:>6}", fmt::format("({})", shown[i]));
    worth += fmt::format("{:>6}", each);
  }
  return fmt::format("{}\n{}\n{}\n", dials, faces, worth);
}

std::string binary_svg(const std::vector<std::uint8_t>& shown) {
  std::string parts;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const std::size_t x = 2 + 16 * i;
    parts += fmt::format(R"(<rect x="{}" y="2" width="12" height="26" fill="#fff" stroke="#000"/>)", x);
    parts += fmt::format(R"(<rect x="{}" y="{}" width="8" height="11" fill="#000"/>)", x + 2,
                         shown[i] == 1 ? 4 : 15);
    parts += fmt::format(R"(<text x="{}" y="38" text-anchor="middle" font-size="8">{}</text>)", x + 6, i + 1);
  }
  return parts;
}

std::string rotary_svg(const std::vector<std::uint8_t>& shown) {
  std::string parts;
  for (std::size_t i = shown.size(), left = 0; i-- > 0; ++left) {
    const std::size_t x = 15 + 30 * left;
    parts += fmt::format(R"(<circle cx="{}" cy="15" r="12" fill="#fff" stroke="#000"/>)", x);
    parts += fmt::format(
        R"svg(<g transform="rotate({} {} 15)"><path d="M{} 3v5" stroke="#000" stroke-width="3"/></g>)svg",
        36 * shown[i], x, x);
    parts +=
        fmt::format(R"(<text x="{}" y="20" text-anchor="middle" font-size="11" font-weight="bold">{}</text>)",
                    x, shown[i]);
    parts += fmt::format(R"(<text x="{}" y="38" text-anchor="middle" font-size="8">{}</text>)", x,
                         tr("dial {}", i + 1));
  }
  return parts;
}

}  // namespace

std::string switch_drawing(const SwitchBank& bank, std::uint8_t number) {
  const auto shown = model::positions(bank, number);
  return bank.kind == SwitchBank::Kind::binary ? binary_drawing(shown) : rotary_drawing(shown);
}

std::string switch_svg(const SwitchBank& bank, std::uint8_t number) {
  const auto shown = model::positions(bank, number);
  const bool binary = bank.kind == SwitchBank::Kind::binary;
  return fmt::format(
      R"(<svg xmlns="http://www.w3.org/2000/svg" width="{0}" height="40" viewBox="0 0 {0} 40" role="img" )"
      R"(aria-label="{1}: {2}">{3}</svg>)",
      (binary ? 16 : 30) * shown.size() + 2, number, model::switches_text(bank, number),
      binary ? binary_svg(shown) : rotary_svg(shown));
}

}  // namespace drybus::tools
