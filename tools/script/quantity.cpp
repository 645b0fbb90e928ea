#include "tools/script/quantity.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <span>
#include <vector>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/trimmed.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// A decimal number kept exactly: digits / 10^scale.
struct Decimal {
  std::int64_t digits = 0;
  int scale = 0;
};

/// Takes a number such as "12" or "1.5" off the front; nothing when none stands there or it is beyond 18
/// digits.
std::optional<Decimal> take_decimal(std::string_view& text) {
  Decimal number;
  std::size_t at = 0;
  bool point = false;
  std::size_t digits = 0;
  for (; at < text.size(); ++at) {
    const char c = text[at];
    if (c == '.' && !point && at > 0) {
      point = true;
      continue;
    }
    if (!is_digit(c)) break;
    if (++digits > 18) return std::nullopt;
    number.digits = number.digits * 10 + (c - '0');
    if (point) ++number.scale;
  }
  if (digits == 0 || text[at - 1] == '.') return std::nullopt;
  text.remove_prefix(at);
  return number;
}

enum class Inexact { too_fine, too_large };

/// number x unit as a whole number.
std::variant<std::int64_t, Inexact> whole_units(Decimal number, std::int64_t unit) {
  while (number.scale > 0 && unit % 10 == 0) {
    unit /= 10;
    --number.scale;
  }
  for (; number.scale > 0; --number.scale) {
    if (number.digits % 10 != 0) return Inexact::too_fine;
    number.digits /= 10;
  }
  std::int64_t result = 0;
  if (__builtin_mul_overflow(number.digits, unit, &result)) return Inexact::too_large;
  return result;
}

struct Unit {
  std::string_view name;
  std::int64_t size;
};

/// A word that people write for a unit, and the unit that they mean.
struct Alias {
  std::string_view written;
  std::string_view meant;
};

constexpr std::array<std::string_view, 6> time_unit_names = {"h", "min", "s", "ms", "us", "ns"};
constexpr std::array<Unit, 7> time_units = {{{"h", 3'600'000'000'000},
                                             {"min", 60'000'000'000},
                                             {"s", 1'000'000'000},
                                             {"ms", 1'000'000},
                                             {"us", 1'000},
                                             {"µs", 1'000},
                                             {"ns", 1}}};
constexpr std::array<Alias, 16> time_aliases = {{{"sec", "s"},
                                                 {"secs", "s"},
                                                 {"second", "s"},
                                                 {"seconds", "s"},
                                                 {"m", "min"},
                                                 {"mins", "min"},
                                                 {"minute", "min"},
                                                 {"minutes", "min"},
                                                 {"hr", "h"},
                                                 {"hrs", "h"},
                                                 {"hour", "h"},
                                                 {"hours", "h"},
                                                 {"msec", "ms"},
                                                 {"millisecond", "ms"},
                                                 {"milliseconds", "ms"},
                                                 {"usec", "us"}}};

std::string_view time_example() {
  return in_words_spoken(msg("a time with its unit, such as 200ms, 5 s, 3min or 1h 30min"));
}

std::string meant_unit(std::string_view written) {
  for (const Alias& alias : time_aliases) {
    if (alias.written == written) return std::string{alias.meant};
  }
  return nearest(written, std::span<const std::string_view>{time_unit_names});
}

QuantityError unknown_time_unit(std::string_view unit) {
  return {tr("unknown unit '{}'", unit), tr("one of the units h, min, s, ms, us, ns"), meant_unit(unit)};
}

QuantityError too_long() {
  return {tr("longer than ten years"), std::string{time_example()}, ""};
}

bool is_number(std::string_view text) {
  text = trimmed(text);
  return take_decimal(text).has_value() && text.empty();
}

/// "3:42" and "1:03:42" have a meaning, but which one depends on who reads them.
std::optional<QuantityError> clock_error(std::string_view text) {
  std::vector<std::string_view> parts;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t colon = std::min(text.find(':', from), text.size());
    parts.push_back(text.substr(from, colon - from));
    from = colon + 1;
  }
  if (parts.size() < 2 || parts.size() > 3 || !std::all_of(parts.begin(), parts.end(), is_number))
    return std::nullopt;
  const std::string meant = parts.size() == 2 ? fmt::format("{}min {}s", parts[0], parts[1])
                                              : fmt::format("{}h {}min {}s", parts[0], parts[1], parts[2]);
  return QuantityError{tr("'{}' could be minutes or hours", text), std::string{time_example()}, meant};
}

/// What is wrong with a text that does not begin like a quantity.
std::optional<QuantityError> general_error(std::string_view text, std::string_view expected,
                                           std::string_view bare_example) {
  if (text.empty()) return QuantityError{tr("a value is missing"), std::string{expected}, ""};
  if (is_number(text)) {
    return QuantityError{
        tr("a bare number; add a unit, e.g. {}", fmt::format(fmt::runtime(bare_example), text)),
        std::string{expected}, ""};
  }
  if (text.front() == '-') return QuantityError{tr("it cannot be negative"), std::string{expected}, ""};
  const std::size_t comma = text.find(',');
  if (comma != std::string_view::npos && comma > 0 && is_digit(text[comma - 1])) {
    std::string with_point{text};
    with_point[comma] = '.';
    return QuantityError{tr("a decimal comma"), tr("a decimal point"), with_point};
  }
  return std::nullopt;
}

QuantityError not_a(std::string message, std::string_view expected) {
  return {std::move(message), std::string{expected}, ""};
}

/// One "number unit" off the front, in nanoseconds; units have to get smaller from one to the next.
Quantity<std::int64_t> take_time_part(std::string_view& text, std::int64_t& last_unit) {
  const std::string_view whole = text;
  const auto number = take_decimal(text);
  if (!number) return not_a(tr("'{}' is not a time", whole), time_example());
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  const std::size_t length = std::min(text.find_first_of(" 0123456789.-+,:"), text.size());
  const std::string_view name = text.substr(0, length);
  text.remove_prefix(length);
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  const auto unit =
      std::find_if(time_units.begin(), time_units.end(), [&](const Unit& u) { return u.name == name; });
  if (name.empty()) return not_a(tr("'{}' is not a time", whole), time_example());
  if (unit == time_units.end()) return unknown_time_unit(name);
  if (unit->size >= last_unit)
    return QuantityError{tr("units go from large to small"), std::string{time_example()}, ""};
  last_unit = unit->size;
  const auto value = whole_units(*number, unit->size);
  if (const auto* problem = std::get_if<Inexact>(&value)) {
    if (*problem == Inexact::too_large) return too_long();
    return QuantityError{tr("finer than a nanosecond"), std::string{time_example()}, ""};
  }
  return std::get<std::int64_t>(value);
}

/// A number (the sign allowed), then whatever follows; nothing when there is no finite number.
std::optional<double> take_double(std::string_view& text) {
  double value = 0;
  if (text.empty() || (!is_digit(text.front()) && text.front() != '-')) return std::nullopt;
#ifdef __cpp_lib_to_chars
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || !std::isfinite(value)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
#else
  // The library for browsers reads no decimals so; there is no locale there that could read them otherwise.
  const std::string digits{text.substr(0, text.find_first_not_of("0123456789+-.eE"))};
  char* end = nullptr;
  value = std::strtod(digits.c_str(), &end);
  if (end == digits.c_str() || !std::isfinite(value)) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - digits.c_str()));
#endif
  return value;
}

}  // namespace

Quantity<sim::Duration> parse_duration(std::string_view written) {
  std::string_view text = trimmed(written);
  if (auto error = general_error(text, time_example(), "{} s")) return *error;
  if (auto error = clock_error(text)) return *error;
  std::int64_t total = 0;
  std::int64_t last_unit = INT64_MAX;
  while (!text.empty()) {
    const Quantity<std::int64_t> part = take_time_part(text, last_unit);
    if (!part) return part.error();
    if (__builtin_add_overflow(total, *part, &total)) return too_long();
  }
  if (sim::Duration{total} > model::longest_run) return too_long();
  return sim::Duration{total};
}

Quantity<model::Level> parse_percent(std::string_view written) {
  const std::string_view expected = in_words_spoken(msg("a percentage from 0 to 100, such as 40%"));
  std::string_view text = trimmed(written);
  if (auto error = general_error(text, expected, "{} %")) return *error;
  const auto number = take_decimal(text);
  if (!number || trimmed(text) != "%") return not_a(tr("'{}' is not a percentage", written), expected);
  const auto tenths = whole_units(*number, 10);
  if (tenths == std::variant<std::int64_t, Inexact>{Inexact::too_fine}) {
    return QuantityError{tr("finer than a tenth of a percent"), std::string{expected}, ""};
  }
  const auto* level = std::get_if<std::int64_t>(&tenths);
  if (level == nullptr || *level > model::full_level)
    return QuantityError{tr("more than 100 %"), std::string{expected}, ""};
  return static_cast<model::Level>(*level);
}

Quantity<std::uint32_t> parse_bit_errors(std::string_view written) {
  const std::string_view expected =
      in_words_spoken(msg("a share of the bits, such as 1 in 1000, 0.1% or 1e-3"));
  std::string_view text = trimmed(written);
  const auto number = take_double(text);
  if (!number) return not_a(tr("'{}' is not a share of the bits", written), expected);
  text = trimmed(text);
  double share = *number;
  if (text == "%") {
    share /= 100;
  } else if (text.starts_with("in ")) {
    text = trimmed(text.substr(3));
    const auto of = take_double(text);
    if (!of || *of <= 0 || !text.empty())
      return not_a(tr("'{}' is not a share of the bits", written), expected);
    share /= *of;
  } else if (!text.empty()) {
    return not_a(tr("'{}' is not a share of the bits", written), expected);
  }
  const double ppb = std::round(share * 1e9);
  if (!(ppb >= 1 && ppb <= 5e8)) {
    return QuantityError{tr("out of range"),
                         tr(/* xgettext:no-c-format */ "from 1 in 1000000000 to 50% of the bits"), ""};
  }
  return static_cast<std::uint32_t>(ppb);
}

Quantity<std::int64_t> parse_bit_rate(std::string_view written) {
  const std::string_view expected = in_words_spoken(msg("a bit rate, such as 9600 bit/s or 38.4 kbit/s"));
  constexpr std::array<Unit, 3> units = {{{"bit/s", 1}, {"kbit/s", 1'000}, {"Mbit/s", 1'000'000}}};
  std::string_view text = trimmed(written);
  if (auto error = general_error(text, expected, "{} bit/s")) return *error;
  const auto number = take_decimal(text);
  const auto unit =
      std::find_if(units.begin(), units.end(), [&](const Unit& u) { return u.name == trimmed(text); });
  if (!number || unit == units.end()) return not_a(tr("'{}' is not a bit rate", written), expected);
  const auto value = whole_units(*number, unit->size);
  const auto* rate = std::get_if<std::int64_t>(&value);
  if (rate == nullptr || *rate < 1 || *rate > 1'000'000'000) {
    return QuantityError{tr("out of range"), tr("whole bits a second, 1 bit/s to 1000 Mbit/s"), ""};
  }
  return *rate;
}

Quantity<double> parse_with_unit(std::string_view written, std::string_view unit) {
  const std::string expected = tr("a number with its unit, such as 10 {}", unit);
  std::string_view text = trimmed(written);
  const std::string_view magnitude = text.starts_with('-') ? text.substr(1) : text;
  if (auto error = general_error(magnitude, expected, fmt::format("{{}} {}", unit))) return *error;
  const auto number = take_double(text);
  if (!number || trimmed(text) != unit)
    return not_a(tr("'{}' is not a number of {}", written, unit), expected);
  return *number;
}

Quantity<std::uint64_t> parse_whole(std::string_view written) {
  const std::string_view text = trimmed(written);
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc::result_out_of_range) return QuantityError{tr("'{}' is too large", text), "", ""};
  if (error != std::errc{} || end != text.data() + text.size())
    return not_a(tr("'{}' is not a whole number", text), in_words_spoken(msg("a whole number")));
  return value;
}

std::string exact_duration(sim::Duration duration) {
  constexpr std::int64_t second = 1'000'000'000;
  constexpr std::int64_t one_unit_up_to = 600 * second;  // people say 200 s, not 3 min 20 s
  std::int64_t rest = duration.count();
  if (rest == 0) return "0s";
  std::string text;
  for (const Unit& unit : time_units) {
    const bool whole_seconds = duration.count() <= one_unit_up_to && unit.size > second;
    if (unit.name == "µs" || whole_seconds || rest / unit.size == 0) continue;
    if (!text.empty()) text += ' ';
    text += fmt::format("{}{}", rest / unit.size, unit.name);
    rest %= unit.size;
  }
  return text;
}

std::string exact_percent(model::Level level) {
  return level % 10 == 0 ? fmt::format("{}%", level / 10) : fmt::format("{}.{}%", level / 10, level % 10);
}

std::string exact_bit_errors(std::uint32_t ppb) {
  if (ppb != 0 && 1'000'000'000 % ppb == 0) return fmt::format("1 in {}", 1'000'000'000 / ppb);
  return fmt::format("{}%", exact_decimal(ppb / 1e7));
}

std::string exact_decimal(double value) {
  return fmt::format("{}", value);
}

}  // namespace drybus::tools
