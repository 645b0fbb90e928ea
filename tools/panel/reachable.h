// Where a page that is served can be opened.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace drybus::tools {

/// The addresses at which a server that listens on `address` is found: that one; where it is all of this machine's, each
/// of those, the loopback last.
std::vector<std::string> reached_at(const std::string& address);

/// "http://192.168.1.20:8471/"
std::string page_url(const std::string& address, std::uint16_t port, const std::string& target);

}  // namespace drybus::tools
