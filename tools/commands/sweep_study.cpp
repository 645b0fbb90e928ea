#include "tools/commands/sweep_study.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "sim/proportions.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/script/quantity.h"
#include "tools/view/rate_plot.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

struct Parameter {
  std::string_view name;
  std::string_view words;
};
constexpr std::array parameters = {
    Parameter{"time_out", msg("the time-out of plates and modules")},
    Parameter{"plate.time_out", msg("the time-out of plates")},
    Parameter{"module.time_out", msg("the time-out of modules")},
    Parameter{"plate.setup_hold", msg("how long a plate's buttons are held for setup")},
    Parameter{"module.setup_hold", msg("how long a module's button is held for setup")},
};

std::uint64_t whole_number(std::string_view text) {
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size())
    throw Unusable{tr("--vary: '{}' is no whole number", text)};
  return number;
}

std::string value_text(const StudyRow& row) {
  return model::duration_text(*row.value);
}

/// "60 s, 90 s and 120 s"
std::string listed(std::vector<std::string> words) {
  if (words.size() < 2) return words.empty() ? "" : words.front();
  const std::string last = words.back();
  words.pop_back();
  return tr("{} and {}", fmt::format("{}", fmt::join(words, ", ")), last);
}

double highest_rate(const std::vector<StudyRow>& rows, std::size_t finding) {
  double highest = 0;
  for (const StudyRow& row : rows)
    highest =
        std::max(highest, static_cast<double>(row.total.hits[finding]) / static_cast<double>(row.total.runs));
  return highest;
}

/// Those that occur, the most frequent first.
std::vector<std::size_t> findings_of(const std::vector<StudyRow>& rows) {
  std::vector<std::size_t> findings;
  for (std::size_t i = 0; i < model::finding_count; ++i) {
    if (highest_rate(rows, i) > 0) findings.push_back(i);
  }
  std::stable_sort(findings.begin(), findings.end(), [&](std::size_t a, std::size_t b) {
    return highest_rate(rows, a) > highest_rate(rows, b);
  });
  return findings;
}

RateSeries series_of(const std::vector<StudyRow>& rows, std::string name, auto hits_of) {
  RateSeries series{std::move(name), {}};
  for (const StudyRow& row : rows) {
    const std::uint64_t hits = hits_of(row.total);
    const sim::Interval interval = sim::wilson(hits, row.total.runs);
    series.points.push_back({sim::seconds(*row.value),
                             static_cast<double>(hits) / static_cast<double>(row.total.runs), interval.low,
                             interval.high});
  }
  return series;
}

/// What of the findings is not drawn.
std::string left_out_text(const std::vector<StudyRow>& rows, const std::vector<std::size_t>& left_out) {
  if (left_out.empty()) return tr("Every finding that occurred is drawn.");
  std::vector<std::string> names;
  names.reserve(left_out.size());
  for (const std::size_t finding : left_out) {
    names.push_back(tr("{} ({} % at most)", to_string(static_cast<model::FindingId>(finding)),
                       model::with_decimal_mark(fmt::format("{:.2g}", 100 * highest_rate(rows, finding)))));
  }
  return tr("Not drawn, for they are rarer: {}.", listed(names));
}

/// "60 s; 400 runs each do not tell it from 40 s and 80 s"
std::string best_and_alike(const std::vector<StudyRow>& rows) {
  const Best best = best_of(rows);
  std::string text = value_text(rows[best.row]);
  if (best.not_told_apart.empty()) return text;
  if (best.not_told_apart.size() + 1 == rows.size())
    return text + tr("; but {} runs each do not tell the values apart", rows[0].total.runs);
  std::vector<std::string> others;
  others.reserve(best.not_told_apart.size());
  for (const std::size_t row : best.not_told_apart) others.push_back(value_text(rows[row]));
  return text + tr("; {} runs each do not tell it from {}", rows[0].total.runs, listed(others));
}

}  // namespace

Study study_of(const std::string& text) {
  const std::string shape =
      tr("--vary {}: expected NAME=FROM..TO/COUNT, such as time_out=60s..600s/10", text);
  const std::size_t equals = text.find('='), dots = text.find(".."), slash = text.rfind('/');
  if (equals == std::string::npos || dots == std::string::npos || slash == std::string::npos ||
      dots < equals || slash < dots) {
    throw Unusable{shape};
  }
  Study study;
  study.parameter = text.substr(0, equals);
  if (study.parameter == "timeout") study.parameter = "time_out";
  const auto from = parse_duration(text.substr(equals + 1, dots - equals - 1));
  const auto to = parse_duration(text.substr(dots + 2, slash - dots - 2));
  if (!from || !to || *from > *to) throw Unusable{shape};
  study.from = *from;
  study.to = *to;
  study.values = whole_number(std::string_view{text}.substr(slash + 1));
  if (study.values < 1 || study.values > 1000) throw Unusable{tr("--vary: between 1 and 1000 values")};
  return study;
}

void set_parameter(model::Family& family, const std::string& parameter, sim::Duration value) {
  const bool both = parameter == "time_out";
  std::vector<std::string> known;
  known.reserve(parameters.size());
  for (const Parameter& each : parameters) known.emplace_back(each.name);
  if (std::find(known.begin(), known.end(), parameter) == known.end()) {
    throw Unusable{tr("--vary: unknown parameter '{}'.{}", parameter, did_you_mean(parameter, known))};
  }
  if (both || parameter == "plate.time_out") family.plate.time_out.after = value;
  if (both || parameter == "module.time_out") family.module.time_out.after = value;
  if (parameter == "plate.setup_hold") family.plate.setup_hold = value;
  if (parameter == "module.setup_hold") family.module.setup_hold = value;
}

std::string parameter_in_words(const std::string& parameter) {
  const auto found = std::find_if(parameters.begin(), parameters.end(),
                                  [&](const Parameter& each) { return each.name == parameter; });
  return found == parameters.end() ? parameter : std::string{in_words_spoken(found->words)};
}

Best best_of(const std::vector<StudyRow>& rows) {
  const auto best = std::min_element(rows.begin(), rows.end(), [](const StudyRow& a, const StudyRow& b) {
    return a.total.with_finding < b.total.with_finding;
  });
  Best told{static_cast<std::size_t>(best - rows.begin()), {}};
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const model::SweepPart& other = rows[i].total;
    if (i != told.row &&
        !sim::told_apart(other.with_finding, other.runs, best->total.with_finding, best->total.runs))
      told.not_told_apart.push_back(i);
  }
  return told;
}

std::string best_text(const std::vector<StudyRow>& rows, const Study& study) {
  return tr("fewest runs with a finding: {} = {}\n", study.parameter, best_and_alike(rows));
}

void add_best(boost::json::object& to, const std::vector<StudyRow>& rows) {
  const Best best = best_of(rows);
  boost::json::array others;
  for (const std::size_t row : best.not_told_apart) others.emplace_back(sim::seconds(*rows[row].value));
  to["best_s"] = sim::seconds(*rows[best.row].value);
  to["not_told_apart_s"] = std::move(others);
}

std::string study_plot(const std::string& title, const std::vector<StudyRow>& rows, const Study& study) {
  std::vector<RateSeries> series{
      series_of(rows, tr("any finding"), [](const model::SweepPart& total) { return total.with_finding; })};
  const std::vector<std::size_t> findings = findings_of(rows);
  std::vector<std::size_t> left_out;
  for (const std::size_t finding : findings) {
    if (series.size() == most_rate_series) {
      left_out.push_back(finding);
      continue;
    }
    series.push_back(series_of(rows, std::string{to_string(static_cast<model::FindingId>(finding))},
                               [&](const model::SweepPart& total) { return total.hits[finding]; }));
  }
  RatePlot plot;
  plot.title = title;
  plot.x_label = tr("{}, in seconds", parameter_in_words(study.parameter));
  plot.y_label =
      tr("share of {} runs in which it was found; upright lines: 95 % intervals", rows[0].total.runs);
  plot.remarks = {tr("Fewest runs with a finding: at {}.", best_and_alike(rows)),
                  left_out_text(rows, left_out)};
  return rate_plot(plot, series);
}

}  // namespace drybus::tools
