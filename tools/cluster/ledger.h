// Who has which piece of work, and what is to be done again. Knows nothing of how ranks talk.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <set>
#include <vector>

namespace drybus::tools {

class Ledger {
 public:
  using Time = std::chrono::steady_clock::time_point;

  /// Rank 0 is the manager itself, which is never lost.
  explicit Ledger(std::size_t ranks) : ranks_(ranks) {}

  /// Begins with a pile of pieces; nobody has any.
  void begin(std::size_t pieces);

  /// The next piece for this rank: it has it from now on. None when it is thought lost, or nothing waits.
  std::optional<std::size_t> hand_to(std::size_t rank);

  /// What came of a piece has come; true when it is the first time.
  bool take(std::size_t rank, std::size_t piece);

  /// The rank was heard of. True when it had been thought lost.
  bool heard(std::size_t rank, Time now);

  /// Ranks that were not heard of for `patience` from now on count as lost: what they have is done again. Returns those that are new.
  std::vector<std::size_t> look_for_lost(Time now, std::chrono::milliseconds patience);

  /// The rank says itself that it cannot take part.
  void lose(std::size_t rank);

  [[nodiscard]] std::size_t has(std::size_t rank) const { return ranks_[rank].pieces.size(); }
  [[nodiscard]] bool is_lost(std::size_t rank) const { return ranks_[rank].lost; }
  [[nodiscard]] std::size_t lost() const;
  [[nodiscard]] bool is_done() const { return left_ == 0; }
  [[nodiscard]] std::size_t left() const { return left_; }

 private:
  struct Rank {
    std::set<std::size_t> pieces;
    std::optional<Time> heard_at;
    bool lost = false;
  };

  std::vector<Rank> ranks_;
  std::vector<bool> taken_;
  std::set<std::size_t> waiting_;
  std::size_t left_ = 0;
};

}  // namespace drybus::tools
