// What could be seen and heard of a suite of scenarios, in one file: what a release did, for later builds to be held
// against. JSON, a line for each thing seen, so that what changes shows in a comparison of files:
//
//     {"drybus-observables": 1, "scenarios": {
//     "scenarios/a.yaml": {"seed": 3, "ended_ns": 12000000000, "seen": [
//     [500000000, "M1", "indicator blip"],
//     ...
//     ]}}}
#pragma once

#include <boost/json/array.hpp>
#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "tools/observed/seen.h"

namespace drybus::tools {

/// One scenario's.
struct SeenRun {
  std::uint64_t seed = 0;
  sim::Instant ended{};
  std::vector<Seen> seen;
};

/// By the scenario's path, as check names it.
using GoldenRecord = std::map<std::string, SeenRun>;

/// Throws Unusable for a file that is not there or is none of ours.
GoldenRecord read_golden_record(const std::filesystem::path& path);
std::string golden_record_text(const GoldenRecord& record);

boost::json::array to_json(const std::vector<Seen>& seen);
/// Throws what Boost.JSON throws for an array that to_json does not make.
std::vector<Seen> seen_from(const boost::json::array& array);

}  // namespace drybus::tools
