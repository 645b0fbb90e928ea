// drybus sweep for a scenario that names its protocol: many seeded runs with people's timing, how often each finding comes
// of it, and how far people come.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <map>

#include "model/words/words.h"
#include "sim/statistics.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/commands/protocol_runs.h"
#include "tools/options/budget.h"
#include "tools/view/protocol_view.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::tr;
using model::tr_as;

namespace json = boost::json;

namespace {

/// Of the logarithm of how long somebody takes to name a lamp; judgement, as for other things that people do.
constexpr double people_spread = 0.3;

/// What a sweep keeps of one run.
struct Swept {
  std::vector<std::string> findings;
  std::vector<std::pair<std::string, std::uint64_t>> figures;
};

struct Tally {
  std::uint64_t runs = 0;
  std::uint64_t any = 0;
  std::map<std::string, std::uint64_t> findings;                            ///< in how many runs
  std::vector<std::pair<std::string, std::vector<std::uint64_t>>> figures;  ///< each run's, sorted
};

std::vector<Swept> sweep(const protocol::Scenario& scenario, const CommandLine& line, std::uint64_t runs) {
  const std::uint64_t first_seed = line.number("seed");
  const std::uint64_t most_events = read_budget(line).events;
  std::vector<Swept> all(runs);
  in_parallel(all.size(), line.number("jobs"), [&](std::size_t i) {
    protocol::RunOptions options;
    options.seed = first_seed + i;
    options.spread = people_spread;
    options.most_events = most_events;
    const protocol::Run run = scenario.run(options);
    if (!run.broken_off.empty()) throw Unusable{fmt::format("{}: {}", line.words()[0], run.broken_off)};
    all[i] = {finding_ids(scenario, run), run.figures};
  });
  return all;
}

Tally tally_of(const std::vector<Swept>& all) {
  Tally tally;
  for (const Swept& run : all) {
    ++tally.runs;
    if (!run.findings.empty()) ++tally.any;
    std::vector<std::string> ids = run.findings;
    std::sort(ids.begin(), ids.end());
    ids.erase(std::unique(ids.begin(), ids.end()), ids.end());
    for (const std::string& id : ids) ++tally.findings[id];
    if (tally.figures.empty()) {
      for (const auto& [what, value] : run.figures) tally.figures.push_back({what, {}});
    }
    for (std::size_t i = 0; i < run.figures.size(); ++i)
      tally.figures[i].second.push_back(run.figures[i].second);
  }
  for (auto& [what, values] : tally.figures) std::sort(values.begin(), values.end());
  return tally;
}

/// The value below which this share of the runs lies.
std::uint64_t quantile(const std::vector<std::uint64_t>& sorted, double share) {
  return sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1))];
}

std::string thousandths_text(double number) {
  return model::with_decimal_mark(fmt::format("{:.3f}", number));
}

std::string row(const std::string& name, std::uint64_t hits, std::uint64_t runs) {
  const sim::Interval interval = sim::wilson(hits, runs);
  return tr("  {:<22}{:>8}  {:>8} %  {:>8} % to {} %\n", name, hits,
            thousandths_text(100.0 * static_cast<double>(hits) / static_cast<double>(runs)),
            thousandths_text(100 * interval.low), thousandths_text(100 * interval.high));
}

std::string as_text(const std::string& name, const Tally& tally, std::uint64_t seed) {
  std::string text = tr("{}: {} runs with people's timing, seeds from {}\n", name, tally.runs, seed);
  text += fmt::format("  {:<22}{:>8}  {:>10}  {}\n", tr_as("column", "finding"), tr_as("column", "runs"),
                      tr_as("column", "rate"), tr("95 % interval (Wilson)"));
  for (const auto& [id, hits] : tally.findings) text += row(id, hits, tally.runs);
  text += row(tr("any finding"), tally.any, tally.runs);
  for (const auto& [what, values] : tally.figures)
    text += tr("  {}: {} in the middle run, {} to {} in nine of ten, {} to {} in all\n",
               in_words_spoken(what), quantile(values, 0.5), quantile(values, 0.05), quantile(values, 0.95),
               values.front(), values.back());
  return text;
}

std::string as_json(const std::string& name, const Tally& tally, std::uint64_t seed) {
  json::array findings;
  for (const auto& [id, hits] : tally.findings) {
    const sim::Interval interval = sim::wilson(hits, tally.runs);
    findings.push_back({{"id", id}, {"runs", hits}, {"low", interval.low}, {"high", interval.high}});
  }
  json::array figures;
  for (const auto& [what, values] : tally.figures)
    figures.push_back({{"what", what},
                       {"least", values.front()},
                       {"p05", quantile(values, 0.05)},
                       {"median", quantile(values, 0.5)},
                       {"p95", quantile(values, 0.95)},
                       {"most", values.back()}});
  return json_text(json::object{{"scenario", name},
                                {"runs", tally.runs},
                                {"seed", seed},
                                {"any", tally.any},
                                {"findings", std::move(findings)},
                                {"figures", std::move(figures)}}) +
         "\n";
}

}  // namespace

int sweep_of_protocol(const CommandLine& line) {
  const std::string& name = line.words()[0];
  const protocol::Scenario scenario = load_protocol_scenario(name);
  refuse_options(line, scenario,
                 {"no-slips", "check-list", "vary", "plot", "shard", "state", "run", "firmware", "log"});
  const std::uint64_t runs = line.number("runs", 1, 1'000'000);
  const Tally tally = tally_of(sweep(scenario, line, runs));
  const std::uint64_t seed = line.number("seed");
  print_out(line.json_wanted() ? as_json(name, tally, seed) : as_text(name, tally, seed));
  return exit_fine;
}

}  // namespace drybus::tools
