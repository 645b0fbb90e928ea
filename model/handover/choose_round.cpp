// Which tests tell every wrong outcome from the right one, for the least time.
#include <algorithm>
#include <set>

#include "model/handover/round.h"
#include "model/run/driver.h"
#include "model/words/words.h"
#include "model/world/simulation.h"

namespace drybus::model {

namespace {

class Chooser {
 public:
  Chooser(const BuiltSite& built, const RouteProblem& problem, const Catalogue& catalogue,
          const SlipBounds& bounds)
      : built_(built),
        bounds_(bounds),
        install_(install_of(problem, built.may_lose_power())),
        aftermath_(install_, catalogue),
        outcomes_(aftermath_.outcomes(bounds.most_runs)) {
    darken(outcomes_.right);
    for (Outcome& wrong : outcomes_.wrong) darken(wrong.world);
  }

  RoundChoice choose() {
    choice_.causes = outcomes_.causes.size();
    choice_.skipped = outcomes_.skipped;
    choice_.harmless = outcomes_.harmless;
    choice_.outcomes = outcomes_.wrong.size();
    note_plates();
    try_tests();
    note_far_keys();
    problem_.rows = outcomes_.wrong.size();
    add_keys_that_must_be_pressed();
    problem_.site = &built_.site;
    problem_.start = built_.start;
    cover();
    try_doubles();
    return std::move(choice_);
  }

 private:
  /// Without a power cut everything that may be switched is switched off first.
  void darken(World& world) const {
    if (built_.may_lose_power()) return;
    const Trial trial = make_trial(built_.site, round_of(built_, {}), 0, true);
    if (trial.scenario.people[0].script.empty()) return;
    world.people.assign(1, {});
    Simulation simulation{trial.scenario, world};
    simulation.schedule(sim::Duration::zero(), Happening::person, 0, 0, sim::no_entry);
    Budget budget;
    budget.events = 1'000'000;
    Driver driver{simulation, budget};
    try {
      driver.go_on([&] { return simulation.scripts_done(); });
    } catch (const UsedUp&) {
      world.people[0].done = 1;  // it goes on sending: whoever looks will see that soon enough
    }
  }

  void note_plates() {
    for (DeviceId plate = 0; plate < built_.site.plates.size(); ++plate) {
      if (!built_.site.plates[plate].neighbour && !built_.zone_of(plate).empty() && !built_.may_press(plate))
        choice_.keys_unpressed.push_back(plate);
    }
  }

  /// Of keys for other zones, those for which there was no test.
  void note_far_keys() {
    for (DeviceId plate = 0; plate < built_.site.plates.size(); ++plate) {
      if (built_.site.plates[plate].neighbour) continue;
      for (const Button key : far_keys(built_.site.plate_family(plate))) {
        const bool tried = std::any_of(tests_.begin(), tests_.end(), [&](const RoundTest& test) {
          return test.kind == RoundTest::Kind::key && test.plate == plate && test.button == key;
        });
        if (!tried && (built_.is_part || !built_.reached_by(plate, key).empty()))
          choice_.far_unpressed.emplace_back(plate, key);
      }
    }
  }

  // --- what each test tells ---

  void try_tests() {
    for (const RoundTest& test : all_tests(built_)) {
      const Trial trial = make_trial(built_.site, acts_of(built_, test), start_of(test), true);
      const auto right = try_out(trial, outcomes_.right);
      if (!right || right->touched) continue;
      CoverTest tried;
      tried.rows = rows_told(trial, *right);
      tried.price = right->took;
      tried.places = {start_of(test)};
      if (test.kind == RoundTest::Kind::key && test.place != start_of(test))
        tried.price += built_.site.walk(test.place, start_of(test));
      if (test.kind == RoundTest::Kind::channels && test.place != start_of(test))
        tried.price += calling_takes;
      tests_.push_back(test);
      problem_.tests.push_back(std::move(tried));
    }
    choice_.tests_possible = tests_.size();
  }

  /// Until a helper has come to a place and both have each other on the telephone: judgement, no source.
  static constexpr sim::Duration calling_takes = std::chrono::seconds{60};

  [[nodiscard]] PlaceId start_of(const RoundTest& test) const {
    return test.kind == RoundTest::Kind::dark ? test.place : built_.site.place(test.plate);
  }

  [[nodiscard]] std::vector<std::uint32_t> rows_told(const Trial& trial, const Sighting& right) const {
    std::vector<std::uint32_t> rows;
    for (std::uint32_t row = 0; row < outcomes_.wrong.size(); ++row) {
      if (!is_by_chance(row) && is_told(trial, right, outcomes_.wrong[row].world)) rows.push_back(row);
    }
    return rows;
  }

  /// What a noisy link loses is chance: that it shows once says nothing of the next time.
  [[nodiscard]] bool is_by_chance(std::uint32_t row) const {
    return outcomes_.causes[outcomes_.wrong[row].causes.front()].placed.cause == Mishap::noisy_link;
  }

  /// A round that never ends is told, too: something goes on that nobody pressed.
  [[nodiscard]] bool is_told(const Trial& trial, const Sighting& right, const World& wrong) const {
    const auto seen = try_out(trial, wrong);
    return !seen || tells_apart(trial, *seen, right);
  }

  // --- obligations ---

  /// Every key that people will use is pressed once and looked at, whatever the catalogue says of it.
  void add_keys_that_must_be_pressed() {
    std::set<std::pair<DeviceId, Button>> keys;
    for (const RoundTest& test : tests_) {
      if (test.kind == RoundTest::Kind::key) keys.emplace(test.plate, test.button);
    }
    for (const auto& [plate, button] : keys) {
      for (std::size_t i = 0; i < tests_.size(); ++i) {
        if (tests_[i].kind == RoundTest::Kind::key && tests_[i].plate == plate &&
            tests_[i].button == button && shows_zone(tests_[i]))
          problem_.tests[i].rows.push_back(static_cast<std::uint32_t>(problem_.rows));
      }
      ++problem_.rows;
    }
  }

  /// Whether loads are looked at that the key is for.
  [[nodiscard]] bool shows_zone(const RoundTest& test) const {
    const auto zone = built_.reached_by(test.plate, test.button);
    return std::any_of(zone.begin(), zone.end(),
                       [&](DeviceId module) { return built_.site.place(module) == test.place; });
  }

  // --- the choice ---

  /// What single tests tell, they should tell in a row, too; where one that came before hides it, the tests that could
  /// tell it are asked for once more.
  void cover() {
    Cover cover = cheapest_cover(problem_);
    choice_.proved = cover.proved;
    for (const std::uint32_t test : cover.chosen) choice_.tests.push_back(tests_[test]);
    const std::set<std::uint32_t> open(cover.open.begin(), cover.open.end());
    std::vector<std::uint32_t> missed;
    verify(open, missed);
    if (!missed.empty()) {
      for (const std::uint32_t row : missed) add_all_for(row);
      choice_.proved = false;
      missed.clear();
      verify(open, missed);
    }
    std::vector<Untold> untold;
    for (std::uint32_t row = 0; row < outcomes_.wrong.size(); ++row) {
      const bool is_missed = std::find(missed.begin(), missed.end(), row) != missed.end();
      if (open.contains(row) || is_missed) untold.push_back(untold_of(outcomes_.wrong[row]));
    }
    std::stable_sort(untold.begin(), untold.end(),
                     [](const Untold& a, const Untold& b) { return a.chance > b.chance; });
    choice_.told = outcomes_.wrong.size() - untold.size();
    choice_.untold = std::move(untold);
  }

  void add_all_for(std::uint32_t row) {
    for (std::size_t i = 0; i < tests_.size(); ++i) {
      const auto& rows = problem_.tests[i].rows;
      if (!std::binary_search(rows.begin(), rows.end(), row)) continue;
      if (std::find(choice_.tests.begin(), choice_.tests.end(), tests_[i]) == choice_.tests.end())
        choice_.tests.push_back(tests_[i]);
    }
    std::sort(choice_.tests.begin(), choice_.tests.end());
  }

  /// The round without what has been done before the worlds begin.
  void set_up_round() {
    std::vector<RoundAct> acts = round_of(built_, choice_.tests);
    const std::vector<RoundAct> before = round_of(built_, {});
    acts.erase(acts.begin(), acts.begin() + static_cast<std::ptrdiff_t>(before.size()));
    round_ = make_trial(built_.site, acts, built_.start.value_or(0), true);
    right_ = try_out(round_, outcomes_.right);
  }

  void verify(const std::set<std::uint32_t>& open, std::vector<std::uint32_t>& missed) {
    set_up_round();
    for (std::uint32_t row = 0; row < outcomes_.wrong.size(); ++row) {
      if (!open.contains(row) && right_ && !is_told(round_, *right_, outcomes_.wrong[row].world))
        missed.push_back(row);
    }
  }

  [[nodiscard]] Untold untold_of(const Outcome& outcome) const {
    const PlacedChange& likeliest = outcomes_.causes[outcome.causes.front()];
    return {describe(install_.report.believed, likeliest.placed), outcome.chance, outcome.causes.size()};
  }

  // --- two at once ---

  /// Pairs of slips that each leave something wrong, the likeliest first.
  void try_doubles() {
    std::vector<std::pair<double, std::pair<std::uint32_t, std::uint32_t>>> pairs;
    const std::size_t n = outcomes_.wrong.size();
    choice_.doubles_possible = n * (n - (n > 0 ? 1 : 0)) / 2;
    for (std::uint32_t a = 0; a < n; ++a) {
      for (std::uint32_t b = a + 1; b < n; ++b)
        pairs.push_back({-outcomes_.wrong[a].chance * outcomes_.wrong[b].chance, {a, b}});
    }
    const std::size_t most = std::min(bounds_.most_doubles, pairs.size());
    std::partial_sort(pairs.begin(), pairs.begin() + static_cast<std::ptrdiff_t>(most), pairs.end());
    for (std::size_t i = 0; i < most; ++i) try_pair(pairs[i].second.first, pairs[i].second.second);
  }

  void try_pair(std::uint32_t a, std::uint32_t b) {
    const PlacedChange& first = outcomes_.causes[outcomes_.wrong[a].causes.front()];
    const PlacedChange& second = outcomes_.causes[outcomes_.wrong[b].causes.front()];
    World world = aftermath_.end_of({&first, &second});
    if (alike(built_.site, world, outcomes_.right)) return;
    ++choice_.doubles;
    darken(world);
    if (right_ && is_told(round_, *right_, world)) {
      ++choice_.doubles_told;
      return;
    }
    // Where one of the two cannot be told alone, nobody expects it of both.
    const Scenario& believed = install_.report.believed;
    choice_.doubles_untold.push_back(
        {tr("{}, and {}", describe(believed, first.placed), describe(believed, second.placed)),
         first.chance * second.chance, 1});
  }

  const BuiltSite& built_;
  const SlipBounds& bounds_;
  Install install_;
  Aftermath aftermath_;
  Outcomes outcomes_;
  std::vector<RoundTest> tests_;
  CoverProblem problem_;
  Trial round_;
  std::optional<Sighting> right_;
  RoundChoice choice_;
};

}  // namespace

RoundChoice choose_round(const BuiltSite& built, const RouteProblem& problem, const Catalogue& catalogue,
                         const SlipBounds& bounds) {
  return Chooser{built, problem, catalogue, bounds}.choose();
}

}  // namespace drybus::model
