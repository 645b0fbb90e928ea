#include "tools/script/report_parts.h"

#include <fmt/format.h>

namespace drybus::tools {

using model::Seen;
using model::Step;
using model::StepKind;

namespace {

Seen seen_of(const model::Check& check, std::optional<std::uint32_t> after, bool unsure) {
  return {check.device, check.fact, check.wanted.front(), after, unsure, check.mark};
}

/// Lit and 40 % go together, lit and dark do not.
bool exclude_each_other(const Seen& a, const Seen& b) {
  if (a.device != b.device || a.fact != b.fact || a.after_step != b.after_step || a.what == b.what)
    return false;
  const auto lit = [](const Seen& seen) { return seen.what == "lit"; };
  const auto dark = [](const Seen& seen) { return seen.what == "dark" || seen.what == "0 %"; };
  if (a.fact == model::Fact::load && (lit(a) || lit(b))) return dark(a) || dark(b);
  return !(a.fact == model::Fact::load && dark(a) && dark(b));
}

/// False, and complained of, when there is more than a diagnosis can go through.
bool within_bounds(const model::Scenario& read, const ReportParts& parts, Complaints& complaints) {
  if (parts.script.size() > max_told_steps) {
    complaints.add({parts.script[max_told_steps].mark, 1},
                   fmt::format("a report tells of at most {} steps", max_told_steps));
  } else if (parts.seen.size() > max_seen) {
    complaints.add({parts.seen[max_seen].mark, 1},
                   fmt::format("a report tells of at most {} observations", max_seen));
  } else if (read.site.device_count() > max_told_devices) {
    complaints.add({{0, 1, 1}, 1}, fmt::format("a report is of at most {} devices", max_told_devices));
  } else {
    return true;
  }
  return false;
}

void refuse_contradictions(const model::Scenario& read, const std::vector<Seen>& all,
                           Complaints& complaints) {
  for (std::size_t i = 0; i < all.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (!exclude_each_other(all[j], all[i])) continue;
      complaints.add({all[i].mark, 1},
                     fmt::format("these cannot be true together: {} (line {}) and {}",
                                 describe(read.site, all[j]), all[j].mark.line, describe(read.site, all[i])),
                     "one of them, or a step between them");
      return;
    }
  }
}

}  // namespace

ReportParts parts_of(const model::Scenario& read, const ToldSteps& told,
                     const std::vector<StepReader::SeenNow>& now, Complaints& complaints) {
  ReportParts parts;
  for (const Step& step : read.people.front().script) {
    const auto where = ToldSteps::where(step.mark);
    if (step.kind == StepKind::see) {
      if (parts.script.empty())
        parts.script.emplace_back().kind = StepKind::note;  // seen before anything was done
      const auto after = static_cast<std::uint32_t>(parts.script.size() - 1);
      for (const std::uint32_t check : step.checks) {
        parts.seen.push_back(seen_of(read.checks[check], after, told.unsure.contains(where)));
      }
      continue;
    }
    if (told.loose.contains(where)) parts.loose.push_back(static_cast<std::uint32_t>(parts.script.size()));
    parts.script.push_back(step);
  }
  // What was seen when all was done, and what is seen now, are one moment.
  for (Seen& seen : parts.seen) {
    if (seen.after_step && *seen.after_step + 1 == parts.script.size()) seen.after_step.reset();
  }
  for (const auto& each : now) parts.seen.push_back(seen_of(each.check, std::nullopt, each.unsure));
  if (within_bounds(read, parts, complaints)) refuse_contradictions(read, parts.seen, complaints);
  return parts;
}

}  // namespace drybus::tools
