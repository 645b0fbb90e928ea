#include "sim/explore.h"

#include <doctest/doctest.h>

#include <array>
#include <atomic>
#include <stdexcept>
#include <vector>

#include "tests/spin/addressing.h"

using namespace drybus;
using namespace drybus::sim;
using tests::Addressing;
using tests::AddressingSize;
using tests::AddressingState;

namespace {

/// The abstract addressing protocol as large states are explored: by keys, and by doing actions again.
class ByKeys {
 public:
  using State = AddressingState;

  ByKeys(const AddressingSize& size, Addressing::Never never) : model_(size, never) {}

  void start(State& state) const { model_.start(state); }
  template <class Visit>
  void expand(const State& from, Visit&& visit) const {
    model_.expand(from, visit);
  }
  template <class Visit>
  void repeat(const State& from, std::span<const Action> actions, Visit&& visit) const {
    model_.expand(from, [&](Action action, const State& next, bool) {
      if (actions.empty() || action != actions.front()) return;
      actions = actions.subspan(1);
      visit(action, next);
    });
  }
  void write_key(const State& state, std::vector<std::byte>& key) const {
    const auto bytes = std::as_bytes(std::span{&state, 1});
    key.insert(key.end(), bytes.begin(), bytes.end());
  }

 private:
  Addressing model_;
};

struct Throwing : Addressing {
  using Addressing::Addressing;
  template <class Visit>
  void expand(const State&, Visit&&) const {
    throw std::runtime_error{"as the test has it"};
  }
};

template <class Model, class Set>
SearchResult explore(const AddressingSize& size, Addressing::Never never, std::size_t jobs = 1,
                     const SearchBounds& bounds = {}, const SearchControl& control = {}) {
  std::vector<Model> models(jobs, Model{size, never});
  return Explorer<Model, Set>{std::span{models}, bounds, control}.run();
}

SearchResult exact(const AddressingSize& size, Addressing::Never never, std::size_t jobs = 1,
                   const SearchBounds& bounds = {}, const SearchControl& control = {}) {
  return explore<Addressing, StateSet<sizeof(AddressingState)>>(size, never, jobs, bounds, control);
}

/// Whether the actions lead from the start to what must never come about, and only the last one does.
bool leads_to_breach(const AddressingSize& size, Addressing::Never never,
                     const std::vector<Action>& actions) {
  const Addressing model{size, never};
  AddressingState state;
  model.start(state);
  for (std::size_t i = 0; i < actions.size(); ++i) {
    std::optional<AddressingState> next;
    bool is_broken = false;
    model.expand(state, [&](Action action, const AddressingState& there, bool broken) {
      if (action == actions[i]) next = there, is_broken = broken;
    });
    if (!next || is_broken != (i + 1 == actions.size())) return false;
    state = *next;
  }
  return true;
}

void check_alike(const SearchResult& result, const SearchResult& expected) {
  CHECK(result.end == expected.end);
  CHECK(result.actions == expected.actions);
  CHECK(result.level_states == expected.level_states);
  CHECK(result.progress.states == expected.progress.states);
  CHECK(result.progress.transitions == expected.progress.transitions);
}

constexpr AddressingSize small{1, 3, 2, 1};

}  // namespace

TEST_SUITE("explore") {
  // Counted by Spin 6.5.2 (Debian 12) on tests/spin/addressing.pml; ctest's spin.agreement counts them
  // afresh.
  TEST_CASE("every reachable state is met once, as many as Spin counts") {
    struct Counted {
      AddressingSize size;
      std::uint64_t states;
      std::uint64_t transitions;
    };
    for (const Counted& counted :
         {Counted{{1, 2, 2, 0}, 1'008, 5'256}, Counted{{2, 2, 2, 1}, 41'600, 329'600},
          Counted{{1, 3, 2, 1}, 25'920, 192'672}, Counted{{1, 3, 3, 1}, 112'640, 865'280}}) {
      const SearchResult result = exact(counted.size, Addressing::Never::unsound);
      CHECK(result.end == SearchEnd::exhausted);
      CHECK(result.progress.states == counted.states);
      CHECK(result.progress.transitions == counted.transitions);
    }
  }

  TEST_CASE("the way to what must never come about is as short as Spin's, and leads there") {
    struct Found {
      AddressingSize size;
      Addressing::Never never;
      std::size_t steps;
    };
    using enum Addressing::Never;
    for (const Found& found : {Found{{1, 2, 2, 0}, shared, 7}, Found{{1, 2, 2, 0}, installed, 12},
                               Found{{1, 3, 3, 1}, installed, 20}, Found{{2, 3, 2, 0}, installed, 22}}) {
      const SearchResult result = exact(found.size, found.never);
      CHECK(result.end == SearchEnd::broken);
      CHECK(result.actions.size() == found.steps);
      CHECK(leads_to_breach(found.size, found.never, result.actions));
    }
  }

  TEST_CASE("keys, fingerprints and kept states come to the same, for any number of threads") {
    for (const auto never :
         {Addressing::Never::unsound, Addressing::Never::shared, Addressing::Never::installed}) {
      const SearchResult expected = exact(small, never);
      for (const std::size_t jobs : {1u, 2u, 5u}) {
        CAPTURE(jobs);
        check_alike(exact(small, never, jobs), expected);
        check_alike(explore<ByKeys, KeySet>(small, never, jobs), expected);
        check_alike(explore<ByKeys, FingerprintSet>(small, never, jobs), expected);
      }
    }
  }

  TEST_CASE("a bound on depth ends the search when every shorter sequence was tried") {
    const SearchResult whole = exact(small, Addressing::Never::shared);
    const auto steps = static_cast<std::uint32_t>(whole.actions.size());
    const SearchResult shorter = exact(small, Addressing::Never::shared, 1, {.depth = steps - 1});
    CHECK(shorter.end == SearchEnd::depth);
    CHECK(shorter.progress.depth == steps - 1);
    CHECK(exact(small, Addressing::Never::shared, 1, {.depth = steps}).actions == whole.actions);
  }

  TEST_CASE("bounds on states and memory end the search, and so does whoever interrupts it") {
    const SearchResult bounded = exact(small, Addressing::Never::unsound, 1, {.states = 1'000});
    CHECK(bounded.end == SearchEnd::states);
    CHECK(bounded.progress.states == 1'000);
    CHECK(exact(small, Addressing::Never::unsound, 1, {.memory_bytes = 1}).end == SearchEnd::memory);
    const std::atomic<bool> stop{true};
    SearchControl control;
    control.stop = &stop;
    CHECK(exact(small, Addressing::Never::unsound, 1, {}, control).end == SearchEnd::interrupted);
  }

  TEST_CASE("progress never goes back, and its last word is the result") {
    SearchProgress last;
    bool rises = true;
    SearchControl control;
    control.progress = [&](const SearchProgress& now) {
      rises = rises && now.states >= last.states && now.transitions >= last.transitions &&
              now.depth >= last.depth;
      last = now;
    };
    const SearchResult result = exact(small, Addressing::Never::unsound, 2, {}, control);
    CHECK(rises);
    CHECK(last.states == result.progress.states);
    CHECK(last.transitions == result.progress.transitions);
  }

  TEST_CASE("what a model throws comes out of the search") {
    CHECK_THROWS_WITH(
        (explore<Throwing, StateSet<sizeof(AddressingState)>>(small, Addressing::Never::unsound, 2)),
        "as the test has it");
  }
}
