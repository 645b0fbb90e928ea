// drybus compare: where two device logics part, in what can be seen or heard.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>

#include "model/hunt/tell_apart.h"
#include "model/record/describe.h"
#include "model/record/observables.h"
#include "model/run/run.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/moves.h"
#include "tools/script/writer.h"
#include "tools/seat/children.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

constexpr std::size_t column_width = 56;
constexpr std::size_t most_causes = 12;

struct Request {
  FirmwareChoice a;
  FirmwareChoice b;
  std::optional<std::uint64_t> seed;
  bool hunts = false;
  model::TellApartOptions options{};
  std::string output;  ///< where the shortest sequence is written; empty: nowhere
};

// --- two runs ---

/// The observable entries of a run, in order.
std::vector<sim::EntryId> observable_entries(const sim::Record& record) {
  std::vector<sim::EntryId> ids;
  for (sim::EntryId id = 1; id <= record.size(); ++id) {
    if (model::is_observable(record[id])) ids.push_back(id);
  }
  return ids;
}

json::object entry_json(const model::Scenario& scenario, const sim::Entry& entry) {
  return {{"at_s", sim::seconds(entry.at)},
          {"clock", model::clock_text(entry.at)},
          {"text", describe(scenario, entry)}};
}

/// An entry and what led to it, itself first, back to the step. What happened over and over is told once.
json::array with_causes(const model::Scenario& scenario, const sim::Record& record, sim::EntryId id) {
  json::array chain;
  while (id != sim::no_entry && chain.size() < most_causes) {
    const sim::Entry& entry = record[id];
    json::object told = entry_json(scenario, entry);
    std::uint64_t times = 1;
    for (id = entry.cause; id != sim::no_entry && record[id].kind == entry.kind &&
                           describe(scenario, record[id]) == describe(scenario, entry);
         id = record[id].cause) {
      ++times;
    }
    told["times"] = times;
    chain.push_back(std::move(told));
    if (model::what(entry) == model::What::step) break;
  }
  return chain;
}

/// What one side did where the two part; null when there is nothing more.
json::value side_json(const model::Scenario& scenario, const model::RunResult& result,
                      const std::vector<sim::EntryId>& ids, std::size_t place) {
  if (place < ids.size()) return with_causes(scenario, result.record, ids[place]);
  if (!result.broken_off) return nullptr;
  return json::array{json::object{{"at_s", sim::seconds(result.broken_off->at)},
                                  {"clock", model::clock_text(result.broken_off->at)},
                                  {"text", describe(scenario, *result.broken_off)}}};
}

json::object compare_runs(const model::Scenario& a, const model::Scenario& b, std::uint64_t seed) {
  model::RunOptions options;
  options.seed = seed;
  const model::RunResult run_a = model::run(a, options);
  const model::RunResult run_b = model::run(b, options);
  refuse_used_up("built-in", a, run_a);
  refuse_used_up("built-in", b, run_b);
  const std::vector<sim::EntryId> ids_a = observable_entries(run_a.record);
  const std::vector<sim::EntryId> ids_b = observable_entries(run_b.record);
  const auto [at_a, at_b] =
      std::mismatch(ids_a.begin(), ids_a.end(), ids_b.begin(), ids_b.end(),
                    [&](auto i, auto j) { return model::is_alike(run_a.record[i], run_b.record[j]); });
  const bool broke_off = run_a.broken_off || run_b.broken_off;
  const bool same = at_a == ids_a.end() && at_b == ids_b.end() && !broke_off;
  const auto alike = static_cast<std::size_t>(at_a - ids_a.begin());
  json::object object{{"same", same}, {"alike", alike}};
  if (same) return object;
  object["a"] = side_json(a, run_a, ids_a, alike);
  object["b"] = side_json(b, run_b, ids_b, alike);
  return object;
}

// --- the shortest sequence ---

std::string_view end_text(sim::SearchEnd end) {
  switch (end) {
    case sim::SearchEnd::broken:
      return "told apart";
    case sim::SearchEnd::exhausted:
      return "no sequence of these moves, however long, tells them apart";
    case sim::SearchEnd::depth:
      return "no sequence within these bounds tells them apart";
    case sim::SearchEnd::states:
      return "the bound on states was reached";
    case sim::SearchEnd::memory:
      return "the bound on memory was reached";
    case sim::SearchEnd::interrupted:
      return "interrupted";
  }
  return "";
}

void write_found(const LoadedScenario& loaded, const model::TellApartResult& result, const Request& request) {
  LoadedScenario written = loaded;
  written.scenario = result.found;
  written.scenario.site.logic = nullptr;
  written.scenario.title = fmt::format("{}: what tells two firmwares apart", loaded.scenario.title);
  written.scenario.about = fmt::format("Found by drybus compare --hunt.\nA: {}\nB: {}\n",
                                       harmless(request.a.text()), harmless(request.b.text()));
  WriteOptions options;
  if (request.output != "-") options.folder = std::filesystem::absolute(request.output).parent_path();
  write_file(request.output, write_scenario(written, options));
}

json::object hunt_json(const LoadedScenario& loaded, const model::Scenario& a, const model::Scenario& b,
                       const Request& request) {
  model::TellApartResult result;
  try {
    result = model::tell_apart(a, b, request.options);
  } catch (const std::invalid_argument& error) {
    throw Unusable{error.what()};
  }
  const bool found = result.search.end == sim::SearchEnd::broken;
  json::object object{{"found", found},
                      {"end", end_text(result.search.end)},
                      {"depth", result.search.progress.depth},
                      {"states", result.search.progress.states},
                      {"moves_tried", result.search.progress.transitions}};
  json::array steps;
  for (const model::Step& step : result.steps) steps.emplace_back(describe(result.found, step));
  object["steps"] = std::move(steps);
  if (!found) return object;
  model::Scenario found_b = result.found;
  found_b.site.logic = b.site.logic;
  object["parting"] = compare_runs(result.found, found_b, a.seed);
  if (!request.output.empty()) write_found(loaded, result, request);
  return object;
}

// --- one scenario ---

json::object compare_one(const std::string& path, const Request& request) {
  json::object object{{"scenario", path}, {"aborted", nullptr}, {"same", false}};
  try {
    LoadedScenario loaded = load_scenario(path);
    if (request.seed) loaded.scenario.seed = *request.seed;
    model::Scenario a = loaded.scenario;
    model::Scenario b = loaded.scenario;
    request.a.put_in(a);
    request.b.put_in(b);
    object = compare_runs(a, b, loaded.scenario.seed);
    object["scenario"] = path;
    object["aborted"] = nullptr;
    if (request.hunts && object.at("same").as_bool()) object["hunt"] = hunt_json(loaded, a, b, request);
  } catch (const std::exception& error) {
    object["aborted"] = reason_of(error);
  }
  return object;
}

bool is_told_apart(const json::object& outcome) {
  const json::value* hunt = outcome.if_contains("hunt");
  return !outcome.at("same").as_bool() || (hunt != nullptr && hunt->at("found").as_bool());
}

std::vector<json::object> compare_all(const std::vector<std::string>& paths, const Request& request,
                                      std::size_t jobs) {
  const std::vector<std::string> lines = in_children(
      paths.size(), jobs, [&](std::size_t i) { return json_text(compare_one(paths[i], request)); },
      [&](std::size_t i, const std::string& how) {
        const std::string what = fmt::format("{}: {}", how, could_not_be_stopped);
        return json_text(json::object{{"scenario", paths[i]}, {"aborted", what}, {"same", false}});
      });
  std::vector<json::object> outcomes;
  outcomes.reserve(lines.size());
  for (const std::string& line : lines) outcomes.push_back(json::parse(line).as_object());
  return outcomes;
}

// --- telling ---

std::string text_of(const json::value& value) {
  return json::value_to<std::string>(value);
}

/// Adds a text to a column, broken where it is too long.
void add_to(std::vector<std::string>& column, const std::string& text) {
  const std::size_t first = column.size();
  for (const std::string& line : wrapped(text, column_width - 4)) {
    column.push_back((column.size() == first ? "" : "    ") + line);
  }
}

std::vector<std::string> column_of(const json::object& parting, const char* side) {
  std::vector<std::string> column;
  const json::value* entries = parting.if_contains(side);
  if (entries == nullptr || entries->is_null()) {
    add_to(column, "nothing more can be seen or heard");
    return column;
  }
  std::string mark;
  for (const json::value& entry : entries->as_array()) {
    std::string text = fmt::format("{}{}  {}", mark, text_of(entry.at("clock")), text_of(entry.at("text")));
    const json::value* times = entry.as_object().if_contains("times");
    if (times != nullptr && times->to_number<int>() > 1)
      text += fmt::format("; {} times by then", times->to_number<int>());
    add_to(column, text);
    mark = "< ";
  }
  return column;
}

std::string in_columns(const std::vector<std::string>& left, const std::vector<std::string>& right) {
  std::string text;
  for (std::size_t i = 0; i < std::max(left.size(), right.size()); ++i) {
    const std::string line =
        padded(i < left.size() ? left[i] : "", column_width) + "| " + (i < right.size() ? right[i] : "");
    text += "  " + line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
  }
  return text;
}

/// Two columns: whose they are, what happened, and what led to it.
std::string side_by_side(const json::object& parting, const Request& request) {
  std::vector<std::string> a;
  std::vector<std::string> b;
  add_to(a, "A: " + request.a.text());
  add_to(b, "B: " + request.b.text());
  return in_columns(a, b) + in_columns(column_of(parting, "a"), column_of(parting, "b"));
}

std::string hunt_text(const json::object& hunt, const Request& request) {
  const auto tried = fmt::format(
      "{} moves tried, {} pairs of states, {} deep", hunt.at("moves_tried").to_number<std::uint64_t>(),
      hunt.at("states").to_number<std::uint64_t>(), hunt.at("depth").to_number<std::uint64_t>());
  if (!hunt.at("found").as_bool()) return fmt::format("      {} ({})\n", text_of(hunt.at("end")), tried);
  const json::array& steps = hunt.at("steps").as_array();
  std::string text = fmt::format("      {} more move{} tell{} them apart ({}):\n", steps.size(),
                                 steps.size() == 1 ? "" : "s", steps.size() == 1 ? "s" : "", tried);
  for (std::size_t i = 0; i < steps.size(); ++i)
    text += fmt::format("        {}. {}\n", i + 1, text_of(steps[i]));
  text += side_by_side(hunt.at("parting").as_object(), request);
  if (!request.output.empty()) text += fmt::format("      written to {}\n", request.output);
  return text;
}

std::string text_of_one(const json::object& outcome, const Request& request) {
  const std::string path = text_of(outcome.at("scenario"));
  if (!outcome.at("aborted").is_null()) {
    return fmt::format("{} {}\n{}\n", inked("ERROR", Ink::red), path, text_of(outcome.at("aborted")));
  }
  const std::string alike =
      fmt::format("{} things seen or heard", outcome.at("alike").to_number<std::uint64_t>());
  if (!outcome.at("same").as_bool()) {
    return fmt::format("{} {}  after {} that are alike\n{}", inked("PART ", Ink::red), path, alike,
                       side_by_side(outcome, request));
  }
  std::string text = fmt::format("{} {}  {}\n", inked("same ", Ink::green), path, alike);
  if (const json::value* hunt = outcome.if_contains("hunt")) text += hunt_text(hunt->as_object(), request);
  return text;
}

std::string as_text(const std::vector<json::object>& outcomes, const Request& request) {
  std::string text;
  std::size_t apart = 0;
  for (const json::object& outcome : outcomes) {
    text += text_of_one(outcome, request);
    if (outcome.at("aborted").is_null() && is_told_apart(outcome)) ++apart;
  }
  return text + fmt::format("{} scenario{}: told apart in {}\n", outcomes.size(),
                            outcomes.size() == 1 ? "" : "s", apart);
}

std::string as_json(const std::vector<json::object>& outcomes, const Request& request) {
  json::array all;
  for (const json::object& outcome : outcomes) all.emplace_back(outcome);
  return json_text(
             json::object{{"a", request.a.text()}, {"b", request.b.text()}, {"scenarios", std::move(all)}}) +
         "\n";
}

// --- the request ---

Request read_request(const CommandLine& line) {
  const std::vector<std::string> words = line.texts("firmware");
  if (words.size() != 2) {
    throw Unusable{fmt::format(
        "two firmwares are compared, and --firmware was given {} time{}: --firmware A.so --firmware "
        "B.so; built-in stands for the devices of drybus itself",
        words.size(), words.size() == 1 ? "" : "s")};
  }
  Request request{FirmwareChoice{{words[0]}}, FirmwareChoice{{words[1]}}, {}, line.has("hunt"), {}, {}};
  if (line.has("seed")) request.seed = line.number("seed");
  request.output = line.optional_text("output").value_or("");
  if (!request.output.empty() && !request.hunts)
    throw Unusable{"-o writes what --hunt finds: give --hunt as well"};
  if (!request.hunts) return request;
  for (const FirmwareChoice* choice : {&request.a, &request.b}) {
    choice->require_blocks("compare --hunt: it puts old states back");
  }
  request.options.budget = read_moves(line);
  request.options.bounds = read_bounds(line);
  return request;
}

int exit_code_of(const std::vector<json::object>& outcomes) {
  const auto aborted = [](const json::object& outcome) { return !outcome.at("aborted").is_null(); };
  if (std::any_of(outcomes.begin(), outcomes.end(), aborted)) return exit_unusable;
  return std::any_of(outcomes.begin(), outcomes.end(), is_told_apart) ? exit_failed : exit_fine;
}

}  // namespace

int compare_command(Arguments arguments) {
  CommandLine line{"drybus compare --firmware A.so --firmware B.so PATH... [options]"};
  line.add()("firmware", po::value<std::vector<std::string>>()->composing(),
             "one of the two: PATH.so, module=PATH.so, plate=PATH.so, or built-in");
  line.add()("hunt",
             "where a scenario does not tell them apart: search for the fewest further moves that do");
  line.offer_output("output,o", "write these there, as a scenario (of one scenario only)");
  offer_moves(line);
  line.add()("seed", po::value<std::string>(), "instead of the scenarios' own");
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             "at a time; 0: as many as there are cores");
  line.offer_json();
  line.take_words("PATH", 1, 0);
  if (!line.parse(arguments)) return exit_fine;

  const bool wants_json = line.json_wanted();
  Request request = read_request(line);
  const std::vector<std::string> paths = scenario_files(line.words());
  if (paths.empty()) throw Unusable{fmt::format("{}: no scenario below it", line.words()[0])};
  if (!request.output.empty() && paths.size() > 1)
    throw Unusable{"-o: the sequence that is found is one scenario; name one"};
  const std::size_t jobs = thread_count(line.number("jobs"));
  request.options.jobs = paths.size() == 1 ? jobs : 1;
  const std::vector<json::object> outcomes = compare_all(paths, request, jobs);
  print_out(wants_json ? as_json(outcomes, request) : as_text(outcomes, request));
  return exit_code_of(outcomes);
}

}  // namespace drybus::tools
