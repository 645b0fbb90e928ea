#include "tools/options/command_line.h"

#include <algorithm>
#include <charconv>
#include <chrono>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/limits.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/workforce.h"
#include "tools/options/help.h"
#include "tools/options/language.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

/// What the library shows of a default value: "arg (=8)".
std::string usual_value(const po::value_semantic& semantic) {
  const std::string shown = semantic.name();
  const std::size_t from = shown.find("(=");
  return from == std::string::npos ? "" : shown.substr(from + 2, shown.size() - from - 3);
}

}  // namespace

CommandLine::CommandLine(std::string_view usage) : usage_(usage) {
  options_.add_options()("help,h", msg("show this help").data());
}

void CommandLine::take_words(std::string_view what, std::size_t at_least, std::size_t at_most) {
  what_words_ = what;
  at_least_ = at_least;
  at_most_ = at_most;
}

void CommandLine::offer_what_all_have() {
  if (options_.find_nothrow("language", false) == nullptr) {
    offer_language(*this, tr("what is told to people, in: {} (else as LC_ALL, LC_MESSAGES or LANG say)",
                             language_choice()));
  }
  options_.add_options()(
      "most-time", po::value<std::string>(),
      msg("the whole command ends with an error after so long by the clock on the wall (no end unless said)")
          .data());
  options_.add_options()(
      "most-memory", po::value<std::string>(),
      msg("or when it takes so much memory, its program and libraries included (no end unless said)").data());
}

void CommandLine::set_limits() const {
  if (has("most-memory")) limit_memory(bytes("most-memory"));
  if (!has("most-time")) return;
  const auto most = std::chrono::ceil<std::chrono::milliseconds>(duration("most-time"));
  if (most < std::chrono::milliseconds{1}) throw Unusable{tr("--most-time: expected a time of 1ms or more")};
  limit_time(most, "drybus: " + tr("stopped after {}, as --most-time says", text("most-time")) + "\n");
}

CommandDescription CommandLine::description() const {
  CommandDescription description{usage_, {}};
  for (const auto& option : options_.options()) {
    const std::string& name = option->long_name();
    description.options.push_back({name, letter_of(*option), option->semantic()->max_tokens() != 0,
                                   usual_value(*option->semantic()), option->description(),
                                   std::find(outputs_.begin(), outputs_.end(), name) != outputs_.end()});
  }
  return description;
}

std::string CommandLine::spoken_usage() const {
  return usage_in_words_spoken(usage_);
}

std::string CommandLine::help() const {
  return tr("usage: {}", spoken_usage()) + "\n\n" + help_of(options_);
}

void CommandLine::understand(Arguments arguments) {
  po::options_description all;
  all.add(options_).add_options()("words", po::value<std::vector<std::string>>());
  po::positional_options_description positional;
  positional.add("words", -1);
  try {
    po::store(po::command_line_parser(std::vector<std::string>{arguments.begin(), arguments.end()})
                  .options(all)
                  .positional(positional)
                  .run(),
              values_);
    po::notify(values_);
  } catch (const po::unknown_option& error) {
    refuse_unknown(error.get_option_name());
  } catch (const po::error& error) {
    throw Unusable{complaint_of(error) + "\n" + tr("usage: {}", spoken_usage())};
  }
}

/// What programs read is the same in every language.
void CommandLine::speak() {
  const auto language = read_language(*this);
  if (language) known_language(*language);
  if (has("format") && text("format") == "json") {
    speaking_ = std::make_unique<model::Speaking>(nullptr);
  } else if (language) {
    speaking_ = std::make_unique<model::Speaking>(words_of(*language));
  }
}

bool CommandLine::parse(Arguments arguments) {
  offer_what_all_have();
  if (arguments.size() == 1 && arguments.front() == describe_argument) throw Described{description()};
  understand(arguments);
  speak();
  if (has("help")) {
    print_out(help());
    return false;
  }
  set_limits();
  if (has("words")) words_ = values_["words"].as<std::vector<std::string>>();
  if (words_.size() < at_least_) {
    throw Unusable{tr("{} is missing", in_words_spoken(what_words_)) + "\n" +
                   tr("usage: {}", spoken_usage())};
  }
  if (at_most_ != 0 && words_.size() > at_most_) {
    throw Unusable{tr("'{}' is one word too many", words_[at_most_]) + "\n" +
                   tr("usage: {}", spoken_usage())};
  }
  for (const std::string& output : outputs_) {
    if (has(output) && workforce().tells()) claim_output("--" + output, text(output));
  }
  return true;
}

void CommandLine::refuse_unknown(const std::string& option) const {
  std::vector<std::string> known;
  for (const auto& each : options_.options()) known.push_back("--" + each->long_name());
  throw Unusable{tr("unknown option '{}'.{}", option, did_you_mean(option, known)) + "\n" +
                 tr("usage: {}", spoken_usage())};
}

void CommandLine::offer_output(const char* names, const char* help, std::optional<std::string> usual) {
  auto* value = po::value<std::string>();
  if (usual) value->default_value(*usual);
  options_.add_options()(names, value, help);
  outputs_.push_back(options_.options().back()->long_name());
}

void CommandLine::offer_json() {
  options_.add_options()("format", po::value<std::string>()->default_value("text"),
                         msg("text or json").data());
}

bool CommandLine::json_wanted() const {
  const std::string format = text("format");
  if (format != "text" && format != "json") {
    throw Unusable{tr("--format {}: expected text or json", format)};
  }
  return format == "json";
}

std::optional<std::string> CommandLine::optional_text(const std::string& option) const {
  if (!has(option)) return std::nullopt;
  return text(option);
}

std::vector<std::string> CommandLine::texts(const std::string& option) const {
  return has(option) ? values_[option].as<std::vector<std::string>>() : std::vector<std::string>{};
}

std::uint64_t CommandLine::number(const std::string& option) const {
  const std::string value = text(option);
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), number);
  if (error != std::errc{} || end != value.data() + value.size()) {
    throw Unusable{tr("--{}: '{}' is no whole number", option, value)};
  }
  return number;
}

std::uint64_t CommandLine::number(const std::string& option, std::uint64_t least, std::uint64_t most,
                                  std::string_view unit) const {
  const std::uint64_t given = number(option);
  if (given < least || given > most) {
    throw Unusable{tr("--{} {}: expected {} to {}{}{}", option, given, least, most, unit.empty() ? "" : " ",
                      in_words_spoken(unit))};
  }
  return given;
}

sim::Duration CommandLine::duration(const std::string& option) const {
  const std::string value = text(option);
  const auto duration = parse_duration(value);
  if (!duration)
    throw Unusable{tr("--{}: '{}' is no time; give its unit, such as 200s or 3min", option, value)};
  return *duration;
}

std::uint64_t CommandLine::bytes(const std::string& option) const {
  struct Unit {
    std::string_view name;
    int shift;
  };
  const std::string value = text(option);
  std::uint64_t size = 0;
  const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), size);
  const std::string_view unit{end, static_cast<std::size_t>(value.data() + value.size() - end)};
  for (const Unit known : {Unit{"kB", 10}, Unit{"MB", 20}, Unit{"GB", 30}}) {
    if (error == std::errc{} && unit == known.name && size >= 1 && size < std::uint64_t{1} << 20)
      return size << known.shift;
  }
  throw Unusable{tr("--{} {}: expected a size with its unit, such as 500MB or 4GB", option, value)};
}

void CommandLine::offer_span(std::string_view from_help, std::string_view to_help) {
  add()("from", po::value<std::string>(), std::string{from_help}.c_str());
  add()("to", po::value<std::string>(), std::string{to_help}.c_str());
}

void CommandLine::read_span(sim::Instant& from, sim::Instant& to) const {
  if (has("from")) from = sim::start_of_run + duration("from");
  if (has("to")) to = sim::start_of_run + duration("to");
  if (from > to) throw Unusable{tr("--from is later than --to")};
}

}  // namespace drybus::tools
