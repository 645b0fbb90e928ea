// Who may come in: a page on another site must not drive the bench through somebody's browser, and where the
// panel can be reached from other machines only those come in who were given the join link.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "tools/panel/role.h"

namespace drybus::tools {

struct Gate {
  std::uint16_t port = 0;
  std::string token = {};  ///< of pupils; empty: whoever can reach the port may come in
  std::string trainer_key = {};
  std::string onlooker_token = {};

  /// `host` names the machine by an address that the connection came in on (`local`: "127.0.0.1", "::1"), or
  /// as localhost when that is the loopback. Names that somebody else's name server could give are foreign.
  [[nodiscard]] bool host_is_ours(std::string_view host, std::string_view local) const;

  /// What the token in a Cookie header lets somebody in as; where none is needed everybody is alike. Nothing: they stay out.
  [[nodiscard]] std::optional<Role> role_of(std::string_view cookies) const;
  /// Whose link the target of a request is.
  [[nodiscard]] std::optional<Role> role_of_link(std::string_view target) const;

  [[nodiscard]] const std::string& token_of(Role role) const;
  /// "/?join=..."
  [[nodiscard]] std::string link_target(Role role) const;
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
