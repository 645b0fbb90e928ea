#include "tools/commands/call_page.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>
#include <utility>

#include "model/handover/round.h"
#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/call/begun.h"
#include "tools/commands/planned_site.h"
#include "tools/load/load.h"
#include "tools/options/log_choice.h"
#include "tools/panel/call/call_reception.h"
#include "tools/panel/gate.h"
#include "tools/panel/reachable.h"
#include "tools/panel/server.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;

constexpr std::uint16_t usual_port = 8472;

/// The site with the addresses that `drybus plan` gives it.
LoadedScenario with_plan(LoadedSite site, const std::string& path, const std::string& title) {
  LoadedScenario loaded;
  loaded.scenario.title = title;
  loaded.family_ref = site.family_ref;
  loaded.family_file = site.family_file;
  loaded.other_families = site.other_families;
  loaded.spots = site.spots;
  const PlanReport plan = planned(path, std::move(site), {});
  if (!plan.plan.clashes.empty()) {
    throw Unusable{
        tr("{}: it has to be planned before anybody can call about it: drybus plan {}", path, path) + "\n" +
        clashes_text(plan)};
  }
  loaded.scenario.site = model::built(plan.plan).site;
  return loaded;
}

ServerOptions server_options(const CommandLine& line) {
  ServerOptions options;
  options.port = line.has("port") ? static_cast<std::uint16_t>(line.number("port", 0, 65'535)) : usual_port;
  if (const auto address = line.optional_text("listen")) {
    options.address = *address;
    options.token = random_token();
    options.trainer_key = random_token();
    options.onlooker_token = random_token();
  }
  return options;
}

/// Whoever leads writes, and onlookers look on.
void tell_where(const ServerOptions& options, std::uint16_t port) {
  if (options.token.empty()) {
    print_out(tr("its page is at {}", page_url(options.address, port, "/")) + "\n");
    return;
  }
  const Gate gate{port, options.token, options.trainer_key, options.onlooker_token};
  print_err(
      "drybus: " +
      tr("the call can be reached from other machines, over a line that is not encrypted. Whoever has a\n"
         "link can read it; do not leave it open on a network you do not trust.") +
      "\n");
  for (const std::string& address : reached_at(options.address)) {
    print_out(tr("others look on at {}", page_url(address, port, gate.link_target(Role::onlooker))) + "\n");
    print_out(tr("you write at {}", page_url(address, port, gate.link_target(Role::trainer))) + "\n");
  }
}

}  // namespace

void offer_page(CommandLine& line) {
  line.add()("page", msg("write it on a page in the browser, in place of the terminal").data());
  line.add()(
      "site", po::value<std::string>(),
      msg("with a FILE that is not there yet: a call on this site, with the addresses of its plan").data());
  line.add()("port", po::value<std::string>(),
             tr("serve the page there; 0: any port that is free ({} unless said)", usual_port).c_str());
  line.add()(
      "listen", po::value<std::string>(),
      msg("let other machines in, at this address of ours (0.0.0.0: all of them): one link writes, another "
          "looks on")
          .data());
  offer_log(line, msg("add what happens at the page to a file").data());
}

void begin_on(CallFile& file, const std::string& site) {
  if (!file.text().empty()) throw Unusable{tr("{} is there already: --site is for a new call", file.path())};
  LoadedSite loaded = load_site(site);
  const std::string title = std::filesystem::path{site}.stem().string();
  const auto& modules = loaded.site.modules;
  const bool complete = std::all_of(modules.begin(), modules.end(), [](const model::ModuleSpec& module) {
    return module.neighbour || module.intended || module.memory.address.channel != 0;
  });
  file.set_report(
      complete ? begun_on(site, file.path(), title)
               : begun_with(with_plan(std::move(loaded), site, title), Before::addressed, file.path()));
}

int serve_page(CallFile file, const CommandLine& line) {
  ServerOptions options = server_options(line);
  const std::string path = file.path();
  const model::Catalogue catalogue = load_catalogue(path, line.optional_text("catalogue"));
  options.log = read_log(line, "call", {}, true);
  Server server{[&](boost::asio::io_context& io) {
                  return std::make_unique<CallReception>(io, std::move(file), catalogue, options.bounds,
                                                         options.log);
                },
                options};
  print_out(tr("the call is kept in {}", path) + "\n");
  tell_where(options, server.port());
  print_out(tr("Ctrl-C ends it.") + "\n");
  server.run();
  return exit_fine;
}

}  // namespace drybus::tools
