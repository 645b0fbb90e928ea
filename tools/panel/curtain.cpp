#include "tools/panel/curtain.h"

#include <algorithm>

#include "model/world/installer.h"
#include "tools/panel/state_json.h"

namespace drybus::tools {

using model::What;

bool anybody_sees(const Branch& branch, model::DeviceId device) {
  const auto& people = branch.world().people;
  return std::any_of(people.begin(), people.end(), [&](const model::PersonState& person) {
    return model::in_sight(branch.scenario().site, person.place, device);
  });
}

Lookouts::Lookouts(const model::Scenario& scenario) {
  for (const model::Person& person : scenario.people) moves_.push_back({{sim::no_entry, person.place}});
}

void Lookouts::take_in(const sim::Record& record) {
  for (; taken_ < record.size(); ++taken_) {
    const auto id = static_cast<sim::EntryId>(taken_ + 1);
    const sim::Entry& entry = record[id];
    if (model::what(entry) == What::walked) moves_[entry.who].push_back({id, model::no_place});
    if (model::what(entry) == What::arrived) {
      moves_[entry.who].push_back({id, static_cast<model::PlaceId>(entry.a)});
    }
  }
}

bool Lookouts::anybody_at(model::PlaceId place, sim::EntryId entry) const {
  return std::any_of(moves_.begin(), moves_.end(), [&](const std::vector<Move>& moves) {
    const auto later = std::upper_bound(moves.begin(), moves.end(), entry,
                                        [](sim::EntryId id, const Move& move) { return id < move.entry; });
    return std::prev(later)->place == place;
  });
}

bool is_seen(const model::Scenario& scenario, const Lookouts& lookouts, const sim::Record& record,
             sim::EntryId id) {
  const sim::Entry& entry = record[id];
  if (is_hidden_line(scenario, entry)) return false;
  const What what = model::what(entry);
  if (what != What::indicator && what != What::level) return true;
  return lookouts.anybody_at(scenario.site.place(static_cast<model::DeviceId>(entry.who)), id);
}

std::vector<model::Observation> told_observations(const Bench& bench, const Course& course, Curtain curtain) {
  if (curtain == Curtain::drawn) return {};
  std::vector<model::Observation> told = course.run->observations();
  if (course.id != bench.chosen().id) return told;
  const std::vector<std::string> asked = bench.findings_asked_for();
  std::erase_if(told, [&](const model::Observation& observation) {
    const std::string key = finding_key(course.run->scenario().site, observation);
    return std::find(asked.begin(), asked.end(), key) != asked.end();
  });
  return told;
}

}  // namespace drybus::tools
