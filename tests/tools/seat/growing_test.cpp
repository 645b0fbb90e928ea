// Numbers that grow from turn to turn: for as many turns as is said, every statement is true, against going through the turns.
#include "tools/seat/growing.h"

#include <doctest/doctest.h>

#include <array>
#include <cstring>
#include <functional>

#include "tools/seat/shadow.h"

namespace {

using namespace drybus::tools;

constexpr std::uint64_t many = 1'000;

std::uint64_t in_turn(const Growing& x, std::uint64_t turn) {
  return low_bits(x.value + turn * x.steps(), x.bits);
}

/// The first turn in which something is not as in the first of all; `many` when it always is.
template <class Statement>
std::uint64_t first_other(const Growing& x, Statement of) {
  for (std::uint64_t turn = 1; turn < many; ++turn) {
    if (of(in_turn(x, turn)) != of(x.value)) return turn;
  }
  return many;
}

void each_number(const std::function<void(const Growing&)>& visit) {
  for (const unsigned bits : {3u, 5u}) {
    for (std::uint64_t value = 0; value < std::uint64_t{1} << bits; ++value) {
      for (std::uint64_t slope = 0; slope < std::uint64_t{1} << bits; ++slope) visit({value, slope, bits});
    }
  }
}

/// Exactly so many turns where nothing wraps first; else no more than is true.
void check_count(const TurnsAlike& turns, std::uint64_t truly, bool exactly) {
  CHECK(turns.count() <= (truly == many ? std::numeric_limits<std::uint64_t>::max() : truly));
  if (exactly) CHECK(std::min(turns.count(), many) == truly);
}

}  // namespace

TEST_SUITE("growing numbers") {
  TEST_CASE("what is said of one number is true for as many turns as is said") {
    each_number([](const Growing& x) {
      TurnsAlike zero, sign, above, whole;
      zero.stays_zero_or_not(x);
      check_count(zero, first_other(x, [](std::uint64_t value) { return value == 0; }), false);
      sign.keeps_sign(x);
      check_count(sign, first_other(x, [&](std::uint64_t value) { return value >> (x.bits - 1); }), true);
      above.keeps_bits_from(x, 2);
      check_count(above, first_other(x, [](std::uint64_t value) { return value >> 2; }), true);
      whole.stays_unsigned(x);
      for (std::uint64_t turn = 0; turn < std::min(whole.count(), many); ++turn)
        CHECK(in_turn(x, turn) == x.value + turn * x.steps());
    });
  }

  TEST_CASE("what is said of two numbers is true, with signs and without") {
    using Condition = GrowingFlags::Condition;
    for (const std::uint64_t other : {0u, 3u, 7u, 12u, 15u}) {
      for (const std::uint64_t other_slope : {0u, 1u, 15u}) {
        for (std::uint64_t value = 0; value < 16; ++value) {
          for (std::uint64_t slope = 0; slope < 16; ++slope) {
            GrowingFlags flags;
            flags.kind = GrowingFlags::Kind::comparison;
            flags.a = {value, slope, 4};
            flags.b = {other, other_slope, 4};
            flags.result = {value - other, slope - other_slope, 4};
            const auto truly = [&](const std::function<bool(std::uint64_t, std::uint64_t)>& holds) {
              for (std::uint64_t turn = 1; turn < many; ++turn) {
                if (holds(in_turn(flags.a, turn), in_turn(flags.b, turn)) != holds(value, other)) return turn;
              }
              return many;
            };
            const auto check = [&](Condition condition,
                                   const std::function<bool(std::uint64_t, std::uint64_t)>& holds) {
              TurnsAlike turns;
              CHECK(flags.keeps(condition, turns));
              check_count(turns, truly(holds), false);
              CHECK(turns.count() >= 1);
            };
            check(Condition::below, [](std::uint64_t a, std::uint64_t b) { return a < b; });
            check(Condition::below_or_same, [](std::uint64_t a, std::uint64_t b) { return a <= b; });
            check(Condition::zero, [](std::uint64_t a, std::uint64_t b) { return a == b; });
            check(Condition::less,
                  [](std::uint64_t a, std::uint64_t b) { return with_sign(a, 4) < with_sign(b, 4); });
            check(Condition::less_or_same,
                  [](std::uint64_t a, std::uint64_t b) { return with_sign(a, 4) <= with_sign(b, 4); });
          }
        }
      }
    }
  }

  TEST_CASE("parts of what grows in memory grow as they do, for as many turns as is said") {
    alignas(8) std::array<unsigned char, 8> bytes{};
    const auto at = reinterpret_cast<std::uintptr_t>(bytes.data());
    for (const std::uint32_t begin : {0u, 250u, 0xfffeu, 0x00ff00ffu, 0xfffffff0u}) {
      for (const std::uint32_t by : {1u, 0xffffffffu, 0x100u, 0x10001u, 10u, 0x10000u}) {
        for (std::size_t from = 0; from < 4; ++from) {
          for (std::size_t size = 1; from + size <= 8; ++size) {
            const auto value_in = [&](std::uint64_t turn) {
              std::uint64_t all = 0x1122334400000000u | static_cast<std::uint32_t>(begin + by * turn);
              return low_bits(all >> 8 * from, static_cast<unsigned>(8 * size));
            };
            const std::uint64_t whole = 0x1122334400000000u | begin;
            std::memcpy(bytes.data(), &whole, sizeof whole);
            TurnsAlike turns;
            GrowingMemory memory;
            memory.write(at, 4, {begin, by, 32}, turns);
            const Growing part = memory.read(at + from, size, turns);
            CAPTURE(begin);
            CAPTURE(by);
            CAPTURE(from);
            CAPTURE(size);
            bool grows_so = true;
            for (std::uint64_t turn = 0; turn < std::min(turns.count(), many); ++turn)
              grows_so = grows_so && in_turn(part, turn) == value_in(turn);
            CHECK(grows_so);
          }
        }
      }
    }
  }
}
