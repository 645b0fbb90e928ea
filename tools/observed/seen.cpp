#include "tools/observed/seen.h"

#include <fmt/format.h>

#include "model/family/telegram.h"
#include "model/record/observables.h"
#include "model/record/trace.h"
#include "model/words/words.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

namespace {

std::string level_text(std::uint32_t level) {
  return exact_percent(static_cast<model::Level>(level));
}

std::string load_text(const sim::Entry& entry) {
  std::string text = fmt::format("load {} to {}", level_text(entry.a & 0xffff), level_text(entry.a >> 16));
  if (entry.b != 0) text += " in " + exact_duration(sim::Duration{static_cast<std::int64_t>(entry.b)});
  return text;
}

/// Of an observable entry: the words stay as they are, for they stand in files.
std::string what_text(const sim::Entry& entry) {
  const model::What what = model::what(entry);
  if (what == model::What::indicator)
    return fmt::format("indicator {}", to_string(static_cast<model::Pattern>(entry.a)));
  if (what == model::What::level) return load_text(entry);
  if (what == model::What::level_reached) return "load at " + level_text(entry.a);
  const std::string telegram = to_string(model::unpack(entry.b));
  return (what == model::What::sent ? "begins " : "sent ") + telegram;
}

}  // namespace

std::vector<Seen> seen_in(const model::Scenario& scenario, const sim::Record& record) {
  const model::Speaking english{nullptr};  // the words stand in files
  std::vector<Seen> all;
  for (sim::EntryId id = 1; id <= record.size(); ++id) {
    const sim::Entry& entry = record[id];
    if (!model::is_observable(entry)) continue;
    all.push_back({entry.at, scenario.site.node_name(entry.who), what_text(entry), id});
  }
  return all;
}

std::string exact_clock_text(sim::Instant at) {
  constexpr std::int64_t second = 1'000'000'000;
  const std::int64_t ns = at.time_since_epoch().count();
  const std::int64_t s = ns / second;
  std::string tail = fmt::format("{:02}.{:09}", s % 60, ns % second);
  while (tail.back() == '0' && tail[tail.size() - 2] != '.') tail.pop_back();
  if (s >= 3600) return fmt::format("{}:{:02}:{}", s / 3600, s / 60 % 60, tail);
  return fmt::format("{}:{}", s / 60, tail);
}

}  // namespace drybus::tools
