#include "tools/commands/check_digests.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/script/files.h"

namespace drybus::tools {

using model::tr;
using model::tr_as;

namespace json = boost::json;

namespace {

std::string findings_text(const StoredRun& run) {
  return run.findings.empty() ? tr_as("findings", "none") : fmt::format("{}", fmt::join(run.findings, " "));
}

}  // namespace

StoredRun stored_run(const model::RunResult& result) {
  StoredRun run{result.digest.hex(), result.record.size(), model::clock_text(result.world.now), {}};
  for (const model::Finding& finding : result.findings) run.findings.emplace_back(to_string(finding.id));
  return run;
}

StoredRun stored_run(const json::object& object) {
  StoredRun run;
  run.digest = json::value_to<std::string>(object.at("digest"));
  run.entries = json::value_to<std::uint64_t>(object.at("entries"));
  run.ended_at = json::value_to<std::string>(object.at("ended_at"));
  run.findings = json::value_to<std::vector<std::string>>(object.at("findings"));
  return run;
}

json::object to_json(const StoredRun& run) {
  return {{"digest", run.digest},
          {"entries", run.entries},
          {"ended_at", run.ended_at},
          {"findings", json::value_from(run.findings)}};
}

StoredRuns read_stored_runs(const std::filesystem::path& path) {
  const auto text = DiskFiles{}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{tr("{}: {}\nTo store the digests of now: --accept", path.string(), refusal->why)};
  try {
    StoredRuns runs;
    const json::value stored = json::parse(std::get<std::string>(text));
    for (const auto& [scenario, run] : stored.as_object()) runs[scenario] = stored_run(run.as_object());
    return runs;
  } catch (const std::exception& error) {
    throw Unusable{tr("{}: not a file of stored digests: {}", path.string(), reason_of(error))};
  }
}

std::string stored_runs_text(const StoredRuns& runs) {
  std::string text = "{";
  for (const auto& [scenario, run] : runs) {
    // A line for each, so that what changes shows in a comparison of files.
    text += fmt::format("{}\n{}: {}", text.size() > 1 ? "," : "", json::serialize(scenario),
                        json::serialize(to_json(run)));
  }
  return text + "\n}\n";
}

std::string what_moved(const StoredRun& before, const StoredRun& now) {
  std::vector<std::string> parts;
  if (before.digest != now.digest) parts.push_back(tr("digest {} -> {}", before.digest, now.digest));
  if (before.entries != now.entries) parts.push_back(tr("entries {} -> {}", before.entries, now.entries));
  if (before.ended_at != now.ended_at) parts.push_back(tr("end {} -> {}", before.ended_at, now.ended_at));
  if (before.findings != now.findings)
    parts.push_back(tr("findings {} -> {}", findings_text(before), findings_text(now)));
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string all_that_moved(const StoredRuns& before, const StoredRuns& now) {
  std::string text;
  for (const auto& [scenario, run] : now) {
    const auto stored = before.find(scenario);
    if (stored == before.end()) {
      text += tr("new    {}\n", scenario);
    } else if (const std::string moved = what_moved(stored->second, run); !moved.empty()) {
      text += tr("moved  {}: {}\n", scenario, moved);
    }
  }
  for (const auto& [scenario, run] : before) {
    if (!now.contains(scenario)) text += tr("gone   {}\n", scenario);
  }
  return text;
}

}  // namespace drybus::tools
