// Turns of a main loop that are gone through ahead of their time, or looked into.
#include <cstring>
#include <vector>

#include "tools/seat/arena.h"
#include "tools/seat/black_box.h"
#include "tools/seat/foresight.h"
#include "tools/seat/gate.h"
#include "tools/seat/guard.h"
#include "tools/seat/guarded_thread.h"
#include "tools/seat/printed.h"

namespace drybus::tools {

std::uint64_t GuardedCaller::go_ahead(const model::FirmwareCall& call, std::span<std::byte> state,
                                      const model::TurnCounters& counters, std::uint64_t most,
                                      const std::function<bool()>& goes_on) {
  note_call(call, library_);
  printing_for(call.device);
  const std::uint64_t quiet = own_variables_
                                  ? go_ahead_with_own_variables(call, state, counters, most, goes_on)
                                  : go_ahead_in_arena(call, state, counters, most, goes_on);
  printing_for(nullptr);
  note_over();
  return quiet;
}

std::uint64_t GuardedCaller::foresee(const model::FirmwareCall& call, std::span<std::byte> state,
                                     const model::TurnCounters& counters, sim::Duration period,
                                     const std::function<bool()>& goes_on) {
  // What compilers count, and a debugger's own stops, are in the way.
  static const bool is_watched = is_being_traced();
  const std::uint64_t round = model::common_round(counters);
  if (instrumented_ || is_watched || round == 0) return 0;
  note_call(call, library_);
  printing_for(call.device);
  const std::uint64_t rounds = own_variables_
                                   ? foresee_with_own_variables(call, state, counters, period, goes_on)
                                   : foresee_in_arena(call, state, counters, period, goes_on);
  forget_foresight();
  printing_for(nullptr);
  note_over();
  constexpr std::uint64_t most = std::uint64_t{1} << 62;
  return rounds > most / round ? most : rounds * round;
}

namespace {

/// What grows from round to round. What begins again is the same after one.
template <class PlaceOf>
std::vector<GrowingWord> growing_words(const model::TurnCounters& counters, PlaceOf place_of) {
  const std::uint64_t round = model::common_round(counters);
  std::vector<GrowingWord> words;
  for (const model::TurnCounter& each : counters) {
    if (each.by != 0 && each.round == 0)
      words.push_back(
          {reinterpret_cast<std::uintptr_t>(place_of(each.at)), static_cast<std::uint32_t>(each.by * round)});
  }
  return words;
}

}  // namespace

std::uint64_t GuardedCaller::foresee_in_arena(const model::FirmwareCall& call, std::span<std::byte> state,
                                              const model::TurnCounters& counters, sim::Duration period,
                                              const std::function<bool()>& goes_on) {
  Arena& arena = thread_guard().arena(state.size());
  std::byte* copy = arena.state();
  arena.take(state.data());
  std::vector<std::byte> expected{state.begin(), state.end()};
  const std::vector<GrowingWord> words = growing_words(counters, [&](std::uint32_t at) { return copy + at; });
  const std::array variables = {std::span{copy, state.size()}};
  std::uint64_t rounds = 0;
  const bool good = come_back_from([&] {
    rounds = tools::foresee({call, copy, words, variables, period, model::common_round(counters), [&] {
                               model::count(counters, 1, expected);
                               return std::memcmp(copy, expected.data(), expected.size()) == 0 &&
                                      arena.harm() == nullptr && goes_on();
                             }});
  });
  arena.restore_canaries();
  return good ? rounds : 0;
}

std::uint64_t GuardedCaller::foresee_with_own_variables(const model::FirmwareCall& call,
                                                        std::span<std::byte> state,
                                                        const model::TurnCounters& counters,
                                                        sim::Duration period,
                                                        const std::function<bool()>& goes_on) {
  const std::lock_guard lock{one_at_a_time_};
  thread_guard();
  variables_.put(state, call.handed());
  std::vector<std::byte> expected;
  variables_.take_raw(expected);
  const std::vector<GrowingWord> words =
      growing_words(counters, [&](std::uint32_t at) { return variables_.place_of(at); });
  std::uint64_t rounds = 0;
  const bool good = come_back_from([&] {
    rounds = tools::foresee(
        {call, nullptr, words, variables_.ranges(), period, model::common_round(counters), [&] {
           model::count(counters, 1, expected);
           return variables_.equal_raw(expected) && goes_on();
         }});
  });
  return good ? rounds : 0;
}

std::uint64_t GuardedCaller::go_ahead_in_arena(const model::FirmwareCall& call, std::span<std::byte> state,
                                               const model::TurnCounters& counters, std::uint64_t most,
                                               const std::function<bool()>& goes_on) {
  Arena& arena = thread_guard().arena(state.size());
  std::byte* copy = arena.state();
  arena.take(state.data());
  std::vector<std::byte> expected{state.begin(), state.end()};
  std::uint64_t done = 0;
  come_back_from([&] {
    for (; done < most; ++done) {
      way.calls = way.calls + 1;
      call.make(copy);
      model::count(counters, 1, expected);
      if (std::memcmp(copy, expected.data(), expected.size()) != 0 || arena.harm() != nullptr || !goes_on())
        return;
    }
  });
  arena.restore_canaries();
  return done;
}

std::uint64_t GuardedCaller::go_ahead_with_own_variables(const model::FirmwareCall& call,
                                                         std::span<std::byte> state,
                                                         const model::TurnCounters& counters,
                                                         std::uint64_t most,
                                                         const std::function<bool()>& goes_on) {
  const std::lock_guard lock{one_at_a_time_};
  thread_guard();
  variables_.put(state, call.handed());
  std::vector<std::byte> expected;
  variables_.take_raw(expected);
  std::uint64_t done = 0;
  come_back_from([&] {
    for (; done < most; ++done) {
      way.calls = way.calls + 1;
      call.make(nullptr);
      model::count(counters, 1, expected);
      if (!variables_.equal_raw(expected) || !goes_on()) return;
    }
  });
  return done;
}

}  // namespace drybus::tools
