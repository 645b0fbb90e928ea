#include "tools/call/told_step.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <initializer_list>
#include <optional>
#include <vector>

#include "model/words/words.h"
#include "tools/call/said.h"
#include "tools/call/written.h"

namespace drybus::tools {

namespace {

constexpr std::string_view how_to_tell = model::msg(
    "'addressed A, B with PLATE', 'press DEVICE BUTTON', 'hold DEVICE BUTTON for 4s', 'wait 2 min', 'go to "
    "ROOM', 'power "
    "off', 'saw DEVICE blink'");

/// What follows one of these words, when the line begins with it.
std::optional<std::string> after(const std::string& line,
                                 std::initializer_list<std::string_view> beginnings) {
  for (const std::string_view beginning : beginnings) {
    if (line.starts_with(beginning)) return line.substr(beginning.size());
  }
  return std::nullopt;
}

std::string list_of(const std::string& names) {
  std::vector<std::string> all;
  std::size_t at = 0;
  while (at <= names.size()) {
    std::size_t end = std::min(names.find(',', at), names.size());
    std::string name = names.substr(at, end - at);
    name.erase(0, name.find_first_not_of(' '));
    if (!name.empty()) all.push_back(in_quotes(name));
    at = end + 1;
  }
  return fmt::format("{}", fmt::join(all, ", "));
}

QuantityError step_not_understood(const std::string& line) {
  return {model::tr("'{}' is not understood", line), std::string{model::in_words_spoken(how_to_tell)}, {}};
}

Quantity<std::string> plain_step(const model::Site& site, const std::string& line) {
  if (const auto rest = after(line, {"addressed ", "address "})) {
    const std::size_t with = rest->rfind(" with ");
    if (with == std::string::npos) return step_not_understood(line);
    return fmt::format("addressed: {{with: {}, modules: [{}]}}", in_quotes(rest->substr(with + 6)),
                       list_of(rest->substr(0, with)));
  }
  if (const auto rest = after(line, {"press ", "pressed "}))
    return fmt::format("press: {}", in_quotes(*rest));
  if (const auto rest = after(line, {"hold ", "held "})) {
    const std::size_t length = rest->rfind(" for ");
    if (length == std::string::npos) return step_not_understood(line);
    return fmt::format("hold: {}, for: {}", in_quotes(rest->substr(0, length)),
                       in_quotes(rest->substr(length + 5)));
  }
  if (const auto rest = after(line, {"wait ", "waited "})) return fmt::format("wait: {}", in_quotes(*rest));
  if (const auto rest = after(line, {"go to the ", "went to the ", "go to ", "went to ", "walk to "}))
    return fmt::format("walk: {}", in_quotes(*rest));
  if (line == "power off" || line == "power on") return fmt::format("power: {}", line.substr(6));
  if (const auto rest = after(line, {"saw ", "seen "})) {
    const auto said = parse_said(site, *rest);
    if (!said) return said.error();
    return fmt::format("seen: {{{}.{}: {}}}", site.name((*said).device), to_string((*said).fact),
                       (*said).what);
  }
  return step_not_understood(line);
}

}  // namespace

Quantity<std::string> told_step(const model::Site& site, const std::string& line) {
  const auto unsure = after(line, {"perhaps ", "maybe "});
  const auto step = plain_step(site, unsure.value_or(line));
  if (!step) return step.error();
  return fmt::format("{{{}{}}}", *step, unsure ? ", unsure: yes" : "");
}

}  // namespace drybus::tools
