#include "model/why/cause_sets.h"

#include <algorithm>

#include "model/words/words.h"

namespace drybus::model {

namespace {

/// As many as people keep in mind; with three at a time these are 165 runs.
constexpr std::size_t most_leads = 10;
constexpr std::size_t most_told = 12;

/// Tries leads together.
class SetSearch {
 public:
  SetSearch(const Counterfactual& runs, const WhyQuestion& question, const std::string& answer,
            const Leads& leads)
      : runs_(runs), question_(question), answer_(answer) {
    for (const Lead& lead : leads) {
      const auto way = std::find_if(lead.ways.begin(), lead.ways.end(),
                                    [](const Way& each) { return !each.changes.empty(); });
      if (way == lead.ways.end() || leads_.size() == most_leads) continue;
      leads_.push_back(lead);
      leads_.back().ways = {*way};
    }
  }

  std::vector<CauseSet> find() {
    if (leads_.size() < 2 || !try_together(all())) return {};
    for (const std::size_t size : {std::size_t{2}, std::size_t{3}}) {
      std::vector<std::size_t> chosen;
      choose(size, 0, chosen);
      if (!found_.empty()) return std::move(found_);
    }
    whittle_down();
    return std::move(found_);
  }

 private:
  [[nodiscard]] std::vector<std::size_t> all() const {
    std::vector<std::size_t> places(leads_.size());
    for (std::size_t i = 0; i < places.size(); ++i) places[i] = i;
    return places;
  }

  [[nodiscard]] CauseSet set_of(const std::vector<std::size_t>& chosen) const {
    CauseSet set;
    for (const std::size_t i : chosen) set.leads.push_back(leads_[i]);
    return set;
  }

  /// The set, if the answer is another without all of them.
  [[nodiscard]] std::optional<CauseSet> try_together(const std::vector<std::size_t>& chosen) const {
    CauseSet set = set_of(chosen);
    set.would_be = runs_.answer(set.changes(), question_);
    return set.would_be == answer_ ? std::nullopt : std::optional{std::move(set)};
  }

  void choose(std::size_t size, std::size_t from, std::vector<std::size_t>& chosen) {
    if (found_.size() == most_told) return;
    if (chosen.size() == size) {
      if (auto set = try_together(chosen)) found_.push_back(std::move(*set));
      return;
    }
    for (std::size_t i = from; i < leads_.size(); ++i) {
      chosen.push_back(i);
      choose(size, i + 1, chosen);
      chosen.pop_back();
    }
  }

  /// Leaves out one after the other, as long as what is left still makes a difference.
  void whittle_down() {
    std::vector<std::size_t> kept = all();
    for (std::size_t i = 0; i < kept.size();) {
      std::vector<std::size_t> fewer = kept;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
      if (!fewer.empty() && try_together(fewer)) {
        kept = std::move(fewer);
      } else {
        ++i;
      }
    }
    if (auto set = try_together(kept)) found_.push_back(std::move(*set));
  }

  const Counterfactual& runs_;
  const WhyQuestion& question_;
  const std::string& answer_;
  Leads leads_;
  std::vector<CauseSet> found_;
};

}  // namespace

Changes CauseSet::changes() const {
  Changes all;
  for (const Lead& lead : leads)
    all.insert(all.end(), lead.ways.front().changes.begin(), lead.ways.front().changes.end());
  return all;
}

std::string CauseSet::otherwise() const {
  std::string text;
  for (std::size_t i = 0; i < leads.size(); ++i) {
    const bool last = i + 1 == leads.size();
    text += (i == 0 ? "" : last ? tr(" and ") : ", ") + leads[i].ways.front().otherwise;
  }
  return text;
}

std::vector<CauseSet> smallest_sets(const Counterfactual& runs, const WhyQuestion& question,
                                    const std::string& answer, const Leads& leads) {
  return SetSearch{runs, question, answer, leads}.find();
}

}  // namespace drybus::model
