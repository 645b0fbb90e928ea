// Small jobs of the engine, each of a fixed length, for tools/instruction-budget to count the instructions of.
//   instruction_jobs fork | hash | hold
#include <fmt/format.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string_view>

#include "sim/event_queue.h"
#include "sim/random.h"
#include "tests/support/busy_site.h"

namespace {

using namespace drybus;

std::uint64_t fork_worlds() {
  const tests::BusySite busy;
  model::World fork;
  std::uint64_t pending = 0;
  for (int i = 0; i < 20'000; ++i) {
    fork = busy.world;
    pending += fork.queue.size();
  }
  return pending;
}

std::uint64_t hash_worlds() {
  const tests::BusySite busy;
  std::uint64_t sum = 0;
  for (int i = 0; i < 20'000; ++i) sum += model::hash_of(busy.world);
  return sum;
}

/// The hold model (Jones, CACM 29(4), 1986) with 10^4 pending events.
std::uint64_t hold_events() {
  constexpr std::uint32_t pending = 10'000;
  constexpr int holds = 100'000;
  constexpr std::uint64_t mean_ns = 100'000'000;
  sim::Stream draws{1986, sim::Purpose::generator};
  // Uniform, not exponential: nothing but the queue is to be counted, and a logarithm is another library's.
  const auto increment = [&] { return sim::Duration{static_cast<std::int64_t>(draws.below(2 * mean_ns))}; };
  sim::EventQueue queue;
  for (std::uint32_t i = 0; i < pending; ++i) {
    queue.push(sim::start_of_run + increment(), {.kind = 1, .cause = i});
  }
  std::uint64_t sum = 0;
  for (int i = 0; i < holds; ++i) {
    const sim::EventQueue::Fired fired = queue.pop();
    sum += fired.event.cause;
    queue.push(fired.at + increment(), fired.event);
  }
  return sum;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string_view job = argc == 2 ? argv[1] : "";
  std::uint64_t result = 0;
  if (job == "fork") {
    result = fork_worlds();
  } else if (job == "hash") {
    result = hash_worlds();
  } else if (job == "hold") {
    result = hold_events();
  } else {
    fmt::print(stderr, "usage: instruction_jobs fork | hash | hold\n");
    return 2;
  }
  fmt::print("{}\n", result);
}
