#include "tools/observed/golden_record.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/script/files.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

namespace {

/// A golden record is as long as its suite.
constexpr std::size_t most_bytes = std::size_t{512} << 20;
constexpr const char* version_key = "drybus-observables";

SeenRun run_from(const json::object& object) {
  SeenRun run;
  run.seed = json::value_to<std::uint64_t>(object.at("seed"));
  run.ended = sim::Instant{sim::Duration{json::value_to<std::int64_t>(object.at("ended_ns"))}};
  run.seen = seen_from(object.at("seen").as_array());
  return run;
}

}  // namespace

json::array to_json(const std::vector<Seen>& seen) {
  json::array array;
  array.reserve(seen.size());
  for (const Seen& each : seen)
    array.push_back(json::array{each.at.time_since_epoch().count(), each.device, each.what});
  return array;
}

std::vector<Seen> seen_from(const json::array& array) {
  std::vector<Seen> seen;
  seen.reserve(array.size());
  for (const json::value& each : array) {
    seen.push_back({sim::Instant{sim::Duration{json::value_to<std::int64_t>(each.at(0))}},
                    json::value_to<std::string>(each.at(1)), json::value_to<std::string>(each.at(2)),
                    sim::no_entry});
  }
  return seen;
}

GoldenRecord read_golden_record(const std::filesystem::path& path) {
  const auto text = DiskFiles{most_bytes}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{fmt::format("{}: {}", path.string(), refusal->why)};
  try {
    const json::value stored = json::parse(std::get<std::string>(text));
    if (stored.at(version_key) != 1) throw std::invalid_argument{tr("it is of a version that is not known")};
    GoldenRecord record;
    for (const auto& [scenario, run] : stored.at("scenarios").as_object())
      record[scenario] = run_from(run.as_object());
    return record;
  } catch (const std::exception& error) {
    throw Unusable{tr("{}: not a file of what could be seen and heard: {}", path.string(), reason_of(error))};
  }
}

std::string golden_record_text(const GoldenRecord& record) {
  std::string text = fmt::format("{{\"{}\": 1, \"scenarios\": {{", version_key);
  bool first = true;
  for (const auto& [scenario, run] : record) {
    text += fmt::format("{}\n{}: {{\"seed\": {}, \"ended_ns\": {}, \"seen\": [", first ? "" : ",",
                        json::serialize(scenario), run.seed, run.ended.time_since_epoch().count());
    first = false;
    const json::array seen = to_json(run.seen);
    for (std::size_t i = 0; i < seen.size(); ++i) text += (i == 0 ? "\n" : ",\n") + json::serialize(seen[i]);
    text += "]}";
  }
  return text + "\n}}\n";
}

}  // namespace drybus::tools
