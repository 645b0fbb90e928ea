#include "tools/schedule/entries.h"

#include <boost/algorithm/string.hpp>
#include <charconv>
#include <cmath>
#include <vector>

#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr double most_watts = 1e6;

/// One number at the beginning of `text`, which it takes away.
std::optional<double> take_number(std::string_view& text, std::string& doubt) {
  std::string digits;
  std::size_t used = 0, mark = std::string::npos;
  for (; used < text.size(); ++used) {
    const char c = text[used];
    if (c >= '0' && c <= '9') {
      digits += c;
    } else if ((c == ',' || c == '.') && !digits.empty() && used + 1 < text.size() && text[used + 1] >= '0' &&
               text[used + 1] <= '9') {
      if (mark != std::string::npos) {  // 1.200,50: the earlier mark parts thousands
        digits.erase(mark, 1);
      }
      mark = digits.size();
      digits += '.';
    } else {
      break;
    }
  }
  if (digits.empty() || digits.size() > 12) return std::nullopt;
  const bool three_follow =
      mark != std::string::npos && digits.size() - mark == 4 && mark <= 3 && digits[0] != '0';
  if (three_follow) {
    digits.erase(mark, 1);
    doubt = tr("'{}' is taken as {}", text.substr(0, used), digits);
  }
  double value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  text.remove_prefix(used);
  return value;
}

void skip_blanks(std::string_view& text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
}

bool take_word(std::string_view& text, std::string_view word) {
  if (!boost::istarts_with(text, word)) return false;
  text.remove_prefix(word.size());
  return true;
}

/// "6 x 7.5 W"
std::optional<double> take_term(std::string_view& text, bool kilowatts, std::string& doubt) {
  skip_blanks(text);
  auto value = take_number(text, doubt);
  if (!value) return std::nullopt;
  skip_blanks(text);
  if (take_word(text, "x") || take_word(text, "*") || take_word(text, "×") || take_word(text, "× ")) {
    skip_blanks(text);
    const auto each = take_number(text, doubt);
    if (!each) return std::nullopt;
    *value *= *each;
    skip_blanks(text);
  }
  if (take_word(text, "kW")) {
    *value *= 1000;
  } else if (!take_word(text, "watts") && !take_word(text, "watt") && !take_word(text, "W") && kilowatts) {
    *value *= 1000;
  }
  skip_blanks(text);
  return value;
}

}  // namespace

LoadEntry parse_load(std::string_view text, bool kilowatts) {
  LoadEntry entry;
  double sum = 0;
  for (bool more = true; more;) {
    const auto term = take_term(text, kilowatts, entry.doubt);
    if (!term) return {};
    sum += *term;
    more = take_word(text, "+");
  }
  // 0.06 kW are 60 W, whatever the binary fraction says.
  sum = std::round(sum * 1000) / 1000;
  if (!text.empty() || !(sum >= 0 && sum <= most_watts)) return {};
  entry.watts = sum;
  return entry;
}

std::optional<model::Dimming> parse_dimming(std::string_view text) {
  std::string word;
  for (const char c : text) {
    if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z')) word += static_cast<char>(c | 0x20);
  }
  const auto is = [&word](std::initializer_list<std::string_view> words) {
    return std::find(words.begin(), words.end(), word) != words.end();
  };
  if (is({"leadingedge", "leading", "le", "phasecontrol", "triac"})) return model::Dimming::leading_edge;
  if (is({"trailingedge", "trailing", "te", "reversephase"})) return model::Dimming::trailing_edge;
  if (is({"switched", "switch", "onoff", "relay", "nondim", "nondimmed", "notdimmed", "none"}))
    return model::Dimming::switched;
  return std::nullopt;
}

model::Dimming usual_dimming(const model::Family* family, double watts) {
  if (family != nullptr) {
    for (const model::Dimming method :
         {model::Dimming::trailing_edge, model::Dimming::leading_edge, model::Dimming::switched}) {
      for (const model::LoadRating& rating : family->module.ratings) {
        if (rating.method == method && watts >= rating.least_w && watts <= rating.most_w) return method;
      }
    }
  }
  return model::Dimming::trailing_edge;
}

std::optional<bool> parse_yes(std::string_view text) {
  const std::string word = boost::to_lower_copy(std::string{text});
  for (const char* yes : {"yes", "y", "x", "true", "1", "\xE2\x9C\x93", "\xE2\x9C\x94"}) {
    if (word == yes) return true;
  }
  for (const char* no : {"no", "n", "false", "0", "-", ""}) {
    if (word == no) return false;
  }
  return std::nullopt;
}

std::optional<std::uint8_t> parse_number(std::string_view text) {
  unsigned number = 0;
  if (text.ends_with(".0") || text.ends_with(",0")) text.remove_suffix(2);
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size() || number > 255) return std::nullopt;
  return static_cast<std::uint8_t>(number);
}

}  // namespace drybus::tools
