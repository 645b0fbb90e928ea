// drybus panel: a live page in the browser, to press, hold, see and step back.

#include <algorithm>
#include <filesystem>
#include <utility>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/commands/command.h"
#include "tools/commands/panel_shelf.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/language.h"
#include "tools/options/log_choice.h"
#include "tools/panel/gate.h"
#include "tools/panel/qr_code.h"
#include "tools/panel/reachable.h"
#include "tools/panel/server.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
using model::msg;
using model::tr;

constexpr std::uint16_t usual_port = 8471;

std::uint16_t port_of(const CommandLine& line) {
  if (!line.has("port")) return usual_port;
  return static_cast<std::uint16_t>(line.number("port", 0, 65'535));
}

void announce_to_all(const ServerOptions& options, std::uint16_t port) {
  const Gate gate{port, options.token, options.trainer_key, options.onlooker_token};
  print_err(
      "drybus: " +
      tr("the panel can be reached from other machines, over a line that is not encrypted. Whoever has a\n"
         "link can see the bench; do not leave it open on a network you do not trust.") +
      "\n");
  const std::vector<std::string> addresses = reached_at(options.address);
  for (const std::string& address : addresses) {
    print_out(tr("pupils join at {}", page_url(address, port, gate.link_target(Role::pupil))) + "\n");
    print_out(tr("  onlookers at {}", page_url(address, port, gate.link_target(Role::onlooker))) + "\n");
    print_out(tr("      you lead {}", page_url(address, port, gate.link_target(Role::trainer))) + "\n");
  }
  print_out(tr("Keep the last one to yourself: who opens it has the clock, the stops, the curtain and the "
               "controls.") +
            "\n\n");
  print_out(tr("For pupils' telephones:") + "\n" +
            qr_blocks(page_url(addresses.front(), port, gate.link_target(Role::pupil))));
}

/// What the folder keeps from the last time, the links with it.
void go_on_from(const std::string& folder, const Task& task, ServerOptions& options) {
  options.keep.folder = folder;
  options.kept = read_kept(folder, task.story);
  if (!options.kept) return;
  if (options.kept_class) options.kept_class->own = read_kept_own(folder, task.story);
  const KeptLinks& links = options.kept->links;
  if (options.token.empty() || links.token.empty()) return;
  options.token = links.token;
  options.trainer_key = links.trainer_key;
  options.onlooker_token = links.onlooker_token;
}

/// What is open: the file that was named; of a folder what was open the last time, or nothing before somebody chooses.
Task first_task(const std::string& path, const FirmwareChoice& firmware, ServerOptions& options) {
  if (!std::filesystem::is_directory(path)) return load_task(path, firmware);
  options.shelf = read_shelf(path, firmware);
  const std::string opened = options.kept_class ? options.kept_class->workshop.opened : "";
  const auto can_be_opened = [&](const Offer& offer) {
    return offer.trouble.empty() && (opened.empty() || offer.path == opened);
  };
  const auto& offers = options.shelf.offers;
  const auto found = std::find_if(offers.begin(), offers.end(), can_be_opened);
  options.choosing = opened.empty();
  if (found == offers.end())
    throw Unusable{
        tr("{}: what was open the last time, {}, is not there any more or cannot be opened; name another "
           "folder with --keep",
           path, opened)};
  return options.shelf.load(*found);
}

void offer_options(CommandLine& line) {
  line.add()("port", po::value<std::string>(),
             tr("serve there; 0: any port that is free ({} unless said)", usual_port).c_str());
  line.add()(
      "listen", po::value<std::string>(),
      msg("let other machines in, at this address of ours (0.0.0.0: all of them); pupils and onlookers "
          "come by a link of their own, and you lead by another")
          .data());
  line.add()("each", msg("with --listen: every pupil has a bench of their own, from the start").data());
  line.add()("keep", po::value<std::string>(),
             msg("a folder that keeps the bench, who is there and the links: it goes on as it was").data());
  line.offer_output(
      "results",
      msg("with --listen: bring this CSV up to date with how each pupil fared, by numbers").data());
  line.add()("names", msg("the names that pupils gave in that file, too").data());
  offer_language(line,
                 tr("that the page speaks: {}; else what the browser that opens it first would rather read",
                    language_choice()));
}

void read_links(const CommandLine& line, ServerOptions& options) {
  const auto address = line.optional_text("listen");
  for (const char* each : {"each", "results"}) {
    if (!address && line.has(each))
      throw Unusable{tr("--{} needs --listen: without it there are no pupils", each)};
  }
  if (line.has("names") && !line.has("results"))
    throw Unusable{tr("--names needs --results: it says what stands there")};
  if (!address) return;
  options.address = *address;
  options.token = random_token();
  options.trainer_key = random_token();
  options.onlooker_token = random_token();
  options.each = line.has("each");
}

void read_results(const CommandLine& line, ServerOptions& options) {
  if (!line.has("results")) return;
  options.keep.results = line.text("results");
  options.keep.names = line.has("names");
  allow_update(*options.keep.results);
}

}  // namespace

int panel_command(Arguments arguments) {
  CommandLine line{"drybus panel SCENARIO|LESSON|FOLDER [options]"};
  line.take_words(msg("a scenario, a lesson or a folder of them"), 1, 1);
  offer_options(line);
  offer_log(line,
            msg("add what happens at the panel to a file: who comes, who is refused, who saves").data());
  offer_firmware(line);
  if (!line.parse(arguments)) return exit_fine;
  const FirmwareChoice firmware = read_firmware(line);
  firmware.put_back();
  ServerOptions options;
  options.port = port_of(line);
  read_links(line, options);
  read_results(line, options);
  options.language = read_language(line).value_or("");
  const auto folder = line.optional_text("keep");
  if (folder) {
    if (auto kept = read_kept_class(*folder)) options.kept_class = KeptClass{std::move(*kept), {}};
  }
  Task task = first_task(line.words()[0], firmware, options);
  if (folder) go_on_from(*folder, task, options);
  options.log = read_log(line, "panel", task.story.sources, true);
  Server server{std::move(task), options};
  if (options.token.empty()) {
    print_out(tr("the panel is at {}", page_url(options.address, server.port(), "/")) + "\n");
  } else {
    announce_to_all(options, server.port());
  }
  print_out(tr("Ctrl-C ends it.") + "\n");
  const model::Speaking as_the_class_does{nullptr};  // the reception says in which words
  server.run();
  return exit_fine;
}

}  // namespace drybus::tools
