// The record of a run: what happened, in order, each entry naming the entry that caused it.
//
// The record is kept beside the world, not in it: a run that nobody watches keeps none and pays nothing.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "sim/digest.h"
#include "sim/time.h"

namespace drybus::sim {

/// Names an entry of a record by its place, counted from 1; 0 is "no entry".
using EntryId = std::uint32_t;
inline constexpr EntryId no_entry = 0;

/// One thing that happened. The meaning of `kind`, `who`, `a` and `b` is the owner's.
struct Entry {
  Instant at{};
  EntryId cause = no_entry;    ///< what set it off
  EntryId because = no_entry;  ///< the entry that made it turn out this way (say, why a mode was as it was)
  std::uint16_t kind = 0;
  std::uint32_t who = 0;
  std::uint32_t a = 0;
  std::uint64_t b = 0;
  friend bool operator==(const Entry&, const Entry&) = default;
};

/// Invariants: times never fall; every cause is an earlier entry.
class Record {
 public:
  EntryId add(const Entry& entry) {
    entries_.push_back(entry);
    return static_cast<EntryId>(entries_.size());
  }
  /// REQUIRES: 1 <= id <= size().
  [[nodiscard]] const Entry& operator[](EntryId id) const { return entries_[id - 1]; }
  [[nodiscard]] std::size_t size() const { return entries_.size(); }
  [[nodiscard]] std::span<const Entry> entries() const { return entries_; }
  void clear() { entries_.clear(); }

  /// Adds every entry, field by field.
  void add_to(Digest& digest) const {
    for (const Entry& entry : entries_) {
      digest.add(static_cast<std::uint64_t>(entry.at.time_since_epoch().count()));
      digest.add(entry.cause | (static_cast<std::uint64_t>(entry.because) << 32));
      digest.add(entry.kind | digest.narrow(entry.who, 16) | (static_cast<std::uint64_t>(entry.a) << 32));
      digest.add(entry.b);
    }
  }

  friend bool operator==(const Record&, const Record&) = default;

 private:
  std::vector<Entry> entries_;
};

}  // namespace drybus::sim
