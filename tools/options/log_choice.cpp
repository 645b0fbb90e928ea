#include "tools/options/log_choice.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/utf8.h"
#include "tools/base/workforce.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::msg;
using model::tr;

void offer_log(CommandLine& line, const char* what) {
  line.add()("log", po::value<std::string>(), what);
  line.add()("log-level", po::value<std::string>(),
             msg("how much of it: trace, debug, info, warn, error, critical or off (info in a file)").data());
  line.add()("log-format", po::value<std::string>()->default_value("text"),
             msg("text or json (an object a line, for programs)").data());
}

namespace {

LogLevel level_of(const std::string& name) {
  if (const auto level = log_level_named(name)) return *level;
  throw Unusable{tr("--log-level knows no '{}'; there are {}.{}", harmless(name),
                    fmt::format("{}", fmt::join(log_level_names(), ", ")),
                    did_you_mean(name, log_level_names()))};
}

LogForm form_of(const std::string& name) {
  if (name == "text") return LogForm::text;
  if (name == "json") return LogForm::json;
  throw Unusable{tr("--log-format {}: expected text or json", harmless(name))};
}

}  // namespace

Log read_log(const CommandLine& line, std::string command, const std::vector<SourceFile>& read,
             bool on_terminal) {
  LogOptions options;
  options.command = std::move(command);
  options.file = line.optional_text("log").value_or("");
  if (line.has("log") && options.file.empty()) throw Unusable{tr("--log names a file")};
  options.level = options.file.empty() ? LogLevel::warn : LogLevel::info;
  if (const auto name = line.optional_text("log-level")) options.level = level_of(*name);
  options.on_terminal = on_terminal;
  options.form = form_of(line.text("log-format"));
  for (const SourceFile& source : read) options.never.emplace_back(source.path);
  return workforce().tells() ? Log{options} : Log{};
}

}  // namespace drybus::tools
