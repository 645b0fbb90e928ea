// Exhaustive search over values: breadth first, so that the first way found to break an invariant is a shortest one.
//
// A model says what there is to search:
//
//   struct Model {
//     using State = ...;
//     void start(State& state);                       // puts the initial state there
//     void expand(const State& from, Visit visit);    // visit(Action, const State& next, bool broken) for every action,
//                                                     // in ascending order of actions, always the same for one state
//     // Small states (trivially copyable, no padding) are their own keys and are kept: use StateSet<sizeof(State)>.
//     // Others say what is to be told apart, and how to get to a state again: use KeySet or FingerprintSet.
//     void write_key(const State& state, std::vector<std::byte>& key);  // appends
//     void repeat(const State& from, std::span<const Action> actions, Visit visit);  // visit(Action, const State& next)
//   };
//
// `repeat` may be called from within a `visit` of the same model's `repeat`, and so may `expand`: a state that was handed
// to `visit` must stay as it is until that visit is over.
//
// Large states are not stored. What is stored of one is its key, its parent and the action that led to it; a level is
// gone through by doing the actions of the tree above it again. As each level is several times the one before, that
// costs little, and a state costs a few bytes instead of kilobytes.
//
// Several models of the same kind make as many threads. What is found, and every count, is the same for any number:
// each thread expands a stretch of a level, and the stretches are taken in, in order, by one thread at a time.
#pragma once

#include <algorithm>
#include <atomic>
#include <bit>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <exception>
#include <functional>
#include <limits>
#include <mutex>
#include <optional>
#include <span>
#include <thread>
#include <type_traits>
#include <utility>
#include <vector>

#include "sim/digest.h"
#include "sim/search_tree.h"
#include "sim/state_set.h"

namespace drybus::sim {

struct SearchBounds {
  std::uint32_t depth = std::numeric_limits<std::uint32_t>::max();   ///< actions in a sequence, at most
  std::uint64_t states = std::numeric_limits<std::uint64_t>::max();  ///< distinct states, at most
  std::uint64_t memory_bytes = std::numeric_limits<std::uint64_t>::max();
};

/// How far a search has got.
struct SearchProgress {
  std::uint32_t depth = 0;         ///< the longest sequence of actions tried
  std::uint64_t states = 0;        ///< distinct ones met, the initial one included
  std::uint64_t transitions = 0;   ///< actions done in states, each of which led to a state, new or not
  std::uint64_t memory_bytes = 0;  ///< of the states and the tree
};

enum class SearchEnd : std::uint8_t {
  broken,     ///< the invariant was broken; `actions` says how
  exhausted,  ///< there is nothing further: every reachable state was met
  depth,      ///< every sequence within the bound on depth was tried
  states,     ///< the bound on states was reached
  memory,     ///< the bound on memory was reached
  interrupted,
};

struct SearchResult {
  SearchEnd end = SearchEnd::exhausted;
  SearchProgress progress;
  std::vector<Action> actions;              ///< for SearchEnd::broken
  std::vector<std::uint64_t> level_states;  ///< new states by depth
};

/// What a search may be told while it goes on. Both may be left out.
struct SearchControl {
  const std::atomic<bool>* stop = nullptr;              ///< set: come to an end soon
  std::function<void(const SearchProgress&)> progress;  ///< called now and then, never by two threads at once
};

template <class Model>
concept KeepsItsStates = std::is_trivially_copyable_v<typename Model::State> &&
    std::has_unique_object_representations_v<typename Model::State>;

template <class Model, class Set>
class Explorer {
 public:
  using State = typename Model::State;

  /// One thread for each model; all must be alike, and outlive the explorer. REQUIRES: at least one.
  Explorer(std::span<Model> models, const SearchBounds& bounds, SearchControl control = {})
      : models_(models), bounds_(bounds), control_(std::move(control)), tree_(!Set::holds_states) {
    bounds_.states = std::min<std::uint64_t>(bounds_.states, Set::most - 1);
  }

  SearchResult run() {
    insert_start();
    for (;;) {
      result_.level_states.push_back(tree_[tree_.depth()].states);
      if (tree_[tree_.depth()].states == 0) {
        result_.level_states.pop_back();
        return finish(SearchEnd::exhausted);
      }
      if (tree_.depth() == bounds_.depth) return finish(SearchEnd::depth);
      expand_level();
      if (end_) return finish(*end_);
    }
  }

 private:
  static_assert(!Set::holds_states || KeepsItsStates<Model>);

  /// What came of expanding one stretch of a level.
  struct Batch {
    struct Transition {
      std::uint64_t hash;
      std::uint32_t parent;
      std::uint32_t key_end;  ///< in `keys`
      Action action;
      bool broken;
    };
    std::vector<Transition> transitions;
    std::vector<std::byte> keys;

    void clear() {
      transitions.clear();
      keys.clear();
    }
    [[nodiscard]] std::size_t bytes() const { return transitions.size() * sizeof(Transition) + keys.size(); }
    [[nodiscard]] std::span<const std::byte> key(std::size_t i) const {
      const std::size_t begin = i == 0 ? 0 : transitions[i - 1].key_end;
      return std::span{keys}.subspan(begin, transitions[i].key_end - begin);
    }
  };

  /// How many states are expanded in one go: enough that going down the tree to them is shared by many, and no more than
  /// what comes of them can be held at ease.
  static constexpr std::size_t longest_stretch = Set::holds_states ? 512 : 256;
  static constexpr std::size_t batch_bytes = std::size_t{4} << 20;
  [[nodiscard]] std::size_t fitting_stretch() const {
    return std::clamp<std::size_t>(batch_bytes / std::max<std::size_t>(1, bytes_from_one_state_), 1,
                                   longest_stretch);
  }

  void insert_start() {
    State start{};
    models_[0].start(start);
    Batch batch;
    add_key(models_[0], start, batch.keys);
    set_.insert(hash_bytes(batch.keys), batch.keys);
  }

  static void add_key(Model& model, const State& state, std::vector<std::byte>& keys) {
    if constexpr (Set::holds_states) {
      const auto bytes = std::as_bytes(std::span{&state, 1});
      keys.insert(keys.end(), bytes.begin(), bytes.end());
    } else {
      model.write_key(state, keys);
    }
  }

  // --- expanding, by any thread ----------------------------------------------------------------------------------

  void expand_stretch(Model& model, std::size_t depth, std::size_t first, std::size_t last, Batch& batch) {
    for_each_state(model, depth, first, last, [&](std::uint32_t place, const State& state) {
      model.expand(state, [&](Action action, const State& next, bool broken) {
        const std::size_t begin = batch.keys.size();
        add_key(model, next, batch.keys);
        const std::uint64_t hash = hash_bytes(std::span{batch.keys}.subspan(begin));
        batch.transitions.push_back(
            {hash, place, static_cast<std::uint32_t>(batch.keys.size()), action, broken});
      });
    });
  }

  template <class Visit>
  void for_each_state(Model& model, std::size_t depth, std::size_t first, std::size_t last, Visit&& visit) {
    if constexpr (Set::holds_states) {
      for (std::size_t place = first; place < last; ++place) {
        visit(static_cast<std::uint32_t>(place), std::bit_cast<State>(set_[tree_[depth].first + place]));
      }
    } else {
      const std::vector<Ancestors> needed = ancestors_of(depth, first, last);
      State start{};
      model.start(start);
      Cursor cursor{needed, std::vector<std::size_t>(depth + 1, 0), depth};
      go_down(model, cursor, 0, start, visit);
    }
  }

  /// The states of one level that lead to those of a stretch, in ascending order.
  struct Ancestors {
    std::vector<std::uint32_t> places;
    std::vector<std::uint32_t> parents;  ///< of each
    std::vector<Action> actions;         ///< that led to each
  };
  struct Cursor {
    const std::vector<Ancestors>& needed;
    std::vector<std::size_t> next;  ///< by level: the first in `needed` that was not visited yet
    std::size_t depth;
  };

  [[nodiscard]] std::vector<Ancestors> ancestors_of(std::size_t depth, std::size_t first,
                                                    std::size_t last) const {
    std::vector<Ancestors> needed(depth + 1);
    for (std::size_t place = first; place < last; ++place) {
      needed[depth].places.push_back(static_cast<std::uint32_t>(place));
    }
    for (std::size_t level = depth; level > 0; --level) {
      Ancestors& here = needed[level];
      std::vector<std::uint32_t>& above = needed[level - 1].places;
      const SearchTree::Level& tree = tree_[level];
      std::size_t i = 0;
      tree.parents.for_each(here.places.front(), here.places.back() + 1u,
                            [&](std::size_t place, std::uint32_t parent) {
                              if (here.places[i] != place) return;
                              ++i;
                              here.parents.push_back(parent);
                              here.actions.push_back(tree.actions[place]);
                              if (above.empty() || above.back() != parent) above.push_back(parent);
                            });
    }
    return needed;
  }

  template <class Visit>
  void go_down(Model& model, Cursor& cursor, std::size_t level, const State& state, Visit& visit) {
    const std::uint32_t place = cursor.needed[level].places[cursor.next[level]++];
    if (level == cursor.depth) return visit(place, state);
    const Ancestors& below = cursor.needed[level + 1];
    const std::size_t from = cursor.next[level + 1];
    std::size_t to = from;
    while (to < below.parents.size() && below.parents[to] == place) ++to;
    model.repeat(state, std::span{below.actions}.subspan(from, to - from),
                 [&](Action, const State& next) { go_down(model, cursor, level + 1, next, visit); });
  }

  // --- one level -------------------------------------------------------------------------------------------------

  /// Stretches are handed out in order and taken in, in order. `mutex` guards all but the batches being filled.
  struct LevelWork {
    std::size_t depth = 0;
    std::size_t states = 0;
    std::size_t stretch = 1;
    std::mutex mutex;
    std::condition_variable changed;
    std::size_t next_stretch = 0;
    std::size_t next_merge = 0;
    bool merging = false;
    std::vector<std::pair<std::size_t, Batch>> waiting = {};
    std::vector<Batch> spare = {};
    std::exception_ptr error = nullptr;
  };

  void expand_level() {
    LevelWork work;
    work.depth = tree_.depth();
    work.states = tree_[work.depth].states;
    work.stretch = fitting_stretch();
    tree_.begin_level();
    result_.progress.depth = static_cast<std::uint32_t>(tree_.depth());
    {
      std::vector<std::jthread> threads;
      const std::size_t stretches = (work.states + work.stretch - 1) / work.stretch;
      for (std::size_t i = 1; i < std::min(models_.size(), stretches); ++i) {
        threads.emplace_back([&, i] { work_on(work, models_[i]); });
      }
      work_on(work, models_[0]);
    }
    if (work.error) std::rethrow_exception(work.error);
    report();
  }

  void work_on(LevelWork& work, Model& model) {
    try {
      while (one_stretch(work, model)) {
      }
    } catch (...) {
      const std::lock_guard lock{work.mutex};
      if (!work.error) work.error = std::current_exception();
      work.changed.notify_all();
    }
  }

  /// Expands the next stretch and takes in what is ready; false when there is none left or the search is over.
  bool one_stretch(LevelWork& work, Model& model) {
    std::unique_lock lock{work.mutex};
    // Nobody may run so far ahead that what waits to be taken in piles up.
    work.changed.wait(
        lock, [&] { return work.error || end_ || work.next_stretch < work.next_merge + 4 * models_.size(); });
    if (work.error || end_ || work.next_stretch * work.stretch >= work.states) return false;
    const std::size_t mine = work.next_stretch++;
    Batch batch = take_spare(work);
    lock.unlock();
    const std::size_t first = mine * work.stretch;
    const std::size_t last = std::min(work.states, first + work.stretch);
    expand_stretch(model, work.depth, first, last, batch);
    lock.lock();
    bytes_from_one_state_ = std::max(bytes_from_one_state_, batch.bytes() / (last - first));
    work.waiting.emplace_back(mine, std::move(batch));
    merge_what_is_ready(work, lock);
    return true;
  }

  Batch take_spare(LevelWork& work) {
    if (work.spare.empty()) return {};
    Batch batch = std::move(work.spare.back());
    work.spare.pop_back();
    return batch;
  }

  void merge_what_is_ready(LevelWork& work, std::unique_lock<std::mutex>& lock) {
    if (work.merging) return;
    work.merging = true;
    for (;;) {
      const auto ready = std::find_if(work.waiting.begin(), work.waiting.end(),
                                      [&](const auto& each) { return each.first == work.next_merge; });
      if (ready == work.waiting.end() || end_) break;
      Batch batch = std::move(ready->second);
      work.waiting.erase(ready);
      lock.unlock();
      const std::optional<SearchEnd> end = merge(batch);
      batch.clear();
      lock.lock();
      end_ = end;
      work.spare.push_back(std::move(batch));
      ++work.next_merge;
      work.changed.notify_all();
    }
    work.merging = false;
  }

  /// Takes in what came of a stretch, in order. Says why the search is over, if it is.
  std::optional<SearchEnd> merge(const Batch& batch) {
    constexpr std::size_t ahead = 12;
    const std::size_t count = batch.transitions.size();
    for (std::size_t i = 0; i < count; ++i) {
      if (i + ahead < count) set_.prefetch(batch.transitions[i + ahead].hash);
      if (i + ahead / 2 < count) set_.prefetch_more(batch.transitions[i + ahead / 2].hash);
      const typename Batch::Transition& transition = batch.transitions[i];
      ++result_.progress.transitions;
      if (transition.broken) {
        broken_ = {transition.parent, transition.action};
        return SearchEnd::broken;
      }
      if (!set_.insert(transition.hash, batch.key(i))) continue;
      if (tree_.depth() < bounds_.depth) {
        tree_.add(transition.parent, transition.action);
      } else {
        tree_.count();  // it will not be expanded, so nobody will ask how to get there
      }
      if (set_.size() >= bounds_.states) return SearchEnd::states;
    }
    report();
    if (memory_bytes() >= bounds_.memory_bytes) return SearchEnd::memory;
    if (control_.stop != nullptr && control_.stop->load(std::memory_order_relaxed))
      return SearchEnd::interrupted;
    return std::nullopt;
  }

  // --- what came of it -------------------------------------------------------------------------------------------

  [[nodiscard]] std::vector<Action> actions_to(std::size_t depth, std::uint32_t place) {
    const std::vector<std::uint32_t> line = tree_.line_of(depth, place);
    std::vector<Action> actions;
    for (std::size_t level = 1; level <= depth; ++level) {
      if constexpr (Set::holds_states) {
        actions.push_back(action_between(state_at(level - 1, line[level - 1]), state_at(level, line[level])));
      } else {
        actions.push_back(tree_[level].actions[line[level]]);
      }
    }
    return actions;
  }

  [[nodiscard]] State state_at(std::size_t level, std::uint32_t place) const requires(Set::holds_states) {
    return std::bit_cast<State>(set_[tree_[level].first + place]);
  }

  [[nodiscard]] Action action_between(const State& from, const State& to) {
    std::optional<Action> found;
    models_[0].expand(from, [&](Action action, const State& next, bool) {
      if (!found && std::memcmp(&next, &to, sizeof(State)) == 0) found = action;
    });
    return found.value();
  }

  [[nodiscard]] std::uint64_t memory_bytes() const { return set_.memory_bytes() + tree_.memory_bytes(); }

  void report() {
    result_.progress.states = set_.size();
    result_.progress.memory_bytes = memory_bytes();
    if (control_.progress) control_.progress(result_.progress);
  }

  SearchResult finish(SearchEnd end) {
    report();
    result_.end = end;
    if (end == SearchEnd::broken) {
      result_.actions = actions_to(tree_.depth() - 1, broken_.parent);
      result_.actions.push_back(broken_.action);
    }
    return std::move(result_);
  }

  std::span<Model> models_;
  SearchBounds bounds_;
  SearchControl control_;
  Set set_;
  SearchTree tree_;
  std::optional<SearchEnd> end_;
  std::size_t bytes_from_one_state_ =
      0;  ///< the most that expanding one took in a batch, on average over a stretch
  struct {
    std::uint32_t parent = 0;
    Action action = 0;
  } broken_;  ///< the transition that broke the invariant
  SearchResult result_;
};

}  // namespace drybus::sim
