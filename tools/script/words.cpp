#include "tools/script/words.h"

#include <algorithm>
#include <array>

#include "model/devices/device.h"
#include "model/findings/findings.h"
#include "model/people/script.h"

namespace drybus::tools::words {

namespace {

template <class Enum, std::size_t count>
std::span<const std::string_view> all() {
  static const auto names = [] {
    std::array<std::string_view, count> words;
    for (std::size_t i = 0; i < count; ++i) words[i] = to_string(static_cast<Enum>(i));
    return words;
  }();
  return names;
}

template <class Enum>
constexpr std::size_t up_to(Enum last) {
  return static_cast<std::size_t>(last) + 1;
}

}  // namespace

std::span<const std::string_view> power_ups() {
  return all<model::PowerUp, up_to(model::PowerUp::last)>();
}
std::span<const std::string_view> dimmings() {
  return all<model::Dimming, up_to(model::Dimming::switched)>();
}
std::span<const std::string_view> modes() {
  return all<model::Mode, up_to(model::Mode::setup)>();
}
std::span<const std::string_view> patterns() {
  return all<model::Pattern, up_to(model::Pattern::refuse)>();
}
std::span<const std::string_view> facts() {
  return all<model::Fact, up_to(model::Fact::findings)>();
}
std::span<const std::string_view> findings() {
  return all<model::FindingId, model::finding_count>();
}

std::vector<Part> split(std::string_view text) {
  std::vector<Part> parts;
  for (std::size_t at = text.find_first_not_of(" \t\n"); at != std::string_view::npos;) {
    const std::size_t end = std::min(text.find_first_of(" \t\n", at), text.size());
    parts.push_back({text.substr(at, end - at), at});
    at = text.find_first_not_of(" \t\n", end);
  }
  return parts;
}

}  // namespace drybus::tools::words
