#include "model/hunt/witness.h"

#include <algorithm>
#include <string>
#include <vector>

#include "model/run/run.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

/// Looks are tried at so many of the longest stretches.
constexpr std::size_t most_looks = 8;

struct FactOf {
  DeviceId device = no_device;
  Fact fact = Fact::indicator;
};

std::vector<FactOf> facts_of(const Site& site) {
  std::vector<FactOf> all;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    for (const Fact fact : telling_facts(site, device)) all.push_back({device, fact});
  }
  return all;
}

/// What became of one fact in a run: what it is from each moment on.
struct Change {
  sim::Instant at{};
  std::string text;
};
using Course = std::vector<Change>;

struct Courses {
  std::vector<Course> of;  ///< each fact
  sim::Instant end{};
  bool passed = false;
};

Courses courses_in(const Scenario& scenario, const std::vector<FactOf>& facts) {
  Courses courses;
  courses.of.resize(facts.size());
  std::size_t recorded = 0;
  RunOptions options;
  options.plain = true;
  options.after_event = [&](const World& world, const sim::Record& record) {
    if (record.size() == recorded) return;
    recorded = record.size();
    for (std::size_t i = 0; i < facts.size(); ++i) {
      std::string text = fact_text(scenario, world, facts[i].device, facts[i].fact);
      Course& course = courses.of[i];
      if (!course.empty() && course.back().text == text) continue;
      if (!course.empty() && course.back().at == world.now) {
        course.back().text = std::move(text);
      } else {
        course.push_back({world.now, std::move(text)});
      }
    }
  };
  const RunResult result = run(scenario, options);
  courses.end = result.world.now;
  courses.passed = result.passed();
  return courses;
}

/// A stretch of time in which a fact is one thing in the one run and another in the other.
struct Stretch {
  FactOf fact;
  sim::Instant from{};
  sim::Instant to{};
  [[nodiscard]] sim::Instant middle() const {
    constexpr sim::Duration tidy = std::chrono::milliseconds{1};
    const sim::Instant middle = from + (to - from) / 2;
    const sim::Instant rounded = middle - middle.time_since_epoch() % tidy;
    return rounded > from ? rounded : middle;
  }
};

void add_stretches(const FactOf& fact, const Course& a, const Course& b, sim::Instant end,
                   std::vector<Stretch>& stretches) {
  for (std::size_t i = 0, j = 0; i < a.size() && j < b.size();) {
    const sim::Instant a_to = i + 1 < a.size() ? a[i + 1].at : end;
    const sim::Instant b_to = j + 1 < b.size() ? b[j + 1].at : end;
    const Stretch stretch{fact, std::max(a[i].at, b[j].at), std::min({a_to, b_to, end})};
    if (a[i].text != b[j].text && stretch.to - stretch.from > sim::Duration{2}) stretches.push_back(stretch);
    if (a_to <= b_to) ++i;
    if (b_to <= a_to) ++j;
  }
}

std::string free_name(const Scenario& scenario) {
  std::string name = "witness";
  const auto taken = [&](const Person& person) { return person.name == name; };
  while (std::any_of(scenario.people.begin(), scenario.people.end(), taken)) name += "'";
  return name;
}

Scenario with_look(const Scenario& found, const Stretch& stretch) {
  Scenario looked_at = found;
  Check check;
  check.fact = stretch.fact.fact;
  check.device = stretch.fact.device;
  check.wanted = {""};
  Step step;
  step.kind = StepKind::expect;
  step.at = stretch.middle();
  step.checks = {static_cast<std::uint32_t>(found.checks.size())};
  looked_at.checks.push_back(std::move(check));
  looked_at.people.push_back({free_name(found), found.people[0].place, {std::move(step)}});
  return looked_at;
}

bool passes(const Scenario& scenario, const Scenario& logic) {
  Scenario other = scenario;
  other.site.logic = logic.site.logic;
  other.site.family = logic.site.family;
  RunOptions options;
  options.plain = true;
  return run(other, options).passed();
}

/// Fills in what the look meets with the first logic.
bool fill_in(Scenario& looked_at) {
  RunOptions options;
  options.plain = true;
  const auto look = static_cast<std::uint32_t>(looked_at.checks.size() - 1);
  const RunResult result = run(looked_at, options);
  for (const CheckResult& check : result.checks) {
    if (check.check != look) continue;
    looked_at.checks[look].wanted = {check.actual};
    return true;
  }
  return false;
}

}  // namespace

Telling add_witness(Scenario& found, const Scenario& second) {
  Scenario other = found;
  other.site.logic = second.site.logic;
  other.site.family = second.site.family;
  const std::vector<FactOf> facts = facts_of(found.site);
  const Courses a = courses_in(found, facts);
  const Courses b = courses_in(other, facts);
  if (a.passed && !b.passed) return Telling::by_itself;
  std::vector<Stretch> stretches;
  for (std::size_t i = 0; i < facts.size(); ++i)
    add_stretches(facts[i], a.of[i], b.of[i], std::min(a.end, b.end), stretches);
  std::stable_sort(stretches.begin(), stretches.end(), [](const Stretch& x, const Stretch& y) {
    return x.to - x.from > y.to - y.from;
  });
  if (stretches.size() > most_looks) stretches.resize(most_looks);
  for (const Stretch& stretch : stretches) {
    Scenario looked_at = with_look(found, stretch);
    if (!fill_in(looked_at) || !passes(looked_at, found) || passes(looked_at, second)) continue;
    found = std::move(looked_at);
    return Telling::by_witness;
  }
  return Telling::not_by_facts;
}

}  // namespace drybus::model
