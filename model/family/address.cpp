#include "model/family/address.h"

#include <fmt/format.h>

#include <charconv>

namespace drybus::model {

std::string to_string(const Address& address) {
  return fmt::format("{}/{}/{}", address.site, address.zone, address.channel);
}

std::optional<Address> parse_address(std::string_view text) {
  std::uint8_t parts[3] = {};
  const char* at = text.data();
  const char* const end = at + text.size();
  for (int i = 0; i < 3; ++i) {
    if (i > 0) {
      if (at == end || *at != '/') return std::nullopt;
      ++at;
    }
    const auto [next, error] = std::from_chars(at, end, parts[i]);
    if (error != std::errc{}) return std::nullopt;
    at = next;
  }
  if (at != end) return std::nullopt;
  return Address{parts[0], parts[1], parts[2]};
}

}  // namespace drybus::model
