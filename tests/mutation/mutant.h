// What tools/mutate-sim puts into the sources: every mutant is compiled in, and a number chosen at the start says which
// one is awake (mutant schemata; Untch, Offutt and Harrold, ISSTA 1993). What the compiler works out is never mutated.
#pragma once

#include <atomic>
#include <cstdint>
#include <type_traits>

namespace mutant {

inline constexpr unsigned most = 16'384;
/// The mutant that is awake; 0: none.
inline unsigned awake = 0;
/// Which of them execution has come to.
inline std::atomic<std::uint8_t> reached[most];

inline bool look(unsigned number) {
  reached[number].store(1, std::memory_order_relaxed);
  return awake == number;
}

/// Whether this mutant is awake.
constexpr bool on(unsigned number) {
  if (std::is_constant_evaluated()) return false;
  return look(number);
}

// Binary operators. The first mutant of a comparison shifts its boundary, the second turns it round.
#define MUTANT_BINARY_1(name, right, wrong)                      \
  template <class A, class B>                                    \
  constexpr auto name(unsigned number, const A& a, const B& b) { \
    return on(number) ? a wrong b : a right b;                   \
  }
#define MUTANT_BINARY_2(name, right, wrong_1, wrong_2)           \
  template <class A, class B>                                    \
  constexpr bool name(unsigned number, const A& a, const B& b) { \
    if (on(number)) return a wrong_1 b;                          \
    if (on(number + 1)) return a wrong_2 b;                      \
    return a right b;                                            \
  }
MUTANT_BINARY_2(less, <, <=, >=)
MUTANT_BINARY_2(at_most, <=, <, >)
MUTANT_BINARY_2(more, >, >=, <=)
MUTANT_BINARY_2(at_least, >=, >, <)
MUTANT_BINARY_1(equal, ==, !=)
MUTANT_BINARY_1(unequal, !=, ==)
MUTANT_BINARY_1(plus, +, -)
MUTANT_BINARY_1(minus, -, +)
MUTANT_BINARY_1(times, *, /)
MUTANT_BINARY_1(divided_by, /, *)
MUTANT_BINARY_1(modulo, %, *)
MUTANT_BINARY_1(bit_and, &, |)
MUTANT_BINARY_1(bit_or, |, &)
MUTANT_BINARY_1(bit_xor, ^, &)
MUTANT_BINARY_1(left_by, <<, >>)
MUTANT_BINARY_1(right_by, >>, <<)
#undef MUTANT_BINARY_1
#undef MUTANT_BINARY_2

#define MUTANT_ASSIGN(name, right, wrong)                \
  template <class A, class B>                            \
  constexpr A& name(unsigned number, A& a, const B& b) { \
    if (on(number)) {                                    \
      a wrong b;                                         \
    } else {                                             \
      a right b;                                         \
    }                                                    \
    return a;                                            \
  }
MUTANT_ASSIGN(add_to, +=, -=)
MUTANT_ASSIGN(take_from, -=, +=)
MUTANT_ASSIGN(set_bits, |=, &=)
MUTANT_ASSIGN(keep_bits, &=, |=)
MUTANT_ASSIGN(flip_bits, ^=, |=)
MUTANT_ASSIGN(shift_left, <<=, >>=)
MUTANT_ASSIGN(shift_right, >>=, <<=)
#undef MUTANT_ASSIGN

/// A whole number, one more or one less.
template <class T>
constexpr T number(unsigned mutant_number, T value) {
  if (on(mutant_number)) return static_cast<T>(value + 1);
  if (on(mutant_number + 1)) return static_cast<T>(value - 1);
  return value;
}

}  // namespace mutant
