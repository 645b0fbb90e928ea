// Digests that were stored once, so that no behaviour changes without somebody saying yes to it.
#pragma once

#include <boost/json/object.hpp>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "model/run/run.h"

namespace drybus::tools {

/// What is stored of a run: its digest, and a little by which a person sees what moved.
struct StoredRun {
  std::string digest;
  std::uint64_t entries = 0;  ///< of its record
  std::string ended_at;       ///< on the scenario's clock
  std::vector<std::string> findings;
  friend bool operator==(const StoredRun&, const StoredRun&) = default;
};

StoredRun stored_run(const model::RunResult& result);
boost::json::object to_json(const StoredRun& run);
/// Throws what Boost.JSON throws for an object that to_json does not make.
StoredRun stored_run(const boost::json::object& object);

/// By the scenario's path, as check names it.
using StoredRuns = std::map<std::string, StoredRun>;

/// Throws Unusable for a file that is not there or is none of ours.
StoredRuns read_stored_runs(const std::filesystem::path& path);
std::string stored_runs_text(const StoredRuns& runs);

/// "digest 12ab... -> 34cd..., entries 120 -> 121, findings none -> setup-split"; empty when all is the same.
std::string what_moved(const StoredRun& before, const StoredRun& now);

/// A line for each scenario that moved, is new or is gone; empty when none is.
std::string all_that_moved(const StoredRuns& before, const StoredRuns& now);

}  // namespace drybus::tools
