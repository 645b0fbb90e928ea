#include "tools/commands/bridge.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <filesystem>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/interruptible.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/bridge/session.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/log_choice.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::plural;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

model::DeviceId device_named(const model::Site& site, const std::string& name) {
  if (const auto device = site.find_device(name)) return *device;
  std::vector<std::string> names;
  for (std::size_t i = 0; i < site.device_count(); ++i)
    names.push_back(site.name(static_cast<model::DeviceId>(i)));
  throw Unusable{tr("--as {}: the site has no such device.{}", name, did_you_mean(name, names))};
}

SessionOptions session_options(const CommandLine& line, const model::Scenario& scenario, const Log& log) {
  SessionOptions options;
  if (!line.has("as"))
    throw Unusable{tr("--as says which device of the site is at the other end of the line")};
  options.device = device_named(scenario.site, line.text("as"));
  options.pace = line.has("real-time") || line.has("speed") ? Pace::real_time : Pace::lock_step;
  if (line.has("speed")) options.speed = static_cast<double>(line.number("speed", 1, 1000));
  if (line.has("until")) options.until = line.duration("until");
  options.patience = std::chrono::duration_cast<std::chrono::milliseconds>(line.duration("patience"));
  options.budget = read_budget(line);
  const std::string name = scenario.site.name(options.device);
  options.tell = [name, log](const std::string& what) {
    log.info("{}: {}", name, what);
    print_err(fmt::format("drybus: {}: {}\n", name, what));
  };
  return options;
}

void tell_end(const Log& log, const std::string& name, const SessionResult& result) {
  log.info("{} was told {} things and did {}; {} messages could not be read; the run ended at {}, digest {}",
           name, result.told, result.acts, result.unreadable, model::clock_text(result.ended),
           result.digest.hex());
  if (!result.ended_early.empty()) log.warn("{} did not take part to the end: {}", name, result.ended_early);
}

PortOptions bridge_port(const CommandLine& line) {
  if (!line.has("port")) {
    throw Unusable{
        tr("--port says where the device is: the path of a serial port, unix:PATH, or tcp:HOST:PORT")};
  }
  PortOptions port;
  port.where = parse_where(line.text("port"));
  port.lines = line.has("lines");
  port.from_anywhere = line.has("from-anywhere");
  port.baud = static_cast<std::uint32_t>(line.number("baud", 50, 4'000'000));
  return port;
}

/// What the session left, run again from its file's text as anybody would.
model::RunResult replayed(const std::string& text, const std::filesystem::path& path) {
  auto again = read_scenario_text(text, path);
  if (!again) throw std::logic_error{"what was saved cannot be read:\n" + to_text(again.problems())};
  return model::run(again.value().scenario);
}

std::string saved_text(const LoadedScenario& loaded, const Session& session, const std::string& output) {
  const model::Speaking english{nullptr};
  LoadedScenario saved = loaded;
  saved.scenario = session.scenario();
  WriteOptions options;
  if (!output.empty() && output != "-") options.folder = std::filesystem::absolute(output).parent_path();
  return write_scenario(saved, options);
}

json::object as_json(const model::Scenario& scenario, const SessionOptions& options,
                     const SessionResult& session, const model::RunResult& replay) {
  json::array findings;
  for (const model::Finding& finding : replay.findings) findings.emplace_back(to_string(finding.id));
  return {
      {"scenario", scenario.title},
      {"device", scenario.site.name(options.device)},
      {"pace", options.pace == Pace::lock_step ? "lock-step" : "real-time"},
      {"told", session.told},
      {"acts", session.acts},
      {"unreadable", session.unreadable},
      {"off_time", session.off_time},
      {"without_power", session.without_power},
      {"ended_early", session.ended_early.empty() ? json::value(nullptr) : json::value(session.ended_early)},
      {"ended_at_s", sim::seconds(session.ended)},
      {"digest", session.digest.hex()},
      {"replays", session.digest == replay.digest},
      {"passed", replay.passed()},
      {"findings", std::move(findings)}};
}

std::string as_text(const model::Scenario& scenario, const SessionOptions& options,
                    const SessionResult& session, const model::RunResult& replay, const std::string& output) {
  const std::string name = scenario.site.name(options.device);
  std::string text = tr("{} was told {} things and did {}; ended at {}; digest {}\n", name, session.told,
                        session.acts, model::clock_text(session.ended), session.digest.hex());
  std::size_t failed = 0;
  for (const model::CheckResult& check : replay.checks) {
    if (check.passed) continue;
    ++failed;
    text += tr("  FAILS {}: {}; in fact {}\n", model::clock_text(check.at),
               describe(scenario, scenario.checks[check.check]), check.actual);
  }
  text +=
      tr("{}, {} failed; {}\n", plural("{} check", "{} checks", replay.checks.size(), replay.checks.size()),
         failed, plural("{} finding", "{} findings", replay.findings.size(), replay.findings.size()));
  if (!session.ended_early.empty())
    text += tr("{} did not take part to the end: {}\n", name, session.ended_early);
  if (!output.empty()) text += tr("saved to {}, which replays to the same digest without the line\n", output);
  return text;
}

}  // namespace

int bridge_command(Arguments arguments) {
  CommandLine line{"drybus bridge SCENARIO --port WHERE --as DEVICE [options]"};
  line.take_words(tr("a scenario"), 1, 1);
  line.add()(
      "port", po::value<std::string>(),
      msg("where the device is: a serial port, unix:PATH or tcp:HOST:PORT, at which drybus listens").data());
  line.add()("as", po::value<std::string>(), msg("which device of the site it is").data());
  line.add()("lines", msg("JSON Lines, for people; else SLIP (RFC 1055)").data());
  line.add()(
      "real-time",
      msg("keep pace with the clock on the wall; else in lock-step, so that a slow device is exact").data());
  line.add()("speed", po::value<std::string>(), msg("in real time, so many times as fast: 1 to 1000").data());
  line.add()("until", po::value<std::string>(),
             msg("hold the line open until this time on the run's clock at least").data());
  line.add()("patience", po::value<std::string>()->default_value("5s"),
             msg("in lock-step, wait so long for an answer").data());
  line.add()("wait", po::value<std::string>()->default_value("30s"),
             msg("wait so long for the device to connect").data());
  line.add()("baud", po::value<std::string>()->default_value("115200"), msg("of a serial port, 8N1").data());
  line.add()("from-anywhere", msg("let TCP listen at an address that other machines can reach").data());
  line.offer_output("output,o",
                    msg("save the session there, as a scenario that replays without the device").data());
  offer_budget(line);
  offer_log(
      line,
      msg("add what happens on the line to a file: who connects, what cannot be read, how it ends").data());
  line.offer_json();
  if (!line.parse(arguments)) return exit_fine;

  const LoadedScenario loaded = load_scenario(line.words()[0]);
  if (model::outside_of(loaded.scenario.site))
    throw Unusable{tr("{}: it is a saved session, with an outside device of its own", line.words()[0])};
  const Log log = read_log(line, "bridge", loaded.sources);
  // The log is in English, and what is logged is told just so.
  const model::Speaking told{line.has("log") ? nullptr : model::words_spoken()};
  const SessionOptions options = session_options(line, loaded.scenario, log);
  const std::string output = line.optional_text("output").value_or("");
  const auto most_wait = line.duration("wait");
  Port port{bridge_port(line)};
  options.tell(tr("is at {}", port.text()));
  if (!port.wait_for_device(std::chrono::steady_clock::now() + most_wait))
    throw Unusable{
        tr("--port: nobody connected to {} within {}", port.text(), model::duration_text(most_wait))};

  const Interruptible interruptible;
  Session session{loaded.scenario, port, options};
  const SessionResult result = session.run(Interruptible::interrupted());
  tell_end(log, loaded.scenario.site.name(options.device), result);
  const std::string text = saved_text(loaded, session, output);
  const model::RunResult replay = replayed(text, output.empty() || output == "-" ? line.words()[0] : output);
  if (!output.empty()) write_file(output, text);
  const model::Scenario& ran = session.scenario();
  print_out(line.json_wanted() ? json_text(as_json(ran, options, result, replay)) + "\n"
                               : as_text(ran, options, result, replay, output));
  if (replay.digest != result.digest)
    throw std::logic_error{"the saved session does not replay to the same digest"};
  return result.ended_early.empty() && replay.passed() ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
