// Who may come in: a page on another site must not drive the bench through somebody's browser, and where the
// panel can be reached from other machines only those come in who were given the join link.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace drybus::tools {

struct Gate {
  std::uint16_t port = 0;
  std::string token = {};  ///< empty: whoever can reach the port may come in

  /// `host` names the machine by an address that the connection came in on (`local`: "127.0.0.1", "::1"), or
  /// as localhost when that is the loopback. Names that somebody else's name server could give are foreign.
  [[nodiscard]] bool host_is_ours(std::string_view host, std::string_view local) const;

  /// The token in a Cookie header is right, or none is needed.
  [[nodiscard]] bool may_come_in(std::string_view cookies) const;
  /// The target of a request is the join link's.
  [[nodiscard]] bool is_join_link(std::string_view target) const;

  [[nodiscard]] std::string join_target() const { return "/?join=" + token; }
  [[nodiscard]] std::string cookie_name() const;
};

/// The page that says so was loaded from `host`.
bool origin_fits(std::string_view origin, std::string_view host);

/// 128 random bits from the system, as 32 hexadecimal digits. Throws Unusable when the system has none to
/// give.
std::string random_token();

/// In a time that does not depend on where they differ.
bool equal_in_constant_time(std::string_view a, std::string_view b);

}  // namespace drybus::tools
