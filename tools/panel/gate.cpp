#include "tools/panel/gate.h"

#include <fmt/format.h>
#include <sys/random.h>

#include <array>
#include <cctype>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr std::array roles = {Role::trainer, Role::pupil, Role::onlooker};

constexpr std::string_view query_of(Role role) {
  switch (role) {
    case Role::trainer:
      return "/?lead=";
    case Role::pupil:
      return "/?join=";
    case Role::onlooker:
      return "/?watch=";
  }
  return "";
}

std::string lower(std::string_view text) {
  std::string lowered{text};
  for (char& letter : lowered) letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
  return lowered;
}

bool is_loopback(std::string_view address) {
  return address.starts_with("127.") || address == "::1";
}

std::string with_port(std::string_view host, std::uint16_t port) {
  return fmt::format("{}:{}", host, port);
}

std::string bracketed(std::string_view address) {
  const bool six = address.find(':') != std::string_view::npos;
  return six ? fmt::format("[{}]", address) : std::string{address};
}

std::string_view trimmed(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

}  // namespace

bool Gate::host_is_ours(std::string_view host, std::string_view local) const {
  const std::string named = lower(host);
  const auto is = [&](std::string_view name) {
    return named == with_port(name, port) || (port == 80 && named == name);
  };
  return is(lower(bracketed(local))) || (is_loopback(local) && is("localhost"));
}

std::string Gate::cookie_name() const {
  return fmt::format("drybus_join_{}", port);
}

const std::string& Gate::token_of(Role role) const {
  switch (role) {
    case Role::trainer:
      return trainer_key;
    case Role::pupil:
      return token;
    case Role::onlooker:
      return onlooker_token;
  }
  return token;
}

std::string Gate::link_target(Role role) const {
  return std::string{query_of(role)} + token_of(role);
}

std::optional<Role> Gate::role_of(std::string_view cookies) const {
  if (token.empty()) return Role::trainer;
  const std::string name = cookie_name() + "=";
  while (!cookies.empty()) {
    const std::size_t end = std::min(cookies.find(';'), cookies.size());
    const std::string_view cookie = trimmed(cookies.substr(0, end));
    for (const Role role : roles) {
      const std::string& wanted = token_of(role);
      if (!wanted.empty() && cookie.starts_with(name) &&
          equal_in_constant_time(cookie.substr(name.size()), wanted))
        return role;
    }
    cookies.remove_prefix(std::min(end + 1, cookies.size()));
  }
  return std::nullopt;
}

std::optional<Role> Gate::role_of_link(std::string_view target) const {
  for (const Role role : roles) {
    const std::string_view query = query_of(role);
    const std::string& wanted = token_of(role);
    if (!wanted.empty() && target.starts_with(query) &&
        equal_in_constant_time(target.substr(query.size()), wanted))
      return role;
  }
  return std::nullopt;
}

bool origin_fits(std::string_view origin, std::string_view host) {
  return !host.empty() && lower(origin) == "http://" + lower(host);
}

std::string random_token() {
  std::array<unsigned char, 16> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) {
    throw Unusable{tr("the system gave no random bits for the join link")};
  }
  return fmt::format("{:02x}", fmt::join(bytes, ""));
}

bool equal_in_constant_time(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return false;
  unsigned differences = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    differences |= static_cast<unsigned char>(a[i]) ^ static_cast<unsigned>(static_cast<unsigned char>(b[i]));
  }
  return differences == 0;
}

}  // namespace drybus::tools
