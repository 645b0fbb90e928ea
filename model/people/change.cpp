#include "model/people/change.h"

#include <algorithm>

namespace drybus::model {

namespace {

/// The steps that stand in for one step that is skipped: the way there, and the time.
void add_idle(const Site& site, const HumanTimes& times, const Step& step, std::vector<Step>& script) {
  Step there;
  there.kind = StepKind::note;
  if (const auto place = place_for(site, step)) {
    there.kind = StepKind::walk;
    there.place = *place;
  }
  there.at = step.at;
  there.mark = step.mark;
  Step idle;
  idle.kind = StepKind::wait;
  idle.duration = time_taken(step, times);
  idle.mark = step.mark;
  script.push_back(std::move(there));
  script.push_back(std::move(idle));
}

bool concerns(const StepRef& ref, std::uint32_t person, std::size_t step) {
  return ref.person == person && ref.step == step;
}

/// What becomes of one step.
struct Fate {
  bool skipped = false;
  bool left_out = false;
  std::optional<sim::Duration> lasts;
};

Fate fate_of(std::uint32_t person, std::size_t step, std::span<const Change> changes) {
  Fate fate;
  for (const Change& each : changes) {
    if (const auto* skip = std::get_if<change::Skip>(&each)) {
      fate.skipped = fate.skipped || concerns(skip->step, person, step);
    } else if (const auto* leave = std::get_if<change::Leave>(&each)) {
      fate.left_out = fate.left_out || concerns(leave->step, person, step);
    } else if (const auto* last = std::get_if<change::Last>(&each);
               last && concerns(last->step, person, step)) {
      fate.lasts = last->duration;
    }
  }
  return fate;
}

void insert_before(std::uint32_t person, std::size_t step, std::span<const Change> changes,
                   std::vector<Step>& script) {
  for (const Change& each : changes) {
    const auto* insert = std::get_if<change::Insert>(&each);
    if (insert == nullptr || !concerns(insert->before, person, step)) continue;
    script.insert(script.end(), insert->steps.begin(), insert->steps.end());
  }
}

}  // namespace

void alter_start(std::span<const Change> changes, Scenario& scenario) {
  Site& site = scenario.site;
  for (const Change& each : changes) {
    if (const auto* memory = std::get_if<change::Memory>(&each)) {
      site.modules[site.module_index(memory->module)].memory = memory->memory;
    } else if (const auto* generation = std::get_if<change::Generation>(&each)) {
      ModuleSpec& module = site.modules[site.module_index(generation->module)];
      module.family = generation->family;
      module.memory = generation->memory;
    } else if (const auto* switches = std::get_if<change::Switches>(&each)) {
      site.plates[switches->plate].site = switches->site;
      site.plates[switches->plate].zone = switches->zone;
    } else if (const auto* walk = std::get_if<change::Walk>(&each)) {
      site.walks[walk->from * site.places.size() + walk->to] = walk->duration;
    }
  }
}

void add_helpers(std::span<const Change> changes, Scenario& scenario) {
  for (const Change& each : changes) {
    const auto* meanwhile = std::get_if<change::Meanwhile>(&each);
    if (meanwhile == nullptr) continue;
    const PlaceId place = place_for(scenario.site, meanwhile->steps.front()).value_or(0);
    scenario.people.push_back({"somebody", place, meanwhile->steps});
  }
}

bool is_scripted(const Change& change) {
  return !std::holds_alternative<change::NoExpiry>(change) &&
         !std::holds_alternative<change::Arrive>(change) && !std::holds_alternative<change::InSetup>(change);
}

Altered::Altered(const Scenario& original, std::span<const Change> changes)
    : scenario_(original), before_(timetable(original.site, original.times, original.people.front())) {
  alter_start(changes, scenario_);
  for (std::size_t person = 0; person < original.people.size(); ++person) {
    scripts_.push_back(altered_script(original, static_cast<std::uint32_t>(person), changes));
    scenario_.people[person].script = std::move(scripts_.back().steps);
  }
  add_helpers(changes, scenario_);
  after_ = timetable(scenario_.site, scenario_.times, scenario_.people.front());
}

AlteredScript altered_script(const Scenario& original, std::uint32_t person,
                             std::span<const Change> changes) {
  const std::vector<Step>& steps = original.people[person].script;
  AlteredScript altered;
  altered.steps.reserve(steps.size() + 8);
  altered.moved_to.reserve(steps.size() + 1);
  for (std::size_t i = 0; i <= steps.size(); ++i) {
    insert_before(person, i, changes, altered.steps);
    altered.moved_to.push_back(static_cast<std::uint32_t>(altered.steps.size()));
    if (i == steps.size()) break;
    const Fate fate = fate_of(person, i, changes);
    if (fate.left_out) continue;
    Step step = steps[i];
    step.duration = fate.lasts.value_or(step.duration);
    if (fate.skipped) {
      add_idle(original.site, original.times, step, altered.steps);
    } else {
      altered.steps.push_back(std::move(step));
    }
  }
  return altered;
}

std::optional<std::uint32_t> AlteredScript::origin(std::uint32_t step) const {
  const auto at = std::upper_bound(moved_to.begin(), moved_to.end(), step);
  if (at == moved_to.begin() || at == moved_to.end() || *std::prev(at) != step) return std::nullopt;
  return static_cast<std::uint32_t>(at - moved_to.begin() - 1);
}

std::optional<StepRef> Altered::origin(const StepRef& step) const {
  if (step.person >= scripts_.size()) return std::nullopt;
  const auto origin = scripts_[step.person].origin(step.step);
  if (!origin) return std::nullopt;
  return StepRef{step.person, *origin};
}

sim::Instant Altered::moment(sim::Instant original) const {
  const auto end_of = [](const Timetable& table, std::size_t step) {
    return step < table.begins.size() ? table.begins[step] : table.ends;
  };
  const auto later = std::upper_bound(before_.begins.begin(), before_.begins.end(), original);
  if (later == before_.begins.begin()) return original;
  const auto step = static_cast<std::size_t>(later - before_.begins.begin()) - 1;
  const sim::Duration into = original - before_.begins[step];
  const sim::Instant begins = end_of(after_, scripts_.front().moved_to[step]);
  if (original >= before_.ends) return after_.ends + (original - before_.ends);
  const sim::Instant next = end_of(after_, scripts_.front().moved_to[step + 1]);
  return std::min(begins + into, std::max(begins, next));
}

StepRef step_at(const Scenario& scenario, std::uint32_t person, sim::Instant at) {
  const Timetable table = timetable(scenario.site, scenario.times, scenario.people[person]);
  if (at >= table.ends) return {person, static_cast<std::uint32_t>(table.begins.size())};
  const auto later = std::upper_bound(table.begins.begin(), table.begins.end(), at);
  const auto passed = static_cast<std::uint32_t>(later - table.begins.begin());
  return {person, passed == 0 ? 0 : passed - 1};
}

}  // namespace drybus::model
