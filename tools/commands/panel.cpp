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
#include "tools/panel/qr_code.h"
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
  const Gate gate{port, options.token, options.trainer_key, options.onlooker_token};
  print_err(
      "drybus: the panel can be reached from other machines, over a line that is not encrypted. Whoever has "
      "a\n"
      "link can see the bench; do not leave it open on a network you do not trust.\n");
  std::vector<std::string> addresses{options.address};
  if (is_any(options.address)) addresses = own_addresses();
  if (is_any(options.address)) addresses.emplace_back("127.0.0.1");
  for (const std::string& address : addresses) {
    print_out(fmt::format("pupils join at {}\n", url(address, port, gate.link_target(Role::pupil))));
    print_out(fmt::format("  onlookers at {}\n", url(address, port, gate.link_target(Role::onlooker))));
    print_out(fmt::format("      you lead {}\n", url(address, port, gate.link_target(Role::trainer))));
  }
  print_out("Keep the last one to yourself: who opens it has the clock, the stops, the curtain and the controls.\n\n");
  print_out(fmt::format("For pupils' telephones:\n{}", qr_blocks(url(addresses.front(), port, gate.link_target(Role::pupil)))));
}

/// What the folder keeps from the last time, the links with it.
void go_on_from(const std::string& folder, const LoadedScenario& loaded, ServerOptions& options) {
  options.keep = folder;
  options.kept = read_kept(folder, loaded);
  if (!options.kept) return;
  const KeptLinks& links = options.kept->links;
  if (options.token.empty() || links.token.empty()) return;
  options.token = links.token;
  options.trainer_key = links.trainer_key;
  options.onlooker_token = links.onlooker_token;
}

}  // namespace

int panel_command(Arguments arguments) {
  CommandLine line{"drybus panel SCENARIO [options]"};
  line.take_words("a scenario", 1, 1);
  line.add()("port", po::value<std::string>(),
             fmt::format("serve there; 0: any port that is free ({} unless said)", usual_port).c_str());
  line.add()(
      "listen", po::value<std::string>(),
      "let other machines in, at this address of ours (0.0.0.0: all of them); pupils and onlookers come by a link of their own, and you lead by another");
  line.add()("keep", po::value<std::string>(), "a folder that keeps the bench, who is there and the links: it goes on as it was");
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
    options.trainer_key = random_token();
    options.onlooker_token = random_token();
  }
  LoadedScenario loaded = load_scenario(line.words()[0]);
  if (const auto folder = line.optional_text("keep")) go_on_from(*folder, loaded, options);
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
