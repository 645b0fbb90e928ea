#include "model/diagnosis/cause_space.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <set>
#include <utility>

namespace drybus::model {

namespace {

/// A cause that touches many is first judged by so many of the modules that behave oddly.
constexpr std::size_t most_puzzling = 6;
constexpr std::size_t few = 6;
/// A part is followed by itself until it fits worse than what was told by this much.
constexpr double patience = 16;
/// A part that may change what anybody hears seldom mends all that is wrong, but so much of it; judgement.
constexpr double vague = 0.5;
/// The chance that what two parts both spoil comes right with both of them; judgement.
constexpr double log_hope = -1.2;

void put(std::vector<std::uint64_t>& set, std::size_t index) {
  set[index / 64] |= std::uint64_t{1} << index % 64;
}

/// Whether a plate was read that shows other numbers than it was said to.
bool shows_other_numbers(const Scenario& believed) {
  return std::any_of(believed.checks.begin(), believed.checks.end(),
                     [](const Check& read) { return read.fact == Fact::site && read.wanted.size() > 1; });
}

bool is_slip_at_step(const PlacedCause& placed) {
  return placed.step && !is_fault(placed.cause);
}

}  // namespace

CauseSpace::CauseSpace(const Retelling& retelling, const Catalogue& catalogue)
    : retelling_(retelling),
      catalogue_(catalogue),
      parts_(place_causes(retelling, catalogue)),
      alone_(parts_.size()),
      words_((retelling.report().seen.size() + 63) / 64),
      observed_(retelling.report().believed.site.modules.size()) {
  const Site& site = retelling.report().believed.site;
  const std::vector<Seen>& seen = retelling.report().seen;
  for (PlacedChange& of_room : place_causes_of_rooms(retelling, catalogue))
    parts_.push_back(std::move(of_room));
  for (PlacedChange& of_calls : place_causes_of_calls(retelling, catalogue))
    parts_.push_back(std::move(of_calls));
  // What a catalogue gives no chance to.
  std::erase_if(parts_, [](const PlacedChange& part) { return part.chance <= 0; });
  alone_.resize(parts_.size());
  const SeenSet none(words_, 0);
  std::vector<SeenSet> of_device(site.device_count(), none);
  for (std::size_t i = 0; i < seen.size(); ++i) {
    put(of_device[seen[i].device], i);
    if (!site.is_plate(seen[i].device)) observed_.add(site.module_index(seen[i].device));
  }
  for (const PlacedChange& part : parts_) {
    log_odds_.push_back(sim::log_odds_of(part.chance));
    SeenSet touched = none;
    for (const DeviceId device : part.touches) {
      for (std::size_t word = 0; word < touched.size(); ++word) touched[word] |= of_device[device][word];
    }
    if (part.traffic) add_traffic(part, touched);
    forget_before(part.placed.step.value_or(0), touched);
    touches_.push_back(std::move(touched));
  }

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

/// What a cause that changes the traffic can change: anything, but for what is known to be over.
void CauseSpace::add_traffic(const PlacedChange& part, SeenSet& set) const {
  const Report& report = retelling_.report();
  for (std::size_t i = 0; i < report.seen.size(); ++i) {
    const bool later = !report.seen[i].after_step || *report.seen[i].after_step > part.until.value_or(0);
    if (!part.until || !later || report.believed.site.is_plate(report.seen[i].device)) put(set, i);
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

double CauseSpace::covered() const {
  double all = 0;
  double tried = 0;
  for (const PlacedChange& part : parts_) {
    all += part.chance;
    tried += part.chance * part.covers;
  }
  return all > 0 ? tried / all : 1;
}

// --- trying ---

double CauseSpace::log_fit(const sim::PartSet& set, double least) {
  if (set.empty()) {
    // Somebody calls, so that something is likely to be wrong; unless switches that they read out were.
    const double alarm =
        shows_other_numbers(retelling_.report().believed) ? 0 : std::log(catalogue_.false_alarm);
    return tried_.emplace(set, retelling_.as_told()).first->second.log_fit + alarm;
  }
  const bool many = std::any_of(set.begin(), set.end(), [&](sim::PartId part) { return touches_many(part); });
  const double needed = nothing_wrong_ ? least : std::max(least, best_of_smaller(set));
  if (auto known = from_its_parts(set)) {
    if (known->log_fit <= needed) return sim::impossible;
    return tried_.emplace(set, std::move(*known)).first->second.log_fit;
  }
  const Changes changes = changes_of(set);
  // What a single part mends is wanted even where it spoils more: together with another it may not.
  const double hopeless = set.size() == 1 ? needed - patience : needed;
  const Prediction sample = retelling_.predict(changes, sample_of(set), hopeless);
  note_alone(set, sample);
  Prediction prediction = merged(sample, many);
  if (prediction.log_fit <= needed) return sim::impossible;
  if (many) {
    const Prediction whole = retelling_.predict(changes, observed_, hopeless);
    note_alone(set, whole);
    prediction = merged(whole, false);
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
    if (parts_[part].traffic || !alone_[part].whole) return std::nullopt;
    for (const DeviceId device : parts_[part].touches) {
      if (!touched.insert(device).second) return std::nullopt;
    }
    for (const auto& [index, match] : alone_[part].changed) together.matches[index] = match;
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

void CauseSpace::note_alone(const sim::PartSet& set, const Prediction& prediction) {
  if (set.size() != 1) return;
  Alone& alone = alone_[set.front()];
  alone = {true, true, {}};
  const std::vector<Match>& told = retelling_.as_told().matches;
  for (std::uint32_t i = 0; i < told.size(); ++i) {
    const Match match = prediction.matches[i];
    // Modules that a part does not touch are as told.
    const bool touched = (touches_[set.front()][i / 64] >> i % 64 & 1) != 0;
    if (match == Match::unknown) {
      alone.whole = alone.whole && !touched;
    } else if (match != told[i]) {
      alone.changed.emplace_back(i, match);
    }
  }
}

// --- extending ---

CauseSpace::SeenSet CauseSpace::contradicted(const Prediction& prediction) const {
  SeenSet wrong(words_, 0);
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

/// What a set predicts; of a single part that helps nobody, as far as is known. Nothing: it mends nothing, or
/// was not tried.
std::optional<Prediction> CauseSpace::prediction_of(const sim::PartSet& set) const {
  if (const auto known = tried_.find(set); known != tried_.end()) return known->second;
  if (set.size() != 1) return std::nullopt;
  const Alone& alone = alone_[set.front()];
  Prediction prediction = retelling_.as_told();
  bool mends = false;
  for (const auto& [index, match] : alone.changed) {
    mends |= match > prediction.matches[index];
    prediction.log_fit +=
        retelling_.log_likelihood(index, match) - retelling_.log_likelihood(index, prediction.matches[index]);
    prediction.matches[index] = match;
  }
  return mends ? std::optional{std::move(prediction)} : std::nullopt;
}

/// How much better it is likely to fit with another part added: what that part did by itself it does here;
/// but where both may change something, it may come right.
double CauseSpace::expected_gain(sim::PartId part, const Prediction& before, const SeenSet& wrong,
                                 const SeenSet& meeting) const {
  if (!alone_[part].tried) return touches_many(part) ? sim::impossible : worth(wrong, touches_[part], before);
  const std::vector<Match>& told = retelling_.as_told().matches;
  double gain = 0;
  const auto hopeful = [&](std::uint32_t index, Match worst) {
    const double spoilt = retelling_.log_likelihood(index, worst);
    return std::max(spoilt, retelling_.log_likelihood(index, Match::yes) + log_hope);
  };
  for (const auto& [index, match] : alone_[part].changed) {
    const Match now = before.matches[index];
    const bool both = now != told[index] || (meeting[index / 64] >> index % 64 & 1) != 0;
    const double after =
        both ? hopeful(index, std::max(now, match)) : retelling_.log_likelihood(index, match);
    gain += after - retelling_.log_likelihood(index, now);
  }
  for (std::size_t word = 0; word < meeting.size(); ++word) {
    for (std::uint64_t rest = meeting[word] & touches_[part][word]; rest != 0; rest &= rest - 1) {
      const auto index =
          static_cast<std::uint32_t>(word * 64 + static_cast<std::size_t>(std::countr_zero(rest)));
      const Match now = before.matches[index];
      const bool counted = std::any_of(alone_[part].changed.begin(), alone_[part].changed.end(),
                                       [index](const auto& each) { return each.first == index; });
      if (now == Match::no && !counted) gain += hopeful(index, now) - retelling_.log_likelihood(index, now);
    }
  }
  return gain;
}

/// Observations that both the part added and one of the set may change; none when all of them change what is
/// sent, for then it would be nearly all.
CauseSpace::SeenSet CauseSpace::touched_by_both(const sim::PartSet& set, sim::PartId added) const {
  SeenSet both(words_, 0);
  const bool traffic = touches_many(added) && std::all_of(set.begin(), set.end(), [this](sim::PartId part) {
                         return touches_many(part);
                       });
  if (traffic) return both;
  for (const sim::PartId part : set) {
    for (std::size_t word = 0; word < both.size(); ++word)
      both[word] |= touches_[part][word] & touches_[added][word];
  }
  return both;
}

void CauseSpace::extensions(const sim::PartSet& set, double, std::vector<sim::Extension>& into) {
  const auto known = prediction_of(set);
  if (!known) return;
  const SeenSet wrong = contradicted(*known);
  const bool captured = !retelling_.report().capture.empty();
  for (sim::PartId part = 0; part < parts_.size(); ++part) {
    const bool may_fit_capture = captured && parts_[part].traffic;
    double gain = 0;
    if (!may_fit_capture && !(set.empty() && nothing_wrong_)) {
      gain = set.empty() ? worth(wrong, touches_[part], *known) * (touches_many(part) ? vague : 1)
                         : expected_gain(part, *known, wrong, touched_by_both(set, part));
      if (gain <= 0) continue;
    }
    if (!go_together(set, part)) continue;
    into.push_back({part, may_fit_capture ? 0 : std::min(0.0, known->log_fit + gain)});
  }
}

/// Not the same part, and nothing that is done to the same step or thing twice.
bool CauseSpace::go_together(const sim::PartSet& set, sim::PartId part) const {
  const PlacedCause& added = parts_[part].placed;
  for (const sim::PartId each : set) {
    if (each == part) return false;
    const PlacedCause& placed = parts_[each].placed;
    // What noise takes is chance: beside it, two more can explain whatever it does not.
    const bool noise = placed.cause == Mishap::noisy_link || added.cause == Mishap::noisy_link;
    if (noise && (set.size() > 1 || placed.cause == added.cause)) return false;
    const bool same_thing = placed.cause == added.cause && placed.device == added.device &&
                            placed.link == added.link && placed.place == added.place;
    if (same_thing && (is_fault(added.cause) || !added.step)) return false;
    if (is_slip_at_step(placed) && is_slip_at_step(added) && placed.step == added.step &&
        placed.cause != Mishap::second_module && added.cause != Mishap::second_module) {
      return false;
    }
  }
  return true;
}

}  // namespace drybus::model
