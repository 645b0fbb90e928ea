// Clock times in a text, and the moments of a run that they stand for.
#include <algorithm>
#include <charconv>
#include <regex>

#include "tools/timeline/timeline.h"

namespace drybus::tools {

namespace {

constexpr sim::Duration tenth = std::chrono::milliseconds{100};

std::int64_t number(const std::csub_match& digits) {
  std::int64_t value = 0;
  std::from_chars(digits.first, digits.second, value);
  return value;
}

}  // namespace

std::vector<sim::Instant> named_moments(const sim::Record& record, std::string_view text) {
  // "4:02.5" or "1:04:02.5", as a run's clock is told
  static const std::regex clock{R"(\b(?:(\d{1,4}):)?(\d{1,2}):(\d\d)\.(\d)(?![\d.:]))"};
  const auto earlier = [](const sim::Entry& entry, sim::Instant at) { return entry.at < at; };
  const auto entries = record.entries();
  std::vector<sim::Instant> moments;
  for (std::cregex_iterator match{text.data(), text.data() + text.size(), clock}, end; match != end;
       ++match) {
    const std::int64_t hours = (*match)[1].matched ? number((*match)[1]) : 0;
    const std::int64_t seconds = (hours * 60 + number((*match)[2])) * 60 + number((*match)[3]);
    const sim::Instant told = sim::start_of_run + tenth * (seconds * 10 + number((*match)[4]));
    // Told to the tenth below: the entry is within that tenth.
    const auto entry = std::lower_bound(entries.begin(), entries.end(), told, earlier);
    if (entry != entries.end() && entry->at < told + tenth) moments.push_back(entry->at);
  }
  return moments;
}

std::vector<sim::Instant> named_moments(const model::RunResult& result) {
  std::vector<sim::Instant> named;
  for (const model::Finding& finding : result.findings) {
    for (const sim::Instant at : named_moments(result.record, finding.text)) named.push_back(at);
  }
  std::sort(named.begin(), named.end());
  named.erase(std::unique(named.begin(), named.end()), named.end());
  return named;
}

}  // namespace drybus::tools
