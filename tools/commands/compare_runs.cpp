#include "tools/commands/compare_runs.h"

#include <algorithm>
#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "tools/commands/rows_taken.h"
#include "tools/observed/differences.h"
#include "tools/options/budget.h"
#include "tools/options/firmware_choice.h"

namespace drybus::tools {

namespace {

namespace json = boost::json;

constexpr std::size_t most_causes = 12;
constexpr std::size_t most_differences = 20;

/// One of the two runs.
struct Side {
  const model::Scenario& scenario;
  model::RunResult result;
  std::vector<Seen> seen;
};

Side side_of(const model::Scenario& scenario, std::uint64_t seed) {
  model::RunOptions options;
  options.seed = seed;
  options.until = longest_firmware_run;
  Side side{scenario, model::run(scenario, options), {}};
  refuse_used_up("built-in", scenario, side.result);
  side.seen = seen_in(scenario, side.result.record);
  return side;
}

json::object line_json(sim::Instant at, std::string text) {
  return {{"at_s", sim::seconds(at)}, {"clock", model::clock_text(at)}, {"text", std::move(text)}};
}

/// An entry and what led to it, itself first, back to the step. What happened over and over is told once.
json::array with_causes(const Side& side, sim::EntryId id) {
  const sim::Record& record = side.result.record;
  json::array chain;
  while (id != sim::no_entry && chain.size() < most_causes) {
    const sim::Entry& entry = record[id];
    json::object told = line_json(entry.at, describe(side.scenario, entry));
    told["exact_clock"] = exact_clock_text(entry.at);
    std::uint64_t times = 1;
    for (id = entry.cause; id != sim::no_entry && record[id].kind == entry.kind &&
                           describe(side.scenario, record[id]) == describe(side.scenario, entry);
         id = record[id].cause) {
      ++times;
    }
    told["times"] = times;
    chain.push_back(std::move(told));
    if (model::what(entry) == model::What::step) break;
  }
  return chain;
}

/// What one side did where the two part; null when it did nothing like it.
json::value side_json(const Side& side, const std::optional<Seen>& seen) {
  if (seen) return with_causes(side, seen->entry);
  if (!side.result.broken_off) return nullptr;
  return json::array{line_json(side.result.broken_off->at, describe(side.scenario, *side.result.broken_off))};
}

/// Where both broke off, or one did with nothing to be seen of it.
json::value broken_json(const Side& side) {
  if (!side.result.broken_off) return nullptr;
  return side_json(side, std::nullopt);
}

/// What led to both is told once: taken from both sides' ends.
json::array take_common_end(json::value& a, json::value& b) {
  json::array common;
  if (!a.is_array() || !b.is_array()) return common;
  json::array& left = a.get_array();
  json::array& right = b.get_array();
  while (left.size() > 1 && right.size() > 1 && left.back() == right.back()) {
    common.insert(common.begin(), left.back());
    left.pop_back();
    right.pop_back();
  }
  return common;
}

/// Lines of one side that the other has just so are told with times as exact as it takes.
void tell_apart_lines(json::value& a, json::value& b) {
  if (!a.is_array() || !b.is_array()) return;
  const auto told = [](const json::value& line) {
    return std::pair{line.at("clock").as_string(), line.at("text").as_string()};
  };
  for (json::value& left : a.get_array()) {
    for (json::value& right : b.get_array()) {
      if (told(left) != told(right)) continue;
      for (json::value* each : {&left, &right}) {
        if (const json::value* exact = each->as_object().if_contains("exact_clock"))
          each->as_object()["clock"] = *exact;
      }
    }
  }
}

json::object difference_json(const Difference& difference) {
  const auto seen_json = [](const std::optional<Seen>& seen) -> json::value {
    if (!seen) return nullptr;
    return json::object{{"at_s", sim::seconds(seen->at)}, {"what", seen->what}};
  };
  json::object object{{"device", difference.either().device},
                      {"text", to_text(difference)},
                      {"a", seen_json(difference.was)},
                      {"b", seen_json(difference.is)}};
  if (!difference.known.empty()) object["reason"] = difference.known;
  return object;
}

void add_parting(const Side& a, const Side& b, const Difference* parting, json::object& object) {
  object["a"] = parting != nullptr ? side_json(a, parting->was) : broken_json(a);
  object["b"] = parting != nullptr ? side_json(b, parting->is) : broken_json(b);
  object["both"] = take_common_end(object["a"], object["b"]);
  tell_apart_lines(object["a"], object["b"]);
}

/// When the device reacted, of which came what was seen or heard: a telegram may have waited.
sim::Instant reaction_of(const sim::Record& record, sim::EntryId id) {
  const std::uint32_t who = record[id].who;
  while (record[id].cause != sim::no_entry && record[record[id].cause].who == who) {
    const model::What kind = model::what(record[record[id].cause]);
    if (kind != model::What::queued && kind != model::What::deferred && kind != model::What::sent) break;
    id = record[id].cause;
  }
  return record[id].at;
}

/// What the family's tables say where somebody's firmware parts from them: the rows that its device took then.
json::array rows_there(const Side& a, const Side& b, std::uint64_t seed, const Difference& parting) {
  const bool first = a.scenario.site.logic == nullptr;
  const Side& tables = first ? a : b;
  const Side& other = first ? b : a;
  const std::optional<Seen>& own = first ? parting.was : parting.is;
  const std::optional<Seen>& others = first ? parting.is : parting.was;
  if (tables.scenario.site.logic != nullptr || other.scenario.site.logic == nullptr) return {};
  const sim::Record& record = (own ? tables : other).result.record;
  const sim::EntryId entry = own ? own->entry : others->entry;
  json::array rows;
  for (std::string& row : rows_taken(tables.scenario, seed, record[entry].who, reaction_of(record, entry)))
    rows.emplace_back(std::move(row));
  return rows;
}

std::size_t seen_before(const Side& a, const Difference* parting) {
  if (parting == nullptr) return a.seen.size();
  return static_cast<std::size_t>(
      std::count_if(a.seen.begin(), a.seen.end(), [&](const Seen& seen) { return seen.at < parting->at(); }));
}

}  // namespace

json::object compare_runs(const model::Scenario& scenario_a, const model::Scenario& scenario_b,
                          std::uint64_t seed, const std::string& path, const Patience& patience) {
  const Side a = side_of(scenario_a, seed);
  const Side b = side_of(scenario_b, seed);
  std::vector<Difference> found = differences(a.seen, b.seen, patience.within);
  const std::vector<bool> met = mark_known(patience.known, path, found);
  const auto parting =
      std::find_if(found.begin(), found.end(), [](const Difference& each) { return each.known.empty(); });
  const Difference* first = parting == found.end() ? nullptr : &*parting;
  const bool broke_off = a.result.broken_off || b.result.broken_off;
  const bool same = first == nullptr && !broke_off;
  json::object object{{"same", same}, {"alike", seen_before(a, first)}, {"met", json::value_from(met)}};
  json::array known;
  json::array unknown;
  std::size_t count = 0;
  for (const Difference& each : found) {
    if (!each.known.empty()) {
      known.push_back(difference_json(each));
    } else if (++count <= most_differences) {
      unknown.push_back(difference_json(each));
    }
  }
  object["known"] = std::move(known);
  object["differences"] = std::move(unknown);
  object["differences_in_all"] = count;
  if (!same) add_parting(a, b, first, object);
  if (first != nullptr) object["rows"] = rows_there(a, b, seed, *first);
  return object;
}

}  // namespace drybus::tools
