#include "model/family/switch_bank.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cassert>

#include "model/words/words.h"

namespace drybus::model {

namespace {

unsigned base_of(const SwitchBank& bank) {
  return bank.kind == SwitchBank::Kind::binary ? 2 : 10;
}

std::string listed(const std::vector<unsigned>& numbers) {
  if (numbers.size() == 1) return fmt::format("{}", numbers[0]);
  const auto last = numbers.end() - 1;
  return tr("{} and {}", fmt::format("{}", fmt::join(numbers.begin(), last, ", ")), *last);
}

}  // namespace

std::vector<std::uint8_t> positions(const SwitchBank& bank, std::uint8_t number) {
  assert(number <= bank.largest());
  std::vector<std::uint8_t> shown;
  unsigned rest = number;
  for (unsigned i = 0; i < bank.count; ++i) {
    shown.push_back(static_cast<std::uint8_t>(rest % base_of(bank)));
    rest /= base_of(bank);
  }
  return shown;
}

std::optional<std::uint8_t> number_shown(const SwitchBank& bank, std::span<const std::uint8_t> positions) {
  if (positions.size() != bank.count) return std::nullopt;
  unsigned number = 0;
  for (std::size_t i = positions.size(); i-- > 0;) {
    number = number * base_of(bank) + positions[i];
    if (positions[i] >= base_of(bank) || number > 255) return std::nullopt;
  }
  return static_cast<std::uint8_t>(number);
}

std::optional<std::uint8_t> parse_pattern(const SwitchBank& bank, std::string_view text) {
  std::vector<std::uint8_t> shown;
  for (const char c : text) {
    if (c != '0' && c != '1') return std::nullopt;
    shown.push_back(static_cast<std::uint8_t>(c - '0'));
  }
  if (bank.kind != SwitchBank::Kind::binary) return std::nullopt;
  std::reverse(shown.begin(), shown.end());
  return number_shown(bank, shown);
}

std::string pattern_text(const SwitchBank& bank, std::uint8_t number) {
  std::string text;
  for (const std::uint8_t position : positions(bank, number))
    text.insert(text.begin(), static_cast<char>('0' + position));
  return text;
}

std::string switches_text(const SwitchBank& bank, std::uint8_t number) {
  const std::vector<std::uint8_t> shown = positions(bank, number);
  if (bank.kind == SwitchBank::Kind::rotary) {
    if (shown.size() == 1) return tr("dial {} at {}", 1, shown[0]);
    std::vector<std::string> dials;
    for (std::size_t i = shown.size(); i-- > 0;) dials.push_back(tr("dial {} at {}", i + 1, shown[i]));
    return fmt::format("{}", fmt::join(dials, ", "));
  }
  std::vector<unsigned> up;
  for (unsigned i = 0; i < shown.size(); ++i) {
    if (shown[i] == 1) up.push_back(i + 1);
  }
  if (up.empty()) return tr("all switches down");
  if (up.size() == shown.size()) return tr("all switches up");
  return plural("switch {} up", "switches {} up", up.size(), listed(up));
}

}  // namespace drybus::model
