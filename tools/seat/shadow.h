// What of a thread's registers and memory grows from turn to turn of a main loop, while one turn is gone through instruction by
// instruction.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "tools/seat/growing.h"

namespace drybus::tools {

/// The general registers by their numbers in instructions: RAX, RCX, RDX, RBX, RSP, RBP, RSI, RDI, R8 ... R15.
inline constexpr std::size_t register_count = 16;
using Registers = std::array<std::uint64_t, register_count>;

/// What grows in registers. What does not grow is not told here.
class GrowingRegisters {
 public:
  void clear() { all_ = {}; }
  [[nodiscard]] bool stays(std::size_t number) const { return all_[number].slope == 0; }
  /// The low `bits` of a register. The turns are those in which it grows so.
  [[nodiscard]] Growing read(const Registers& now, std::size_t number, unsigned bits,
                             TurnsAlike& turns) const;
  /// The low `bits` are written, and as the processor does with 32 the rest is cleared. `x.bits` may be fewer: then the rest of
  /// what is written stays as it is.
  void write(const Registers& now, std::size_t number, unsigned bits, const Growing& x, TurnsAlike& turns);

 private:
  struct Kept {
    std::int64_t slope = 0;
    unsigned bits = 64;  ///< what is above them stays
  };
  std::array<Kept, register_count> all_{};
};

/// What grows in memory.
class GrowingMemory {
 public:
  void clear() { count_ = 0; }
  /// False: more grows than there is room for.
  [[nodiscard]] bool fits() const { return count_ <= cells_.size(); }
  [[nodiscard]] bool stays(std::uintptr_t at, std::size_t bytes) const;
  /// 1 to 8 bytes.
  [[nodiscard]] Growing read(std::uintptr_t at, std::size_t bytes, TurnsAlike& turns) const;
  /// 1 to 8 bytes are going to be written, with `x`. REQUIRES: they have not been.
  void write(std::uintptr_t at, std::size_t bytes, const Growing& x, TurnsAlike& turns);
  /// Any number of bytes are going to be written that stay as they are.
  void settle(std::uintptr_t at, std::size_t bytes, TurnsAlike& turns);
  /// As far as it lies there, what grows in whole words of 4 bytes: calls visit(address, slope).
  template <class Visit>
  void each_word(std::uintptr_t begin, std::uintptr_t end, TurnsAlike& turns, Visit visit) const {
    for (std::size_t i = 0; i < count_ && fits(); ++i) {
      for (std::uintptr_t at = cells_[i].at & ~std::uintptr_t{3}; at < cells_[i].at + cells_[i].bytes;
           at += 4) {
        if (at >= begin && at + 4 <= end) visit(at, read(at, 4, turns).slope);
      }
    }
  }

 private:
  struct Cell {
    std::uintptr_t at = 0;
    std::size_t bytes = 0;
    std::int64_t slope = 0;
  };
  void add(const Cell& cell);

  static constexpr std::size_t most_cells = 64;
  std::array<Cell, most_cells> cells_{};
  std::size_t count_ = 0;
};

/// What the last instruction that set them said in the flags.
struct GrowingFlags {
  enum class Kind : std::uint8_t {
    constant,    ///< they stay as they are
    comparison,  ///< of a and b, by taking b away from a
    logic,       ///< of the result: no carry, no overflow
    result,      ///< of the result; carry and overflow are not known
    unknown
  };
  Kind kind = Kind::constant;
  Growing a, b, result;

  /// The conditions of jumps, by their numbers in instructions without the last bit, which turns them round.
  enum class Condition : std::uint8_t {
    overflow,
    below,
    zero,
    below_or_same,
    sign,
    parity,
    less,
    less_or_same
  };
  /// Turns are those in which a condition is what it is now. False: nobody knows.
  [[nodiscard]] bool keeps(Condition condition, TurnsAlike& turns) const;
};

}  // namespace drybus::tools
