#include "tools/cluster/ledger.h"

#include <algorithm>

namespace drybus::tools {

void Ledger::begin(std::size_t pieces) {
  taken_.assign(pieces, false);
  left_ = pieces;
  waiting_.clear();
  for (std::size_t i = 0; i < pieces; ++i) waiting_.insert(waiting_.end(), i);
  for (Rank& rank : ranks_) {
    rank.pieces.clear();
    rank.heard_at.reset();  // nobody listened since the last pile
  }
}

std::optional<std::size_t> Ledger::hand_to(std::size_t rank) {
  if (waiting_.empty() || ranks_[rank].lost) return std::nullopt;
  const std::size_t piece = *waiting_.begin();
  waiting_.erase(waiting_.begin());
  ranks_[rank].pieces.insert(piece);
  return piece;
}

bool Ledger::take(std::size_t rank, std::size_t piece) {
  if (piece >= taken_.size()) return false;
  ranks_[rank].pieces.erase(piece);
  waiting_.erase(piece);
  if (taken_[piece]) return false;
  taken_[piece] = true;
  --left_;
  return true;
}

bool Ledger::heard(std::size_t rank, Time now) {
  ranks_[rank].heard_at = now;
  const bool was_lost = ranks_[rank].lost;
  ranks_[rank].lost = false;
  return was_lost;
}

std::vector<std::size_t> Ledger::look_for_lost(Time now, std::chrono::milliseconds patience) {
  std::vector<std::size_t> found;
  for (std::size_t i = 1; i < ranks_.size(); ++i) {
    Rank& rank = ranks_[i];
    if (rank.lost) continue;
    if (!rank.heard_at) rank.heard_at = now;  // all have the same time from the beginning on
    if (now - *rank.heard_at < patience) continue;
    lose(i);
    found.push_back(i);
  }
  return found;
}

void Ledger::lose(std::size_t rank) {
  ranks_[rank].lost = true;
  for (const std::size_t piece : ranks_[rank].pieces) {
    if (!taken_[piece]) waiting_.insert(piece);
  }
  ranks_[rank].pieces.clear();
}

std::size_t Ledger::lost() const {
  return static_cast<std::size_t>(
      std::count_if(ranks_.begin(), ranks_.end(), [](const Rank& rank) { return rank.lost; }));
}

}  // namespace drybus::tools
