#include "tools/seat/shadow.h"

#include <algorithm>
#include <cstring>

namespace drybus::tools {

namespace {

constexpr unsigned byte_bits = 8;

/// NOLINTBEGIN(performance-no-int-to-ptr): addresses are numbers in instructions
std::uint64_t bytes_at(std::uintptr_t at, std::size_t bytes) {
  std::uint64_t value = 0;
  std::memcpy(&value, reinterpret_cast<const void*>(at), bytes);
  return value;
}
/// NOLINTEND(performance-no-int-to-ptr)

/// `x` without its low bits. The turns are those in which nothing is carried out of these.
Growing above(const Growing& x, unsigned bit, TurnsAlike& turns) {
  const Growing low = x.low(bit);
  turns.stays_unsigned(low);
  return {x.value >> bit, static_cast<std::uint64_t>((x.slope - low.slope) >> bit), x.bits - bit};
}

}  // namespace

// --- registers ---

Growing GrowingRegisters::read(const Registers& now, std::size_t number, unsigned bits,
                               TurnsAlike& turns) const {
  const Kept& kept = all_[number];
  const auto slope = static_cast<std::uint64_t>(kept.slope);
  if (kept.slope != 0 && bits > kept.bits) turns.stays_unsigned({now[number], slope, kept.bits});
  return {now[number], slope, bits};
}

void GrowingRegisters::write(const Registers& now, std::size_t number, unsigned bits, const Growing& x,
                             TurnsAlike& turns) {
  Kept& kept = all_[number];
  // What lies above stays, if nothing was carried into it.
  if (bits < 32 && kept.slope != 0 && kept.bits > bits &&
      !above({now[number], static_cast<std::uint64_t>(kept.slope), kept.bits}, bits, turns).stays())
    turns.at_most(0);
  kept = {x.slope, x.slope == 0 ? 64u : std::min(bits, x.bits)};
}

// --- memory ---

bool GrowingMemory::stays(std::uintptr_t at, std::size_t bytes) const {
  return std::none_of(cells_.begin(),
                      cells_.begin() + static_cast<std::ptrdiff_t>(std::min(count_, most_cells)),
                      [&](const Cell& cell) { return cell.at < at + bytes && at < cell.at + cell.bytes; });
}

Growing GrowingMemory::read(std::uintptr_t at, std::size_t bytes, TurnsAlike& turns) const {
  std::uint64_t slope = 0;
  for (std::size_t i = 0; i < std::min(count_, most_cells); ++i) {
    const Cell& cell = cells_[i];
    if (cell.at >= at + bytes || at >= cell.at + cell.bytes) continue;
    Growing part{bytes_at(cell.at, cell.bytes), static_cast<std::uint64_t>(cell.slope),
                 static_cast<unsigned>(cell.bytes) * byte_bits};
    if (cell.at < at) part = above(part, static_cast<unsigned>(at - cell.at) * byte_bits, turns);
    const std::size_t from = cell.at < at ? 0 : cell.at - at;
    // What it would carry is not carried on to what lies behind it.
    if (cell.at + cell.bytes < at + bytes) turns.stays_unsigned(part);
    slope += part.steps() << from * byte_bits;
  }
  return {bytes_at(at, bytes), slope, static_cast<unsigned>(bytes) * byte_bits};
}

void GrowingMemory::add(const Cell& cell) {
  if (count_ < cells_.size()) cells_[count_] = cell;
  ++count_;
}

void GrowingMemory::settle(std::uintptr_t at, std::size_t bytes, TurnsAlike& turns) {
  if (!fits()) return;
  for (std::size_t i = count_; i-- > 0;) {
    const Cell cell = cells_[i];
    if (cell.at >= at + bytes || at >= cell.at + cell.bytes) continue;
    cells_[i] = cells_[--count_];
    if (cell.at < at) {
      // Of what is cut off nothing more is told but its remainder.
      add({cell.at, at - cell.at,
           with_sign(static_cast<std::uint64_t>(cell.slope),
                     static_cast<unsigned>(at - cell.at) * byte_bits)});
    }
    if (cell.at + cell.bytes > at + bytes) {
      const Growing whole{bytes_at(cell.at, cell.bytes), static_cast<std::uint64_t>(cell.slope),
                          static_cast<unsigned>(cell.bytes) * byte_bits};
      const Growing rest = above(whole, static_cast<unsigned>(at + bytes - cell.at) * byte_bits, turns);
      if (!rest.stays()) add({at + bytes, cell.at + cell.bytes - at - bytes, rest.slope});
    }
  }
}

void GrowingMemory::write(std::uintptr_t at, std::size_t bytes, const Growing& x, TurnsAlike& turns) {
  settle(at, bytes, turns);
  if (!x.stays()) add({at, bytes, x.slope});
}

// --- flags ---

bool GrowingFlags::keeps(Condition condition, TurnsAlike& turns) const {
  if (kind == Kind::constant) return true;
  if (kind == Kind::unknown) return false;
  switch (condition) {
    case Condition::zero:
      turns.stays_zero_or_not(result);
      return true;
    case Condition::sign:
      turns.keeps_sign(result);
      return true;
    case Condition::below:
    case Condition::below_or_same:
      if (kind == Kind::result) return false;
      if (kind == Kind::logic) {
        if (condition == Condition::below_or_same) turns.stays_zero_or_not(result);
        return true;
      }
      turns.stays_unsigned(a);
      turns.stays_unsigned(b);
      turns.keeps_order(Wide{a.value} - Wide{b.value} - (condition == Condition::below_or_same ? 1 : 0),
                        Wide{a.slope} - Wide{b.slope});
      return true;
    case Condition::less:
    case Condition::less_or_same:
      if (kind == Kind::result) return false;
      if (kind == Kind::logic) {
        turns.keeps_sign(result);
        if (condition == Condition::less_or_same) turns.stays_zero_or_not(result);
        return true;
      }
      turns.stays_signed(a);
      turns.stays_signed(b);
      turns.keeps_order(Wide{with_sign(a.value, a.bits)} - Wide{with_sign(b.value, b.bits)} -
                            (condition == Condition::less_or_same ? 1 : 0),
                        Wide{a.slope} - Wide{b.slope});
      return true;
    case Condition::overflow:
    case Condition::parity:
      return false;
  }
  return false;
}

}  // namespace drybus::tools
