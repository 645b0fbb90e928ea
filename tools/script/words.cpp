#include "tools/script/words.h"

#include <algorithm>
#include <array>

#include "model/devices/device.h"
#include "model/findings/findings.h"
#include "model/people/script.h"

namespace drybus::tools::words {

namespace {

template <class Enum>
std::span<const std::string_view> all() {
  static const auto names = [] {
    sim::ByEnum<Enum, std::string_view> words;
    for (const Enum each : sim::all_of<Enum>()) words[each] = to_string(each);
    return words;
  }();
  return {names.begin(), names.end()};
}

}  // namespace

std::span<const std::string_view> power_ups() {
  return all<model::PowerUp>();
}
std::span<const std::string_view> dimmings() {
  return all<model::Dimming>();
}
std::span<const std::string_view> modes() {
  return all<model::Mode>();
}
std::span<const std::string_view> patterns() {
  return all<model::Pattern>();
}
std::span<const std::string_view> facts() {
  return all<model::Fact>();
}
std::span<const std::string_view> findings() {
  return all<model::FindingId>();
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
