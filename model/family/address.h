// Site, zone, channel: the three parts of an address, written 23/4/1.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>

#include "sim/fields.h"

namespace drybus::model {

/// A stored or intended address. Channel 0 and zone 0 cannot be assigned; a module whose channel is 0 is unaddressed.
struct Address {
  std::uint8_t site = 0;
  std::uint8_t zone = 0;
  std::uint8_t channel = 0;
  friend auto operator<=>(const Address&, const Address&) = default;

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_state;
    return std::tuple{field(&Address::site, in_state | in_hidden),
                      field(&Address::zone, in_state | in_hidden),
                      field(&Address::channel, in_state | in_hidden)};
  }
};

/// "23/4/1".
std::string to_string(const Address& address);

/// Reads "23/4/1"; nothing when the text is not three whole numbers of 0 to 255 between two slashes.
std::optional<Address> parse_address(std::string_view text);

}  // namespace drybus::model
