#include "tools/commands/check_observables.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::plural;
using model::tr;

namespace {

/// More differences of one scenario are counted, not told.
constexpr std::size_t most_told_of_one = 12;

/// A scenario's stored run: by its path, else by its file's name where only one has it.
const SeenRun* find(const GoldenRecord& record, const std::string& path) {
  const auto by_path = record.find(as_utf8(path));
  if (by_path != record.end()) return &by_path->second;
  const auto name = std::filesystem::path{path}.filename();
  const SeenRun* found = nullptr;
  for (const auto& [stored, run] : record) {
    if (std::filesystem::path{stored}.filename() != name) continue;
    if (found != nullptr) return nullptr;
    found = &run;
  }
  return found;
}

void tell(const std::vector<Difference>& differences, SeenScenario& scenario) {
  std::size_t unknown = 0;
  for (const Difference& difference : differences) {
    if (!difference.known.empty()) {
      scenario.notes.push_back(tr("known: {} ({})", to_text(difference), difference.known));
    } else if (++unknown <= most_told_of_one) {
      scenario.failures.push_back(tr("not as it was: {}", to_text(difference)));
    }
  }
  if (unknown > most_told_of_one)
    scenario.failures.push_back(tr("and {} differences more", unknown - most_told_of_one));
}

std::vector<Difference> differences_of(const SeenRun& before, const SeenScenario& scenario,
                                       const ObservablesRequest& request, std::vector<bool>& met) {
  auto found = differences(before.seen, scenario.run.seen, request.patience.within);
  const std::vector<bool> met_here = mark_known(request.patience.known, scenario.path, found);
  for (std::size_t i = 0; i < met.size(); ++i) met[i] = met[i] || met_here[i];
  return found;
}

void compare(const ObservablesRequest& request, std::vector<SeenScenario>& scenarios) {
  const GoldenRecord stored = read_golden_record(request.file);
  std::vector<bool> met(request.patience.known.size(), false);
  for (SeenScenario& scenario : scenarios) {
    if (scenario.broke_off) continue;  // which fails by itself
    const SeenRun* before = find(stored, scenario.path);
    if (before == nullptr) {
      scenario.failures.push_back(
          tr("nothing is stored of it in {}: --accept stores it", request.file.string()));
    } else if (before->seed != scenario.run.seed) {
      scenario.failures.push_back(
          tr("stored with seed {}, and run with {}", before->seed, scenario.run.seed));
    } else {
      tell(differences_of(*before, scenario, request, met), scenario);
    }
  }
  tell_unmet(request.patience.known, met);
}

std::string moved_text(const SeenRun& before, const SeenScenario& scenario,
                       const ObservablesRequest& request) {
  const auto found = differences(before.seen, scenario.run.seen, request.patience.within);
  std::string text;
  for (std::size_t i = 0; i < std::min(found.size(), most_told_of_one); ++i)
    text += tr("moved  {}: {}\n", scenario.path, to_text(found[i]));
  if (found.size() > most_told_of_one)
    text += tr("moved  {}: and {} differences more\n", scenario.path, found.size() - most_told_of_one);
  return text;
}

/// Scenarios that were not run now keep what is stored of them, unless their file is gone; those that broke off, too.
void store(const ObservablesRequest& request, const std::vector<SeenScenario>& scenarios) {
  allow_update(request.file);
  const bool is_new = !std::filesystem::exists(request.file);
  GoldenRecord record = is_new ? GoldenRecord{} : read_golden_record(request.file);
  std::erase_if(record, [](const auto& entry) { return !std::filesystem::exists(entry.first); });
  std::string moved;
  std::size_t stored = 0;
  for (const SeenScenario& scenario : scenarios) {
    if (scenario.broke_off) continue;
    const std::string path = as_utf8(scenario.path);
    const auto before = record.find(path);
    if (!is_new)
      moved +=
          before == record.end() ? tr("new    {}\n", path) : moved_text(before->second, scenario, request);
    record[path] = scenario.run;
    ++stored;
  }
  write_file(request.file, golden_record_text(record));
  if (!is_new && moved.empty()) moved = tr("nothing moved\n");
  print_err(moved + plural("stored what could be seen and heard of {} scenario in {}\n",
                           "stored what could be seen and heard of {} scenarios in {}\n", stored, stored,
                           request.file.string()));
}

}  // namespace

std::optional<ObservablesRequest> read_observables(const CommandLine& line) {
  const bool asked = line.has("observables");
  if (!asked && (line.has("within") || line.has("known")))
    throw Unusable{tr("--within and --known are about what --observables FILE holds")};
  if (!asked) return std::nullopt;
  ObservablesRequest request;
  request.file = line.text("observables");
  request.store = line.has("accept") || !std::filesystem::exists(request.file);
  request.patience = read_patience(line);
  if (request.store) claim_output("--observables", request.file);
  return request;
}

void hold_observables(const ObservablesRequest& request, std::vector<SeenScenario>& scenarios) {
  if (request.store) return store(request, scenarios);
  compare(request, scenarios);
}

}  // namespace drybus::tools
