#include "model/diagnosis/grouping.h"

#include <algorithm>
#include <array>
#include <map>
#include <numeric>
#include <utility>

namespace drybus::model {

namespace {

class Grouping {
 public:
  Grouping(const Scenario& told, const CauseSpace& space, std::vector<Candidate>& candidates)
      : site_(told.site), space_(space), candidates_(candidates), parent_(candidates.size()) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
    for (const Step& step : told.people.front().script) {
      setups_before_.push_back(setups_before_.empty() ? 0 : setups_before_.back());
      if (step.kind == StepKind::hold && site_.is_plate(step.device) &&
          step.buttons == site_.plate_family(step.device).setup_gesture)
        ++setups_before_.back();
    }
  }

  void run() {
    std::map<std::pair<std::vector<std::uint64_t>, HiddenState>, std::size_t> by_state;
    std::map<std::vector<Name>, std::size_t> by_name;
    for (std::size_t i = 0; i < candidates_.size(); ++i) {
      join(i, by_state.emplace(std::pair{generations(candidates_[i].parts), candidates_[i].ends}, i)
                  .first->second);
      const auto named = names_of(candidates_[i].parts);
      if (!named.empty()) join(i, by_name.emplace(named, i).first->second);
    }
    for (std::size_t i = 0; i < candidates_.size(); ++i) candidates_[i].group = root(i);
  }

 private:
  std::size_t root(std::size_t i) const {
    while (parent_[i] != i) i = parent_[i];
    return i;
  }
  void join(std::size_t a, std::size_t b) {
    const std::size_t first = root(a);
    const std::size_t second = root(b);
    parent_[std::max(first, second)] = std::min(first, second);
  }

  /// Who is of another family than told: what lies in memory alike is put right otherwise.
  [[nodiscard]] std::vector<std::uint64_t> generations(const sim::PartSet& parts) const {
    std::vector<std::uint64_t> all;
    for (const sim::PartId part : parts) {
      const PlacedCause& placed = space_.part(part).placed;
      if (placed.cause == Mishap::other_generation)
        all.push_back(std::uint64_t{placed.device} << 16 | placed.family);
    }
    std::sort(all.begin(), all.end());
    return all;
  }

  /// What stays as it should not be, whenever it came about and however far it is off, and slips at their steps.
  /// Of a short nothing on site tells at which of the links it is that are joined to it.
  [[nodiscard]] std::uint64_t place_of(const PlacedCause& placed) const {
    if (!placed.link) return 0;
    const sim::Network& network = site_.network;
    return placed.cause == Mishap::shorted_link ? network.nodes[network.links[*placed.link].a].medium
                                                : *placed.link;
  }

  using Name = std::array<std::uint64_t, 3>;
  [[nodiscard]] std::vector<Name> names_of(const sim::PartSet& parts) const {
    std::vector<Name> names;
    for (const sim::PartId part : parts) {
      const PlacedCause& placed = space_.part(part).placed;
      names.push_back(
          {static_cast<std::uint64_t>(placed.cause) | std::uint64_t{placed.device} << 8,
           place_of(placed) | std::uint64_t{placed.family} << 32,
           lasts(placed.cause) ? std::uint64_t{placed.place.value_or(0)} << 32 : moment_of(placed)});
    }
    std::sort(names.begin(), names.end());
    return names;
  }

  /// Of what comes from outside, or while nobody looks, nobody can tell where within a setup it was: the setup counts.
  [[nodiscard]] std::uint64_t moment_of(const PlacedCause& placed) const {
    const std::uint32_t step = placed.step.value_or(0);
    if (!is_at_some_moment(placed.cause) || step == 0 || step > setups_before_.size()) return step + 1;
    return std::uint64_t{setups_before_[step - 1]} + 1;
  }

  const Site& site_;
  const CauseSpace& space_;
  std::vector<Candidate>& candidates_;
  std::vector<std::size_t> parent_;
  std::vector<std::uint32_t> setups_before_;  ///< by step: plates put in setup by then
};

}  // namespace

bool is_at_some_moment(Mishap cause) {
  return cause == Mishap::took_longer || cause == Mishap::power_cut || cause == Mishap::neighbour ||
         cause == Mishap::other_hands;
}

void group(const Scenario& told, const CauseSpace& space, std::vector<Candidate>& candidates) {
  Grouping{told, space, candidates}.run();
}

}  // namespace drybus::model
