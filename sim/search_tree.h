// How each state of a breadth-first search was first reached. Parents never fall from one state to the next, so that a
// state's parent takes about two bits.
#pragma once

#include <bit>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace drybus::sim {

/// One of the things that can be done in a state; their order is the order of the search.
using Action = std::uint16_t;

/// The parents of one level's states, as places in the level before. For each state: a zero for every place that its
/// parent is beyond that of the state before, then a one.
class ParentLinks {
 public:
  /// REQUIRES: `parent` is not less than the last one.
  void add(std::uint32_t parent) {
    assert(parent >= last_);
    end_ += parent - last_;
    last_ = parent;
    if (bits_.size() <= end_ / 64) bits_.resize(end_ / 64 + 1, 0);
    if (size_ % sample == 0) samples_.push_back(end_);
    bits_[end_ / 64] |= std::uint64_t{1} << end_ % 64;
    ++end_;
    ++size_;
  }

  [[nodiscard]] std::size_t size() const { return size_; }

  /// The parent of the state at `index`. Takes time in proportion to `sample`.
  [[nodiscard]] std::uint32_t operator[](std::size_t index) const {
    assert(index < size_);
    std::uint64_t at = samples_[index / sample];
    for (std::size_t i = index - index % sample; i < index; ++i) at = next_one(at + 1);
    return static_cast<std::uint32_t>(at - index);
  }

  /// Calls visit(index, parent) for first <= index < last.
  template <class Visit>
  void for_each(std::size_t first, std::size_t last, Visit&& visit) const {
    if (first >= last) return;
    std::uint64_t at = first + (*this)[first];
    for (std::size_t index = first;;) {
      visit(index, static_cast<std::uint32_t>(at - index));
      if (++index == last) return;
      at = next_one(at + 1);
    }
  }

  [[nodiscard]] std::size_t memory_bytes() const {
    return bits_.capacity() * sizeof(std::uint64_t) + samples_.capacity() * sizeof(std::uint64_t);
  }

 private:
  static constexpr std::size_t sample = 256;

  [[nodiscard]] std::uint64_t next_one(std::uint64_t from) const {
    std::uint64_t word = bits_[from / 64] >> from % 64;
    if (word != 0) return from + static_cast<std::uint64_t>(std::countr_zero(word));
    std::size_t i = from / 64 + 1;
    while (bits_[i] == 0) ++i;
    return i * 64 + static_cast<std::uint64_t>(std::countr_zero(bits_[i]));
  }

  std::vector<std::uint64_t> bits_;
  std::vector<std::uint64_t> samples_;  ///< where the ones of states 0, 256, 512, ... are
  std::uint64_t end_ = 0;
  std::uint32_t last_ = 0;
  std::size_t size_ = 0;
};

/// Actions in a row, a byte each as long as none needs two.
class ActionList {
 public:
  void push_back(Action action) {
    if (action > 0xff && !is_wide_) {
      wide_.assign(narrow_.begin(), narrow_.end());
      narrow_ = {};
      is_wide_ = true;
    }
    is_wide_ ? wide_.push_back(action) : narrow_.push_back(static_cast<std::uint8_t>(action));
  }
  [[nodiscard]] Action operator[](std::size_t index) const {
    return is_wide_ ? wide_[index] : narrow_[index];
  }
  [[nodiscard]] std::size_t memory_bytes() const {
    return narrow_.capacity() + wide_.capacity() * sizeof(Action);
  }

 private:
  std::vector<std::uint8_t> narrow_;
  std::vector<Action> wide_;
  bool is_wide_ = false;
};

/// All levels of a search. Level 0 is the initial state. Levels before the last may be read while that one grows.
class SearchTree {
 public:
  struct Level {
    std::uint64_t first = 0;  ///< how many states the levels before have
    std::size_t states = 0;
    ParentLinks parents;  ///< none at level 0
    ActionList actions;   ///< likewise; empty when not kept
  };

  /// `keeps_actions`: false when the model can find out again which action leads from one state to another.
  explicit SearchTree(bool keeps_actions) : keeps_actions_(keeps_actions) {
    levels_.emplace_back();
    levels_[0].states = 1;
  }

  void begin_level() {
    const std::uint64_t first = levels_.back().first + levels_.back().states;
    levels_.emplace_back();
    levels_.back().first = first;
  }

  /// Adds a state to the last level. REQUIRES: that is not level 0.
  void add(std::uint32_t parent, Action action) {
    Level& level = levels_.back();
    level.parents.add(parent);
    if (keeps_actions_) level.actions.push_back(action);
    ++level.states;
  }

  /// Counts a state of the last level of which nothing has to be known.
  void count() { ++levels_.back().states; }

  [[nodiscard]] std::size_t depth() const { return levels_.size() - 1; }
  [[nodiscard]] const Level& operator[](std::size_t depth) const { return levels_[depth]; }
  [[nodiscard]] std::uint64_t states() const { return levels_.back().first + levels_.back().states; }

  /// The places of a state's ancestors, from level 0 to itself.
  [[nodiscard]] std::vector<std::uint32_t> line_of(std::size_t depth, std::uint32_t place) const {
    std::vector<std::uint32_t> line(depth + 1);
    for (std::size_t level = depth;; --level) {
      line[level] = place;
      if (level == 0) return line;
      place = levels_[level].parents[place];
    }
  }

  [[nodiscard]] std::size_t memory_bytes() const {
    std::size_t sum = levels_.capacity() * sizeof(Level);
    for (const Level& level : levels_) {
      sum += level.parents.memory_bytes() + level.actions.memory_bytes();
    }
    return sum;
  }

 private:
  bool keeps_actions_;
  std::vector<Level> levels_;
};

}  // namespace drybus::sim
