// drybus panel: a live page in the browser, to press, hold, see and step back.
#include <arpa/inet.h>
#include <fmt/format.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <array>
#include <memory>
#include <utility>

#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/log_choice.h"
#include "tools/panel/gate.h"
#include "tools/panel/server.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;

constexpr std::uint16_t usual_port = 8471;

std::uint16_t port_of(const CommandLine& line) {
  if (!line.has("port")) return usual_port;
  return static_cast<std::uint16_t>(line.number("port", 0, 65'535));
}

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

std::string url(const std::string& address, std::uint16_t port, const std::string& target) {
  return fmt::format("http://{}:{}{}", bracketed(address), port, target);
}

void announce_to_all(const ServerOptions& options, std::uint16_t port) {
  const std::string target = Gate{port, options.token}.join_target();
  print_err(
      "drybus: the panel can be reached from other machines, over a line that is not encrypted. Whoever has "
      "the\n"
      "join link can see the bench and ask for its controls; do not leave it open on a network you do not "
      "trust.\n");
  std::vector<std::string> addresses{options.address};
  if (is_any(options.address)) addresses = own_addresses();
  if (is_any(options.address)) addresses.emplace_back("127.0.0.1");
  for (const std::string& address : addresses)
    print_out(fmt::format("join at {}\n", url(address, port, target)));
}

}  // namespace

int panel_command(Arguments arguments) {
  CommandLine line{"drybus panel SCENARIO [options]"};
  line.take_words("a scenario", 1, 1);
  line.add()("port", po::value<std::string>(),
             fmt::format("serve there; 0: any port that is free ({} unless said)", usual_port).c_str());
  line.add()(
      "listen", po::value<std::string>(),
      "let other machines in, at this address of ours (0.0.0.0: all of them); they need the join link");
  offer_log(line, "add what happens at the panel to a file: who comes, who is refused, who saves");
  offer_firmware(line);
  if (!line.parse(arguments)) return exit_fine;
  const FirmwareChoice firmware = read_firmware(line);
  firmware.put_back();
  ServerOptions options;
  options.port = port_of(line);
  if (const auto address = line.optional_text("listen")) {
    options.address = *address;
    options.token = random_token();
  }
  LoadedScenario loaded = load_scenario(line.words()[0]);
  options.log = read_log(line, "panel", loaded.sources, true);
  firmware.put_in(loaded.scenario);
  Server server{std::move(loaded), options};
  if (options.token.empty()) {
    print_out(fmt::format("the panel is at {}\n", url(options.address, server.port(), "/")));
  } else {
    announce_to_all(options, server.port());
  }
  print_out("Ctrl-C ends it.\n");
  server.run();
  return exit_fine;
}

}  // namespace drybus::tools
