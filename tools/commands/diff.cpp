// drybus diff: the first event at which two runs part, with both sides' causes.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/commands/divergence.h"
#include "tools/export/record_lines.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/script/files.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

/// One of the two runs.
struct DiffSide {
  std::string name;
  std::vector<ToldEntry> record;
};

std::vector<ToldEntry> entries_of(const std::string& text, const std::string& name) {
  auto reading = read_record_lines(text, name);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

DiffSide run_side(const std::string& name, const model::Scenario& scenario,
                  std::optional<std::uint64_t> seed) {
  model::RunOptions options;
  options.seed = seed;
  const model::RunResult result = model::run(scenario, options);
  refuse_used_up(name, scenario, result);
  return {name, entries_of(spoken_record_lines(scenario, result.record), name)};
}

DiffSide side_of(const std::string& path) {
  if (!path.ends_with(".jsonl")) return run_side(path, load_scenario(path).scenario, std::nullopt);
  const auto content = DiskFiles{max_record_bytes}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&content)) {
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  }
  return {path, entries_of(std::get<std::string>(content), path)};
}

/// "1,2"
std::pair<std::string, std::string> two_of(const std::string& option, const std::string& text) {
  const std::size_t comma = text.find(',');
  if (comma == 0 || comma == std::string::npos || comma + 1 == text.size() ||
      text.find(',', comma + 1) != std::string::npos) {
    throw Unusable{tr("--{} {}: expected two, with a comma between them", option, text)};
  }
  return {text.substr(0, comma), text.substr(comma + 1)};
}

DiffSide side_with_seed(const std::string& path, const std::string& seed) {
  const bool whole =
      !seed.empty() && seed.find_first_not_of("0123456789") == std::string::npos && seed.size() < 20;
  if (!whole) throw Unusable{tr("--seeds: '{}' is no whole number", seed)};
  return run_side(tr("{} with seed {}", path, seed), load_scenario(path).scenario, std::stoull(seed));
}

/// The scenario's text with another family's name in it.
DiffSide side_with_family(const std::string& path, const std::string& family) {
  std::string text = load_scenario(path).sources.front().text;
  const std::size_t line = text.starts_with("family:") ? 0 : text.find("\nfamily:");
  if (line == std::string::npos) throw Unusable{tr("{}: its family is not named in a line of its own", path)};
  const std::size_t from = text.find("family:", line);
  text.replace(from, text.find('\n', from) - from, "family: " + family);
  auto reading = read_scenario_text(text, path);
  if (!reading.ok()) {
    throw Unusable{tr("{} does not fit the family {}:\n{}", path, family, to_text(reading.problems()))};
  }
  return run_side(tr("{} with family {}", path, family), reading.value().scenario, std::nullopt);
}

std::pair<DiffSide, DiffSide> sides_of(const CommandLine& line) {
  const std::vector<std::string>& words = line.words();
  // Records are in English, and are compared with what is told of another run.
  const bool has_record = std::any_of(words.begin(), words.end(),
                                      [](const std::string& word) { return word.ends_with(".jsonl"); });
  const model::Speaking told{has_record ? nullptr : model::words_spoken()};
  const bool one_scenario = line.has("seeds") || line.has("families");
  if (one_scenario && words.size() != 1)
    throw Unusable{tr("--seeds and --families compare one scenario with itself")};
  if (line.has("seeds")) {
    const auto [a, b] = two_of("seeds", line.text("seeds"));
    return {side_with_seed(words[0], a), side_with_seed(words[0], b)};
  }
  if (line.has("families")) {
    const auto [a, b] = two_of("families", line.text("families"));
    return {side_with_family(words[0], a), side_with_family(words[0], b)};
  }
  if (words.size() != 2) throw Unusable{tr("two runs are compared: name two, or give --seeds or --families")};
  return {side_of(words[0]), side_of(words[1])};
}

std::string clock_of(const ToldEntry& entry) {
  return model::clock_text(sim::start_of_run + sim::Duration{entry.at_ns});
}

std::string side_text(const DiffSide& side, std::size_t index) {
  std::string text = side.name + "\n";
  if (index >= side.record.size()) return text + tr("    has ended before that\n");
  for (const ToldEntry* entry : causes_of(side.record, index)) {
    text += fmt::format("  {}{:>9}  {}\n", text.ends_with(side.name + "\n") ? "  " : "< ", clock_of(*entry),
                        entry->text);
  }
  return text;
}

std::string seen_text(const DiffSide& side, std::size_t index) {
  if (index >= side.record.size()) return tr("  {}: nothing more\n", side.name);
  return tr("  {}: {} at {}\n", side.name, side.record[index].text, clock_of(side.record[index]));
}

std::string as_text(const DiffSide& a, const DiffSide& b, const std::optional<Parting>& parting) {
  if (!parting) return tr("the two runs are the same: {} entries\n", a.record.size());
  std::string text = tr("the runs part at entry {}, after {} that are alike; what led to it follows each\n\n",
                        parting->a + 1, parting->a);
  text += side_text(a, parting->a) + "\n" + side_text(b, parting->b) + "\n";
  const auto seen = first_visible_difference(a.record, b.record);
  if (!seen) return text + tr("A person would have seen no difference.\n");
  return text + tr("What a person would have seen differently first:\n") + seen_text(a, seen->a) +
         seen_text(b, seen->b);
}

json::value entry_json(const DiffSide& side, std::size_t index) {
  if (index >= side.record.size()) return nullptr;
  json::array causes;
  for (const ToldEntry* entry : causes_of(side.record, index)) {
    causes.push_back(
        {{"id", entry->id}, {"at_s", static_cast<double>(entry->at_ns) / 1e9}, {"text", entry->text}});
  }
  return causes;
}

std::string as_json(const DiffSide& a, const DiffSide& b, const std::optional<Parting>& parting) {
  json::object object{{"a", a.name}, {"b", b.name}, {"same", !parting.has_value()}};
  if (parting) {
    object["alike"] = parting->a;
    object["a_causes"] = entry_json(a, parting->a);
    object["b_causes"] = entry_json(b, parting->b);
    const auto seen = first_visible_difference(a.record, b.record);
    object["a_seen"] = seen ? entry_json(a, seen->a) : json::value(nullptr);
    object["b_seen"] = seen ? entry_json(b, seen->b) : json::value(nullptr);
  }
  return json_text(object) + "\n";
}

}  // namespace

int diff_command(Arguments arguments) {
  CommandLine line{"drybus diff A B [options]   (scenarios, capsules, or records that end in .jsonl)"};
  line.add()("seeds", po::value<std::string>(),
             msg("compare one scenario under two seeds, such as 1,2").data());
  line.add()("families", po::value<std::string>(), msg("compare one scenario under two families").data());
  line.offer_json();
  line.take_words("A", 1, 2);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();

  const auto [a, b] = sides_of(line);
  const auto parting = first_difference(a.record, b.record);
  print_out(wants_json ? as_json(a, b, parting) : as_text(a, b, parting));
  return parting ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
