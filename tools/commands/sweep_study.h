// A parameter study: a sweep for each of several values of one number of the family.
#pragma once

#include <boost/json.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/run/sweep.h"

namespace drybus::tools {

/// "time_out=60s..600s/10": which parameter, from where to where, in how many values.
struct Study {
  std::string parameter;
  sim::Duration from{};
  sim::Duration to{};
  std::uint64_t values = 0;

  [[nodiscard]] sim::Duration value(std::uint64_t index) const {
    return values < 2 ? from
                      : from + (to - from) * static_cast<std::int64_t>(index) /
                                   static_cast<std::int64_t>(values - 1);
  }
};

/// One value of the parameter studied, or the scenario as it is.
struct StudyRow {
  std::optional<sim::Duration> value;
  model::SweepPart total;
};

/// Throws Unusable for a text of another shape.
Study study_of(const std::string& text);

/// Throws Unusable for a parameter that there is not.
void set_parameter(model::Family& family, const std::string& parameter, sim::Duration value);

/// "the time-out of plates and modules"
std::string parameter_in_words(const std::string& parameter);

/// Which value has the fewest runs with a finding, and which others chance does not tell from it.
/// REQUIRES: rows are not empty, and each has its value.
struct Best {
  std::size_t row = 0;
  std::vector<std::size_t> not_told_apart;  ///< rows, in order
};
Best best_of(const std::vector<StudyRow>& rows);
std::string best_text(const std::vector<StudyRow>& rows, const Study& study);

/// Adds "best_s" and "not_told_apart_s".
void add_best(boost::json::object& to, const std::vector<StudyRow>& rows);

/// The study as SVG: the findings that come most often as curves, the others by name.
std::string study_plot(const std::string& title, const std::vector<StudyRow>& rows, const Study& study);

}  // namespace drybus::tools
