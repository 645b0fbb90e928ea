// A state with its list of fields; MISTAKE chooses what is wrong with the list. Compiled by fields_test.py.
#include "sim/fields.h"

namespace {

using namespace drybus::sim;

struct State {
  std::uint8_t mode = 0;
  std::uint8_t level = 0;
  std::uint16_t left = 0;
  friend bool operator==(const State&, const State&) = default;

  static constexpr auto fields() {
#if MISTAKE == 0
    return std::tuple{field(&State::mode, in_state), field(&State::level, in_state),
                      field(&State::left, in_nothing)};
#elif MISTAKE == 1  // one is forgotten
    return std::tuple{field(&State::mode, in_state), field(&State::level, in_state)};
#elif MISTAKE == 2  // one stands twice, another not at all
    return std::tuple{field(&State::mode, in_state), field(&State::mode, in_state),
                      field(&State::left, in_nothing)};
#elif MISTAKE == 3  // nothing is decided about one
    return std::tuple{field(&State::mode, in_state), field(&State::level), field(&State::left, in_nothing)};
#endif
  }
};

}  // namespace

int main() {
  std::uint64_t sum = 0;
  pack_words<in_digest>(State{1, 2, 3}, [&](std::uint64_t word) { sum += word; });
  return sum == 0x0201 ? 0 : 1;
}
