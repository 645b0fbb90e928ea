// drybus compare: where two device logics part, in what can be seen or heard.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>

#include "model/hunt/tell_apart.h"
#include "model/hunt/witness.h"
#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/commands/command.h"
#include "tools/commands/compare_runs.h"
#include "tools/commands/compare_text.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/observed/golden_record.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/moves.h"
#include "tools/script/writer.h"
#include "tools/seat/children.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::plural;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

struct CompareRequest {
  FirmwareChoice a;
  FirmwareChoice b;
  std::optional<std::uint64_t> seed;
  bool hunts = false;
  model::TellApartOptions options{};
  std::string output;  ///< where the shortest sequence is written; empty: nowhere
  Patience patience{};

  [[nodiscard]] CompareNames names() const { return {a.text(), b.text(), output}; }
};

// --- the shortest sequence ---

std::string_view end_text(sim::SearchEnd end) {
  switch (end) {
    case sim::SearchEnd::broken:
      return msg("told apart");
    case sim::SearchEnd::exhausted:
      return msg("no sequence of these moves, however long, tells them apart");
    case sim::SearchEnd::depth:
      return msg("no sequence within these bounds tells them apart");
    case sim::SearchEnd::states:
      return msg("the bound on states was reached");
    case sim::SearchEnd::memory:
      return msg("the bound on memory was reached");
    case sim::SearchEnd::interrupted:
      return msg("interrupted");
  }
  return "";
}

/// Beside a scenario: what can be seen and heard of it, where no fact of a device tells the two apart.
std::filesystem::path golden_beside(const std::string& output) {
  return std::filesystem::path{output}.replace_extension(".observables.json");
}

/// What the scenario that was found holds, and how it is kept.
std::string kept_text(model::Telling telling, const CompareRequest& request) {
  switch (telling) {
    case model::Telling::by_itself:
    case model::Telling::by_witness:
      return tr("it passes with A and fails with B");
    case model::Telling::not_by_facts:
      break;
  }
  if (request.output.empty() || request.output == "-")
    return tr("nothing that can be expected tells the two apart; compare does");
  return tr(
      "nothing that can be expected tells the two apart; check --observables {} does: it passes with A and "
      "fails with B",
      golden_beside(request.output).string());
}

/// The texts of the files that keep what was found, for whoever may write them: a scenario's own process may not.
void add_files(const LoadedScenario& loaded, const model::Scenario& found, model::Telling telling,
               const CompareRequest& request, json::object& object) {
  const model::Speaking english{nullptr};
  LoadedScenario written = loaded;
  written.scenario = found;
  written.scenario.site.logic = nullptr;
  written.scenario.title = fmt::format("{}: what tells two firmwares apart", loaded.scenario.title);
  written.scenario.about = fmt::format("Found by drybus compare --hunt; {}.\nA: {}\nB: {}\n",
                                       harmless(kept_text(telling, request)), harmless(request.a.text()),
                                       harmless(request.b.text()));
  WriteOptions options;
  if (request.output != "-") options.folder = std::filesystem::absolute(request.output).parent_path();
  object["scenario_file"] = write_scenario(written, options);
  if (telling != model::Telling::not_by_facts || request.output == "-") return;
  const model::RunResult run = model::run(found);
  GoldenRecord golden;
  golden[as_utf8(request.output)] = {found.seed, run.world.now, seen_in(found, run.record)};
  object["golden_file"] = golden_record_text(golden);
}

/// Writes the files that a hunt has left, and takes their texts out of what is told.
void write_found(json::object& outcome, const CompareRequest& request) {
  json::value* hunt = outcome.if_contains("hunt");
  if (hunt == nullptr) return;
  json::object& object = hunt->as_object();
  std::vector<std::pair<std::filesystem::path, std::string>> texts;
  for (const auto& [key, path] : {std::pair{"scenario_file", std::filesystem::path{request.output}},
                                  std::pair{"golden_file", golden_beside(request.output)}}) {
    const json::value* text = object.if_contains(key);
    if (text == nullptr) continue;
    texts.emplace_back(path, json::value_to<std::string>(*text));
    object.erase(key);
  }
  if (texts.size() == 1) return write_file(texts[0].first, texts[0].second);
  std::vector<OutputFile> files;
  for (const auto& [path, text] : texts) files.push_back({path, text});
  write_files(files);
}

json::object hunt_json(const LoadedScenario& loaded, const model::Scenario& a, const model::Scenario& b,
                       const CompareRequest& request) {
  model::TellApartResult result;
  try {
    result = model::tell_apart(a, b, request.options);
  } catch (const std::invalid_argument& error) {
    throw Unusable{error.what()};
  }
  const bool found = result.search.end == sim::SearchEnd::broken;
  json::object object{{"found", found},
                      {"end", in_words_spoken(end_text(result.search.end))},
                      {"depth", result.search.progress.depth},
                      {"states", result.search.progress.states},
                      {"moves_tried", result.search.progress.transitions}};
  json::array steps;
  for (const model::Step& step : result.steps) steps.emplace_back(describe(result.found, step));
  object["steps"] = std::move(steps);
  if (!found) return object;
  model::Scenario kept = result.found;
  const model::Telling telling = model::add_witness(kept, b);
  object["kept"] = kept_text(telling, request);
  model::Scenario kept_b = kept;
  kept_b.site.logic = b.site.logic;
  object["parting"] = compare_runs(kept, kept_b, a.seed, "", {});
  if (!request.output.empty()) add_files(loaded, kept, telling, request, object);
  return object;
}

// --- one scenario ---

json::object compare_one(const std::string& path, const CompareRequest& request) {
  json::object object{{"scenario", path}, {"aborted", nullptr}, {"same", false}};
  try {
    LoadedScenario loaded = load_scenario(path);
    if (request.seed) loaded.scenario.seed = *request.seed;
    model::Scenario a = loaded.scenario;
    model::Scenario b = loaded.scenario;
    request.a.put_in(a);
    request.b.put_in(b);
    object = compare_runs(a, b, loaded.scenario.seed, path, request.patience);
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

std::vector<json::object> compare_all(const std::vector<std::string>& paths, const CompareRequest& request,
                                      std::size_t jobs) {
  const std::vector<std::string> lines = in_children(
      paths.size(), jobs, [&](std::size_t i) { return json_text(compare_one(paths[i], request)); },
      [&](std::size_t i, const std::string& how) {
        const std::string what = fmt::format("{}: {}", how, in_words_spoken(could_not_be_stopped));
        return json_text(json::object{{"scenario", paths[i]}, {"aborted", what}, {"same", false}});
      });
  std::vector<json::object> outcomes;
  outcomes.reserve(lines.size());
  for (const std::string& line : lines) outcomes.push_back(json::parse(line).as_object());
  return outcomes;
}

// --- telling ---

std::string as_text(const std::vector<json::object>& outcomes, const CompareRequest& request) {
  std::string text;
  std::size_t apart = 0;
  for (const json::object& outcome : outcomes) {
    text += compare_text(outcome, request.names());
    if (outcome.at("aborted").is_null() && is_told_apart(outcome)) ++apart;
  }
  return text + plural("{} scenario: told apart in {}\n", "{} scenarios: told apart in {}\n", outcomes.size(),
                       outcomes.size(), apart);
}

std::string as_json(const std::vector<json::object>& outcomes, const CompareRequest& request) {
  json::array all;
  for (json::object outcome : outcomes) {
    outcome.erase("met");
    all.emplace_back(std::move(outcome));
  }
  return json_text(
             json::object{{"a", request.a.text()}, {"b", request.b.text()}, {"scenarios", std::move(all)}}) +
         "\n";
}

// --- the request ---

CompareRequest read_request(const CommandLine& line) {
  const std::vector<std::string> words = line.texts("firmware");
  if (words.size() != 2) {
    throw Unusable{plural(
        "two firmwares are compared, and --firmware was given {} time: --firmware A.so --firmware B.so; "
        "built-in stands for the devices of drybus itself",
        "two firmwares are compared, and --firmware was given {} times: --firmware A.so --firmware B.so; "
        "built-in stands for the devices of drybus itself",
        words.size(), words.size())};
  }
  const model::FirmwareManner manner = read_manner(line);
  CompareRequest request{FirmwareChoice{{words[0]}, manner},
                         FirmwareChoice{{words[1]}, manner},
                         {},
                         line.has("hunt"),
                         {},
                         {},
                         read_patience(line)};
  if (line.has("seed")) request.seed = line.number("seed");
  request.output = line.optional_text("output").value_or("");
  if (!request.output.empty() && !request.hunts)
    throw Unusable{tr("-o writes what --hunt finds: give --hunt as well")};
  if (!request.hunts) return request;
  if (line.has("within") || line.has("known"))
    throw Unusable{tr("--hunt looks for any difference: leave --within and --known out")};
  if (!request.output.empty() && request.output != "-")
    claim_output(tr("--output, beside it"), golden_beside(request.output));
  for (const FirmwareChoice* choice : {&request.a, &request.b}) choice->put_back();
  request.options.budget = read_moves(line);
  request.options.bounds = read_bounds(line);
  return request;
}

/// Which entries of the list of known differences were met in any scenario.
std::vector<bool> met_in(const std::vector<json::object>& outcomes, std::size_t count) {
  std::vector<bool> met(count, false);
  for (const json::object& outcome : outcomes) {
    const json::value* here = outcome.if_contains("met");
    for (std::size_t i = 0; here != nullptr && i < count; ++i) met[i] = met[i] || here->at(i).as_bool();
  }
  return met;
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
             msg("one of the two: PATH.so, module=PATH.so, plate=PATH.so, or built-in").data());
  offer_manner(line);
  line.add()(
      "hunt",
      msg("where a scenario does not tell them apart: search for the fewest further moves that do").data());
  line.offer_output("output,o", msg("write these there, as a scenario (of one scenario only)").data());
  offer_patience(line);
  offer_moves(line);
  line.add()("seed", po::value<std::string>(), msg("instead of the scenarios' own").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("at a time; 0: as many as there are cores").data());
  line.offer_json();
  line.take_words("PATH", 1, 0);
  if (!line.parse(arguments)) return exit_fine;

  const bool wants_json = line.json_wanted();
  CompareRequest request = read_request(line);
  const std::vector<std::string> paths = scenario_files(line.words());
  if (paths.empty()) throw Unusable{tr("{}: no scenario below it", line.words()[0])};
  if (!request.output.empty() && paths.size() > 1)
    throw Unusable{tr("-o: the sequence that is found is one scenario; name one")};
  const std::size_t jobs = thread_count(line.number("jobs"));
  request.options.jobs = paths.size() == 1 ? jobs : 1;
  std::vector<json::object> outcomes = compare_all(paths, request, jobs);
  for (json::object& outcome : outcomes) write_found(outcome, request);
  tell_unmet(request.patience.known, met_in(outcomes, request.patience.known.size()));
  print_out(wants_json ? as_json(outcomes, request) : as_text(outcomes, request));
  return exit_code_of(outcomes);
}

}  // namespace drybus::tools
