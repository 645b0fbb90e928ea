#include "tools/panel/gate.h"

#include <fmt/format.h>
#include <sys/random.h>

#include <array>
#include <cctype>

#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {

constexpr std::string_view join_query = "/?join=";

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

bool Gate::may_come_in(std::string_view cookies) const {
  if (token.empty()) return true;
  const std::string name = cookie_name() + "=";
  while (!cookies.empty()) {
    const std::size_t end = std::min(cookies.find(';'), cookies.size());
    const std::string_view cookie = trimmed(cookies.substr(0, end));
    if (cookie.starts_with(name) && equal_in_constant_time(cookie.substr(name.size()), token)) return true;
    cookies.remove_prefix(std::min(end + 1, cookies.size()));
  }
  return false;
}

bool Gate::is_join_link(std::string_view target) const {
  return !token.empty() && target.starts_with(join_query) &&
         equal_in_constant_time(target.substr(join_query.size()), token);
}

bool origin_fits(std::string_view origin, std::string_view host) {
  return !host.empty() && lower(origin) == "http://" + lower(host);
}

std::string random_token() {
  std::array<unsigned char, 16> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) {
    throw Unusable{"the system gave no random bits for the join link"};
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
