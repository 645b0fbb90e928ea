#include "tools/commands/check_coverage.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>

#include "model/family/machine_words.h"
#include "model/run/run.h"
#include "model/suite/coverage.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/unusable.h"
#include "tools/commands/check_suite.h"

namespace drybus::tools {

namespace {

namespace json = boost::json;

/// One row of a table, whatever it is of.
struct Row {
  std::string_view from;
  std::string_view by;
  std::string_view to;
  std::string_view effect;
  std::uint64_t visits = 0;
  bool possible = true;

  [[nodiscard]] bool is_hole() const { return possible && visits == 0; }
};

/// A kind of device.
struct Chart {
  std::string_view kind;
  std::vector<Row> edges;
  std::vector<Row> states;
  std::vector<Row> timers;
};

template <class State>
Chart chart_of(std::string_view kind, std::span<const model::Edge<State>> edges,
               std::span<const model::VisibleState> states, std::span<const model::Timer> timers,
               const model::Visits& visits) {
  Chart chart{kind, {}, {}, {}};
  for (std::size_t i = 0; i < edges.size(); ++i) {
    chart.edges.push_back(
        {edges[i].from, edges[i].by, edges[i].to, edges[i].effect, visits.edges[i], visits.possible[i]});
  }
  for (std::size_t i = 0; i < states.size(); ++i) {
    chart.states.push_back(
        {to_string(states[i].mode), to_string(states[i].shown), {}, {}, visits.states[i], true});
  }
  for (std::size_t i = 0; i < timers.size(); ++i) {
    chart.timers.push_back({{}, to_string(timers[i]), {}, {}, visits.timers[i], true});
  }
  return chart;
}

std::vector<Chart> charts_of(const model::Coverage& coverage) {
  return {chart_of("plate", model::plate_edges(), model::plate_states(), model::plate_timers(),
                   coverage.plates()),
          chart_of("module", model::module_edges(), model::module_states(), model::module_timers(),
                   coverage.modules())};
}

std::size_t holes_in(const std::vector<Row>& rows) {
  return static_cast<std::size_t>(
      std::count_if(rows.begin(), rows.end(), [](const Row& row) { return row.is_hole(); }));
}
std::size_t possible_in(const std::vector<Row>& rows) {
  return static_cast<std::size_t>(
      std::count_if(rows.begin(), rows.end(), [](const Row& row) { return row.possible; }));
}
std::size_t holes_in(const std::vector<Chart>& charts) {
  std::size_t holes = 0;
  for (const Chart& chart : charts)
    holes += holes_in(chart.edges) + holes_in(chart.states) + holes_in(chart.timers);
  return holes;
}

// --- text ---

std::string visits_text(const Row& row) {
  if (!row.possible) return fmt::format("{:>10}", "-");
  const std::string count = fmt::format("{:>7}", row.visits);
  return row.is_hole() ? inked("!!" + count, Ink::red) + " " : "  " + count + " ";
}

std::string tally(const std::vector<Row>& rows) {
  return fmt::format("{} of {}", possible_in(rows) - holes_in(rows), possible_in(rows));
}

bool changes_mode(const Row& row) {
  return row.to != "same" && row.from != row.to;
}

/// The two modes, and every way from one to the other.
std::string diagram(const Chart& chart) {
  std::string text;
  for (const std::string_view from : {"normal", "setup"}) {
    for (const Row& row : chart.edges) {
      if (row.from != from || !changes_mode(row)) continue;
      text += fmt::format("{} {:<6} --{:-<38}> {}\n", visits_text(row), from, fmt::format(" {} ", row.by),
                          row.to);
    }
  }
  return text;
}

std::string edge_table(const Chart& chart) {
  std::string text;
  for (const Row& row : chart.edges) {
    if (changes_mode(row)) continue;
    text += fmt::format("{} {:<6} {:<56} {}\n", visits_text(row), row.from, row.by, row.effect);
  }
  return text;
}

std::string as_text(const std::vector<Chart>& charts, std::size_t scenarios) {
  std::string text;
  for (const Chart& chart : charts) {
    text += fmt::format("{}: from mode to mode\n{}", chart.kind, diagram(chart));
    text += fmt::format("{}: within a mode\n{}", chart.kind, edge_table(chart));
    text += fmt::format("{}: what shows\n", chart.kind);
    for (const Row& row : chart.states)
      text += fmt::format("{} {:<6} {}\n", visits_text(row), row.from, row.by);
    text += fmt::format("{}: timers that ran out\n", chart.kind);
    for (const Row& row : chart.timers) text += fmt::format("{} {}\n", visits_text(row), row.by);
    text += "\n";
  }
  for (const Chart& chart : charts) {
    text += fmt::format("{}: {} transitions, {} states, {} timers\n", chart.kind, tally(chart.edges),
                        tally(chart.states), tally(chart.timers));
  }
  const std::size_t holes = holes_in(charts);
  return text + fmt::format("{} scenarios; {}\n", scenarios,
                            holes == 0 ? "nothing is left out ('-': no device of these families can do it)"
                                       : fmt::format("{} never visited, marked !!", holes));
}

// --- JSON ---

json::array rows_json(const std::vector<Row>& rows) {
  json::array all;
  for (const Row& row : rows) {
    json::object object;
    if (!row.from.empty()) object["from"] = row.from;
    object["by"] = row.by;
    if (!row.to.empty()) object["to"] = row.to == "same" ? row.from : row.to;
    if (!row.effect.empty()) object["effect"] = row.effect;
    object["visits"] = row.visits;
    object["possible"] = row.possible;
    all.push_back(std::move(object));
  }
  return all;
}

json::array states_json(const std::vector<Row>& rows) {
  json::array all;
  for (const Row& row : rows)
    all.push_back({{"mode", row.from}, {"indicator", row.by}, {"visits", row.visits}});
  return all;
}

// --- rows of the families' machines ---

/// "any, left heard: if mine: stop breathe"
std::string row_name(const model::Machine& machine, const model::MachineRow& row) {
  return fmt::format("{}, {}: {}", row.in == model::any_state ? "any" : machine.states[row.in].name,
                     to_string(row.on), to_string(machine, row));
}

std::string rows_text(std::string_view device, const model::Machine& machine,
                      const std::vector<std::uint64_t>& visits) {
  std::string never;
  std::size_t taken = 0;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    if (visits[i] != 0) ++taken;
    if (visits[i] == 0)
      never += fmt::format("    never taken, line {}: {}\n", machine.rows[i].line, row_name(machine, machine.rows[i]));
  }
  return fmt::format("  {}: {} of {} rows taken\n{}", device, taken, visits.size(), never);
}

std::string rows_text(const model::Coverage& coverage) {
  std::string text;
  for (const auto& [name, visits] : coverage.rows()) {
    text += fmt::format("rows of {}\n{}{}", name, rows_text("plate", visits.plate_machine, visits.plate),
                        rows_text("module", visits.module_machine, visits.module));
  }
  return text + "\n";
}

void add_rows(json::array& all, std::string_view family, std::string_view device, const model::Machine& machine,
              const std::vector<std::uint64_t>& visits) {
  for (std::size_t i = 0; i < visits.size(); ++i) {
    all.push_back({{"family", family}, {"device", device}, {"line", machine.rows[i].line},
                   {"row", row_name(machine, machine.rows[i])}, {"visits", visits[i]}});
  }
}

std::string as_json_text(const std::vector<Chart>& charts, const model::Coverage& coverage, std::size_t scenarios) {
  json::object object;
  json::array rows;
  for (const auto& [name, visits] : coverage.rows()) {
    add_rows(rows, name, "plate", visits.plate_machine, visits.plate);
    add_rows(rows, name, "module", visits.module_machine, visits.module);
  }
  object["rows"] = std::move(rows);
  for (const Chart& chart : charts) {
    object[chart.kind] = json::object{{"transitions", rows_json(chart.edges)},
                                      {"states", states_json(chart.states)},
                                      {"timers", rows_json(chart.timers)}};
  }
  object["scenarios"] = scenarios;
  object["holes"] = holes_in(charts);
  return json_text(object) + "\n";
}

}  // namespace

int check_coverage(const std::vector<std::string>& paths, std::size_t jobs, bool as_json) {
  const Suite suite = load_suite(paths, jobs);
  std::vector<model::Coverage> parts(suite.scenarios.size());
  in_parallel(parts.size(), jobs, [&](std::size_t i) {
    parts[i].take_family(suite.scenario(i).site.family);
    for (const model::Family& other : suite.scenario(i).site.other_families) parts[i].take_family(other);
    model::RunOptions options;
    options.plain = true;
    options.logic = &parts[i];
    run(suite.scenario(i), options);
  });
  model::Coverage whole;
  for (const model::Coverage& part : parts) whole.add(part);
  const std::vector<Chart> charts = charts_of(whole);
  print_out(as_json ? as_json_text(charts, whole, parts.size()) : rows_text(whole) + as_text(charts, parts.size()));
  return holes_in(charts) != 0 ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
