#include "tools/panel/reachable.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <array>
#include <memory>

namespace drybus::tools {

namespace {

bool is_any(const std::string& address) {
  return address == "0.0.0.0" || address == "::";
}

std::string bracketed(const std::string& address) {
  return address.find(':') == std::string::npos ? address : "[" + address + "]";
}

/// The addresses by which other machines may reach this one.
std::vector<std::string> own_addresses() {
  ifaddrs* first = nullptr;
  if (getifaddrs(&first) != 0) return {};
  const std::unique_ptr<ifaddrs, void (*)(ifaddrs*)> all{first, freeifaddrs};
  std::vector<std::string> addresses;
  for (const ifaddrs* each = first; each != nullptr; each = each->ifa_next) {
    const bool usable = each->ifa_addr != nullptr && each->ifa_addr->sa_family == AF_INET &&
                        (each->ifa_flags & IFF_LOOPBACK) == 0 && (each->ifa_flags & IFF_UP) != 0;
    if (!usable) continue;
    std::array<char, INET_ADDRSTRLEN> text{};
    const auto* address = reinterpret_cast<const sockaddr_in*>(each->ifa_addr);
    if (inet_ntop(AF_INET, &address->sin_addr, text.data(), text.size()) != nullptr)
      addresses.emplace_back(text.data());
  }
  return addresses;
}

}  // namespace

std::vector<std::string> reached_at(const std::string& address) {
  if (!is_any(address)) return {address};
  std::vector<std::string> addresses = own_addresses();
  addresses.emplace_back("127.0.0.1");
  return addresses;
}

std::string page_url(const std::string& address, std::uint16_t port, const std::string& target) {
  return fmt::format("http://{}:{}{}", bracketed(address), port, target);
}

}  // namespace drybus::tools
