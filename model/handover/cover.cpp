#include "model/handover/cover.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

namespace drybus::model {

namespace {

constexpr std::size_t most_exact_places = 12;
/// Branches after which the least is no longer sought.
constexpr std::size_t most_branches = 200'000;

/// Held and Karp: the least way over each set of places that ends at each of them.
WayThrough exact_way(const Site& site, const std::vector<PlaceId>& places, std::optional<PlaceId> start) {
  const std::size_t n = places.size();
  const std::size_t sets = std::size_t{1} << n;
  std::vector<std::int64_t> least(sets * n, INT64_MAX);
  std::vector<std::uint8_t> from(sets * n, 0);
  for (std::size_t i = 0; i < n; ++i)
    least[(std::size_t{1} << i) * n + i] = start ? site.walk(*start, places[i]).count() : 0;
  for (std::size_t set = 1; set < sets; ++set) {
    for (std::size_t last = 0; last < n; ++last) {
      const std::int64_t so_far = least[set * n + last];
      if (so_far == INT64_MAX) continue;
      for (std::size_t next = 0; next < n; ++next) {
        const std::size_t bit = std::size_t{1} << next;
        if ((set & bit) != 0) continue;
        const std::int64_t length = so_far + site.walk(places[last], places[next]).count();
        if (length >= least[(set | bit) * n + next]) continue;
        least[(set | bit) * n + next] = length;
        from[(set | bit) * n + next] = static_cast<std::uint8_t>(last);
      }
    }
  }
  std::size_t set = sets - 1;
  const auto ends = least.begin() + static_cast<std::ptrdiff_t>(set * n);
  auto last = static_cast<std::size_t>(std::min_element(ends, ends + static_cast<std::ptrdiff_t>(n)) - ends);
  WayThrough way{{}, sim::Duration{least[set * n + last]}, true};
  for (std::size_t i = 0; i < n; ++i) {
    way.places.push_back(places[last]);
    const std::size_t before = from[set * n + last];
    set &= ~(std::size_t{1} << last);
    last = before;
  }
  std::reverse(way.places.begin(), way.places.end());
  return way;
}

sim::Duration length_of(const Site& site, const std::vector<PlaceId>& places, std::optional<PlaceId> start) {
  sim::Duration length{};
  if (start && !places.empty()) length += site.walk(*start, places.front());
  for (std::size_t i = 1; i < places.size(); ++i) length += site.walk(places[i - 1], places[i]);
  return length;
}

WayThrough good_way(const Site& site, std::vector<PlaceId> places, std::optional<PlaceId> start) {
  std::vector<PlaceId> way;
  PlaceId at = start.value_or(places.front());
  while (!places.empty()) {
    const auto next = std::min_element(places.begin(), places.end(), [&](PlaceId a, PlaceId b) {
      return std::pair{site.walk(at, a), a} < std::pair{site.walk(at, b), b};
    });
    at = *next;
    way.push_back(at);
    places.erase(next);
  }
  // A stretch turned round, as long as that helps (2-opt).
  sim::Duration length = length_of(site, way, start);
  for (bool better = true; better;) {
    better = false;
    for (std::size_t i = 0; i + 1 < way.size(); ++i) {
      for (std::size_t j = i + 1; j < way.size(); ++j) {
        std::reverse(way.begin() + static_cast<std::ptrdiff_t>(i),
                     way.begin() + static_cast<std::ptrdiff_t>(j) + 1);
        const sim::Duration turned = length_of(site, way, start);
        if (turned < length) {
          length = turned;
          better = true;
        } else {
          std::reverse(way.begin() + static_cast<std::ptrdiff_t>(i),
                       way.begin() + static_cast<std::ptrdiff_t>(j) + 1);
        }
      }
    }
  }
  return {way, length, false};
}

/// A detour is never shorter than the walk itself; else a set of more places could be cheaper than one of fewer.
bool walks_are_metric(const Site& site) {
  const std::size_t n = site.places.size();
  if (n > 60) return false;
  for (PlaceId a = 0; a < n; ++a) {
    for (PlaceId b = 0; b < n; ++b) {
      for (PlaceId c = 0; c < n; ++c) {
        if (site.walk(a, b) > site.walk(a, c) + site.walk(c, b)) return false;
      }
    }
  }
  return true;
}

class CoverSearch {
 public:
  explicit CoverSearch(const CoverProblem& problem) : problem_(problem), tests_of_(problem.rows) {
    for (std::uint32_t test = 0; test < problem.tests.size(); ++test) {
      for (const std::uint32_t row : problem.tests[test].rows) tests_of_[row].push_back(test);
    }
  }

  Cover find() {
    Cover cover;
    for (std::uint32_t row = 0; row < problem_.rows; ++row) {
      if (tests_of_[row].empty()) cover.open.push_back(row);
    }
    keep_hardest_rows();
    best_ = without_needless(greedy());
    best_price_ = price_of(best_);
    const bool small = places_of(all_tests()).size() <= most_exact_places && walks_are_metric(*problem_.site);
    if (small) {
      std::vector<std::uint32_t> chosen;
      branch(chosen, hard_rows_);
    }
    std::sort(best_.begin(), best_.end());
    cover.chosen = best_;
    cover.price = best_price_;
    cover.proved = small && branches_ < most_branches;
    return cover;
  }

 private:
  using Tests = std::vector<std::uint32_t>;

  [[nodiscard]] Tests all_tests() const {
    Tests all(problem_.tests.size());
    std::iota(all.begin(), all.end(), 0u);
    return all;
  }

  [[nodiscard]] std::vector<PlaceId> places_of(const Tests& tests) const {
    std::set<PlaceId> places;
    for (const std::uint32_t test : tests)
      places.insert(problem_.tests[test].places.begin(), problem_.tests[test].places.end());
    return {places.begin(), places.end()};
  }

  [[nodiscard]] sim::Duration way_length(const std::vector<PlaceId>& places) {
    if (places.empty()) return {};
    const auto [known, fresh] = ways_.insert({places, {}});
    if (fresh) known->second = way_through(*problem_.site, places, problem_.start).length;
    return known->second;
  }

  [[nodiscard]] sim::Duration price_of(const Tests& tests) {
    sim::Duration price = way_length(places_of(tests));
    for (const std::uint32_t test : tests) price += problem_.tests[test].price;
    return price;
  }

  /// Whoever covers a row that few tests cover, covers all rows that these tests are among the tests of.
  void keep_hardest_rows() {
    std::set<Tests> distinct;
    for (const Tests& tests : tests_of_) {
      if (!tests.empty()) distinct.insert(tests);
    }
    std::vector<Tests> kept;
    std::vector<Tests> by_size(distinct.begin(), distinct.end());
    std::stable_sort(by_size.begin(), by_size.end(),
                     [](const Tests& a, const Tests& b) { return a.size() < b.size(); });
    for (const Tests& tests : by_size) {
      const bool implied = std::any_of(kept.begin(), kept.end(), [&tests](const Tests& fewer) {
        return std::includes(tests.begin(), tests.end(), fewer.begin(), fewer.end());
      });
      if (!implied) kept.push_back(tests);
    }
    hard_rows_ = std::move(kept);
  }

  [[nodiscard]] static bool covers(const Tests& chosen, const Tests& row) {
    return std::any_of(chosen.begin(), chosen.end(), [&row](std::uint32_t test) {
      return std::binary_search(row.begin(), row.end(), test);
    });
  }

  [[nodiscard]] Tests greedy() {
    Tests chosen;
    std::vector<Tests> left = hard_rows_;
    while (!left.empty()) {
      std::map<std::uint32_t, std::size_t> gains;
      for (const Tests& row : left) {
        for (const std::uint32_t test : row) ++gains[test];
      }
      std::optional<std::pair<double, std::uint32_t>> best;
      const sim::Duration before = way_length(places_of(chosen));
      for (const auto& [test, gain] : gains) {
        Tests with = chosen;
        with.push_back(test);
        const sim::Duration price = problem_.tests[test].price + way_length(places_of(with)) - before;
        const std::pair ranked{(static_cast<double>(price.count()) + 1) / static_cast<double>(gain), test};
        if (!best || ranked < *best) best = ranked;
      }
      chosen.push_back(best->second);
      std::erase_if(
          left, [&](const Tests& row) { return std::binary_search(row.begin(), row.end(), best->second); });
    }
    return chosen;
  }

  [[nodiscard]] Tests without_needless(Tests chosen) const {
    Tests by_price = chosen;
    std::stable_sort(by_price.begin(), by_price.end(), [this](std::uint32_t a, std::uint32_t b) {
      return problem_.tests[a].price > problem_.tests[b].price;
    });
    for (const std::uint32_t test : by_price) {
      Tests fewer = chosen;
      std::erase(fewer, test);
      const bool enough = std::all_of(hard_rows_.begin(), hard_rows_.end(),
                                      [&fewer](const Tests& row) { return covers(fewer, row); });
      if (enough) chosen = fewer;
    }
    return chosen;
  }

  /// Rows that share no test each cost at least their cheapest.
  [[nodiscard]] sim::Duration bound(const std::vector<Tests>& left) const {
    sim::Duration least{};
    std::set<std::uint32_t> used;
    for (const Tests& row : left) {
      if (std::any_of(row.begin(), row.end(), [&used](std::uint32_t test) { return used.contains(test); }))
        continue;
      used.insert(row.begin(), row.end());
      sim::Duration cheapest = sim::Duration::max();
      for (const std::uint32_t test : row) cheapest = std::min(cheapest, problem_.tests[test].price);
      least += cheapest;
    }
    return least;
  }

  void branch(Tests& chosen, const std::vector<Tests>& left) {
    if (++branches_ >= most_branches) return;
    const sim::Duration price = price_of(chosen);
    if (price + bound(left) >= best_price_) return;
    if (left.empty()) {
      best_ = chosen;
      best_price_ = price;
      return;
    }
    const auto hardest = std::min_element(left.begin(), left.end(),
                                          [](const Tests& a, const Tests& b) { return a.size() < b.size(); });
    for (const std::uint32_t test : *hardest) {
      std::vector<Tests> rest;
      std::copy_if(left.begin(), left.end(), std::back_inserter(rest),
                   [test](const Tests& row) { return !std::binary_search(row.begin(), row.end(), test); });
      chosen.push_back(test);
      branch(chosen, rest);
      chosen.pop_back();
    }
  }

  const CoverProblem& problem_;
  std::vector<Tests> tests_of_;  ///< by row
  std::vector<Tests> hard_rows_;
  std::map<std::vector<PlaceId>, sim::Duration> ways_;
  Tests best_;
  sim::Duration best_price_{};
  std::size_t branches_ = 0;
};

}  // namespace

WayThrough way_through(const Site& site, const std::vector<PlaceId>& places, std::optional<PlaceId> start) {
  if (places.empty()) return {};
  return places.size() <= most_exact_places ? exact_way(site, places, start) : good_way(site, places, start);
}

Cover cheapest_cover(const CoverProblem& problem) {
  return CoverSearch{problem}.find();
}

}  // namespace drybus::model
