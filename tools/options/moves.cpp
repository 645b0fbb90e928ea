#include "tools/options/moves.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <string>
#include <string_view>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::msg;
using model::tr;

namespace {

std::vector<std::string> kind_words() {
  std::vector<std::string> words;
  for (const model::MoveKind kind : sim::all_of<model::MoveKind>()) words.emplace_back(to_string(kind));
  return words;
}

std::vector<std::string> between_commas(const std::string& text) {
  std::vector<std::string> parts;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find(',', from), text.size());
    parts.push_back(text.substr(from, to - from));
    from = to + 1;
  }
  return parts;
}

model::MoveKind kind_of(const std::string& option, const std::string& word) {
  if (const auto kind = model::parse_move_kind(word)) return *kind;
  const auto known = kind_words();
  throw Unusable{tr("--{}: there are no moves called '{}'.{} There are {}.", option, word,
                    did_you_mean(word, known), fmt::format("{}", fmt::join(known, ", ")))};
}

void set_budget(const std::string& text, model::MoveBudget& budget) {
  const std::size_t equals = text.find('=');
  const std::string_view number =
      equals == std::string::npos ? "" : std::string_view{text}.substr(equals + 1);
  unsigned times = 0;
  const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), times);
  if (number.empty() || error != std::errc{} || end != number.data() + number.size() || times > 254) {
    throw Unusable{tr("--budget {}: expected moves and how often, 0 to 254, such as loss=2", text)};
  }
  budget[kind_of("budget", text.substr(0, equals))] = static_cast<std::uint8_t>(times);
}

}  // namespace

void offer_moves(CommandLine& line) {
  line.add()(
      "with", po::value<std::string>(),
      msg("allow these moves, too: long-presses, looks, slips, loss, power, switches, stuck (commas between)")
          .data());
  line.add()("without", po::value<std::string>(), msg("and not these: presses, holds, waits, walks").data());
  line.add()("budget", po::value<std::string>(),
             msg("how often at most, e.g. loss=2,slips=1 (errors and faults: once)").data());
  line.add()("depth", po::value<std::string>()->default_value("8"),
             msg("moves in a sequence, at most").data());
  line.add()("states", po::value<std::string>()->default_value("5000000"),
             msg("distinct states, at most").data());
  line.add()("memory", po::value<std::string>()->default_value("4GB"), msg("for states, at most").data());
}

model::MoveBudget read_moves(const CommandLine& line) {
  model::MoveBudget budget;
  for (const std::string& word : between_commas(line.optional_text("with").value_or(""))) {
    if (!word.empty()) budget[kind_of("with", word)] = usual_budget(kind_of("with", word));
  }
  for (const std::string& word : between_commas(line.optional_text("without").value_or(""))) {
    if (!word.empty()) budget[kind_of("without", word)] = 0;
  }
  if (const auto text = line.optional_text("budget")) {
    for (const std::string& each : between_commas(*text)) set_budget(each, budget);
  }
  return budget;
}

sim::SearchBounds read_bounds(const CommandLine& line) {
  sim::SearchBounds bounds;
  bounds.depth = static_cast<std::uint32_t>(std::min<std::uint64_t>(line.number("depth"), 1'000'000));
  bounds.states = line.number("states");
  bounds.memory_bytes = line.bytes("memory");
  return bounds;
}

}  // namespace drybus::tools
