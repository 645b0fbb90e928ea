#include "model/cause_space.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <set>

namespace drybus::model {

namespace {

/// A cause that touches many is first judged by so many of the modules that behave oddly.
constexpr std::size_t most_puzzling = 6;
constexpr std::size_t few = 6;

void put(std::vector<std::uint64_t>& set, std::size_t index) {
  set[index / 64] |= std::uint64_t{1} << index % 64;
}

bool meet(const std::vector<std::uint64_t>& a, const std::vector<std::uint64_t>& b) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    if ((a[i] & b[i]) != 0) return true;
  }
  return false;
}

bool is_slip_at_step(const PlacedCause& placed) {
  return placed.step && !is_fault(placed.cause);
}

}  // namespace

CauseSpace::CauseSpace(const Retelling& retelling, const Catalogue& catalogue)
    : retelling_(retelling),
      catalogue_(catalogue),
      parts_(place_causes(retelling, catalogue)),
      tried_alone_(parts_.size(), 0),
      observed_(retelling.report().believed.site.modules.size()) {
  const Site& site = retelling.report().believed.site;
  const std::vector<Seen>& seen = retelling.report().seen;
  const SeenSet none((seen.size() + 63) / 64, 0);
  everything_ = none;
  std::vector<SeenSet> of_device(site.device_count(), none);
  for (std::size_t i = 0; i < seen.size(); ++i) {
    put(everything_, i);
    put(of_device[seen[i].device], i);
    if (!site.is_plate(seen[i].device)) observed_.add(site.module_index(seen[i].device));
  }
  for (const PlacedChange& part : parts_) {
    log_odds_.push_back(sim::log_odds_of(part.chance));
    SeenSet touched = none;
    for (const DeviceId device : part.touches) {
      for (std::size_t word = 0; word < touched.size(); ++word) touched[word] |= of_device[device][word];
    }
    if (part.traffic) touched = everything_;
    forget_before(part.placed.step.value_or(0), touched);
    touches_.push_back(std::move(touched));
  }
  mends_.resize(parts_.size());

  const Prediction& told = retelling.as_told();
  nothing_wrong_ = std::find(told.matches.begin(), told.matches.end(), Match::no) == told.matches.end();
  std::vector<std::size_t> puzzling;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (told.matches[i] != Match::no || site.is_plate(seen[i].device)) continue;
    puzzling.push_back(site.module_index(seen[i].device));
  }
  std::sort(puzzling.begin(), puzzling.end());
  puzzling.erase(std::unique(puzzling.begin(), puzzling.end()), puzzling.end());
  for (std::size_t i = 0; i < std::min(most_puzzling, puzzling.size()); ++i) {
    puzzling_.push_back(puzzling[i * puzzling.size() / std::min(most_puzzling, puzzling.size())]);
  }
}

/// What was seen before a step was not changed by it.
void CauseSpace::forget_before(std::uint32_t step, SeenSet& set) const {
  const std::vector<Seen>& seen = retelling_.report().seen;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (seen[i].after_step && *seen[i].after_step < step) set[i / 64] &= ~(std::uint64_t{1} << i % 64);
  }
}

Changes CauseSpace::changes_of(const sim::PartSet& set) const {
  Changes changes;
  Changes meanwhile;
  for (const sim::PartId part : set) {
    for (const Change& change : parts_[part].changes) {
      const bool timed = std::holds_alternative<change::Meanwhile>(change) && set.size() > 1;
      (timed ? meanwhile : changes).push_back(change);
    }
  }
  if (meanwhile.empty()) return changes;
  // What happens meanwhile happens at a moment of what was told, which other changes may have moved.
  const Altered altered{retelling_.report().believed, changes};
  for (Change& change : meanwhile) {
    for (Step& step : std::get<change::Meanwhile>(change).steps) {
      if (step.at) step.at = altered.moment(*step.at);
    }
    changes.push_back(std::move(change));
  }
  return changes;
}

// --- trying ---

double CauseSpace::log_fit(const sim::PartSet& set, double least) {
  if (set.empty()) {
    // Somebody calls, so that something is likely to be wrong.
    return tried_.emplace(set, retelling_.as_told()).first->second.log_fit + std::log(catalogue_.false_alarm);
  }
  const bool many = std::any_of(set.begin(), set.end(), [&](sim::PartId part) { return touches_many(part); });
  const double needed = nothing_wrong_ ? least : std::max(least, best_of_smaller(set));
  if (auto known = from_its_parts(set)) {
    if (known->log_fit <= needed) return sim::impossible;
    return tried_.emplace(set, std::move(*known)).first->second.log_fit;
  }
  const Changes changes = changes_of(set);
  Prediction prediction = merged(retelling_.predict(changes, sample_of(set)), many);
  if (set.size() == 1) note_mended(set.front(), prediction);
  if (prediction.log_fit <= needed) return sim::impossible;
  if (many) {
    prediction = merged(retelling_.predict(changes, observed_), false);
    if (set.size() == 1) note_mended(set.front(), prediction);
    if (prediction.log_fit <= needed) return sim::impossible;
  }
  const double fit = prediction.log_fit;
  tried_.emplace(set, std::move(prediction));
  return fit;
}

bool CauseSpace::touches_many(sim::PartId part) const {
  return parts_[part].traffic || parts_[part].touches.size() > few;
}

/// The modules that the parts name, and where anybody may hear something else, those that behave oddly.
Followed CauseSpace::sample_of(const sim::PartSet& set) const {
  const Site& site = retelling_.report().believed.site;
  Followed followed{site.modules.size()};
  for (const sim::PartId part : set) {
    if (touches_many(part)) {
      for (const std::size_t module : puzzling_) followed.add(module);
    }
    if (parts_[part].touches.size() > few) continue;
    for (const DeviceId device : parts_[part].touches) followed.add(site.module_index(device));
  }
  return followed;
}

/// Modules never send: causes at different modules do not meddle with each other, and what they predict
/// together is known from what each predicts alone.
std::optional<Prediction> CauseSpace::from_its_parts(const sim::PartSet& set) const {
  if (set.size() < 2 || !retelling_.report().capture.empty()) return std::nullopt;
  Prediction together = retelling_.as_told();
  std::set<DeviceId> touched;
  for (const sim::PartId part : set) {
    const auto alone = tried_.find({part});
    if (parts_[part].traffic || alone == tried_.end()) return std::nullopt;
    for (const DeviceId device : parts_[part].touches) {
      if (!touched.insert(device).second) return std::nullopt;
    }
    for (std::uint32_t i = 0; i < together.matches.size(); ++i) {
      if ((touches_[part][i / 64] >> i % 64 & 1) != 0) together.matches[i] = alone->second.matches[i];
    }
  }
  together.log_fit = 0;
  for (std::uint32_t i = 0; i < together.matches.size(); ++i) {
    together.log_fit += retelling_.log_likelihood(i, together.matches[i]);
  }
  return together;
}

/// Fills in what was not followed: as told, or, when that is not known, hopefully as seen.
Prediction CauseSpace::merged(Prediction partial, bool hopeful) const {
  const Prediction& told = retelling_.as_told();
  for (std::uint32_t i = 0; i < partial.matches.size(); ++i) {
    if (partial.matches[i] != Match::unknown) continue;
    partial.matches[i] = hopeful ? Match::yes : told.matches[i];
    partial.log_fit += retelling_.log_likelihood(i, partial.matches[i]);
  }
  return partial;
}

double CauseSpace::best_of_smaller(const sim::PartSet& set) const {
  double best = retelling_.as_told().log_fit;
  for (std::size_t i = 0; i < set.size(); ++i) {
    sim::PartSet smaller = set;
    smaller.erase(smaller.begin() + static_cast<std::ptrdiff_t>(i));
    if (const auto known = tried_.find(smaller); known != tried_.end())
      best = std::max(best, known->second.log_fit);
  }
  return best;
}

void CauseSpace::note_mended(sim::PartId part, const Prediction& prediction) {
  tried_alone_[part] = 1;
  SeenSet& mended = mends_[part];
  mended.assign(everything_.size(), 0);
  const std::vector<Match>& told = retelling_.as_told().matches;
  for (std::size_t i = 0; i < told.size(); ++i) {
    if (prediction.matches[i] > told[i]) put(mended, i);
  }
}

// --- extending ---

CauseSpace::SeenSet CauseSpace::contradicted(const Prediction& prediction) const {
  SeenSet wrong(everything_.size(), 0);
  for (std::size_t i = 0; i < prediction.matches.size(); ++i) {
    if (prediction.matches[i] == Match::no || prediction.matches[i] == Match::nearly) put(wrong, i);
  }
  return wrong;
}

/// How much better it would fit if these observations came out as seen.
double CauseSpace::worth(const SeenSet& wrong, const SeenSet& within, const Prediction& prediction) const {
  double gain = 0;
  for (std::size_t word = 0; word < wrong.size(); ++word) {
    for (std::uint64_t rest = wrong[word] & within[word]; rest != 0; rest &= rest - 1) {
      const auto index =
          static_cast<std::uint32_t>(word * 64 + static_cast<std::size_t>(std::countr_zero(rest)));
      gain += retelling_.log_likelihood(index, Match::yes) -
              retelling_.log_likelihood(index, prediction.matches[index]);
    }
  }
  return gain;
}

/// The observations that a part may put right: known once it was tried alone. Null: none that matters.
const CauseSpace::SeenSet* CauseSpace::can_mend(sim::PartId part) const {
  if (tried_alone_[part] != 0) return &mends_[part];
  return touches_many(part) ? nullptr : &touches_[part];
}

void CauseSpace::extensions(const sim::PartSet& set, double, std::vector<sim::Extension>& into) {
  const auto known = tried_.find(set);
  if (known == tried_.end()) return;
  const Prediction& prediction = known->second;
  const SeenSet wrong = contradicted(prediction);
  const bool captured = !retelling_.report().capture.empty();
  for (sim::PartId part = 0; part < parts_.size(); ++part) {
    const SeenSet* within = set.empty() ? &touches_[part] : can_mend(part);
    if (within == nullptr) continue;
    const bool may_mend = meet(wrong, *within);
    const bool may_fit_capture = captured && parts_[part].traffic;
    if (!may_mend && !may_fit_capture && !(set.empty() && nothing_wrong_)) continue;
    if (!go_together(set, part)) continue;
    const double bound =
        may_fit_capture ? 0 : std::min(0.0, prediction.log_fit + worth(wrong, *within, prediction));
    into.push_back({part, bound});
  }
}

/// Not the same part, and nothing that is done to the same step or thing twice.
bool CauseSpace::go_together(const sim::PartSet& set, sim::PartId part) const {
  const PlacedCause& added = parts_[part].placed;
  for (const sim::PartId each : set) {
    if (each == part) return false;
    const PlacedCause& placed = parts_[each].placed;
    const bool same_thing =
        placed.cause == added.cause && placed.device == added.device && placed.link == added.link;
    if (same_thing && (is_fault(added.cause) || !added.step)) return false;
    if (is_slip_at_step(placed) && is_slip_at_step(added) && placed.step == added.step &&
        placed.cause != Mishap::second_module && added.cause != Mishap::second_module) {
      return false;
    }
  }
  return true;
}

}  // namespace drybus::model
