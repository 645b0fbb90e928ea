// Explores the abstract addressing protocol and prints what agreement.py holds against Spin's answer:
//
//   explore_addressing ours|plain unsound|shared|installed PLATES MODULES CHANNELS LOSSES
//
// `plain` is the search that anybody would write first: a std::unordered_set of packed states and a queue.
#include <fmt/format.h>
#include <sys/resource.h>

#include <bit>
#include <charconv>
#include <cstdint>
#include <ctime>
#include <deque>
#include <string_view>
#include <unordered_set>

#include "sim/explore.h"
#include "tests/spin/addressing.h"

namespace {

using namespace drybus;
using tests::Addressing;
using tests::AddressingSize;
using tests::AddressingState;

struct Counted {
  std::uint64_t states = 0;
  std::uint64_t transitions = 0;
  std::size_t steps = 0;  ///< of the way to what must never come about; 0: it does not
};

Counted ours(Addressing model) {
  sim::Explorer<Addressing, sim::StateSet<sizeof(AddressingState)>> explorer{std::span{&model, 1}, {}};
  const sim::SearchResult result = explorer.run();
  return {result.progress.states, result.progress.transitions, result.actions.size()};
}

/// Eight bytes, for the hash of the standard library: nine would not fit, so that it takes four modules at most.
std::uint64_t packed(const AddressingState& state) {
  return state.plates[0] | std::uint64_t{state.plates[1]} << 8 | std::uint64_t{state.modules[0]} << 16 |
         std::uint64_t{state.modules[1]} << 24 | std::uint64_t{state.modules[2]} << 32 |
         std::uint64_t{state.modules[3]} << 40 | std::uint64_t{state.offer} << 48 |
         std::uint64_t{state.to_hear} << 56;
}

Counted plain(const Addressing& model) {
  struct Waiting {
    AddressingState state;
    std::uint32_t depth;
  };
  std::unordered_set<std::uint64_t> met;
  std::deque<Waiting> queue(1);
  met.insert(packed(queue.front().state));
  Counted counted;
  while (!queue.empty() && counted.steps == 0) {
    const Waiting from = queue.front();
    queue.pop_front();
    model.expand(from.state, [&](sim::Action, const AddressingState& next, bool broken) {
      if (counted.steps != 0) return;
      ++counted.transitions;
      if (broken) counted.steps = from.depth + 1;
      if (!broken && met.insert(packed(next)).second) queue.push_back({next, from.depth + 1});
    });
  }
  counted.states = met.size();
  return counted;
}

double cpu_seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

/// The most memory that the process ever had.
std::uint64_t peak_bytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<std::uint64_t>(usage.ru_maxrss) * 1024;
}

unsigned number(const char* text) {
  unsigned value = 0;
  const std::string_view all{text};
  std::from_chars(all.data(), all.data() + all.size(), value);
  return value;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 7) {
    fmt::print(
        stderr,
        "usage: explore_addressing ours|plain unsound|shared|installed PLATES MODULES CHANNELS LOSSES\n");
    return 2;
  }
  const std::string_view what{argv[2]};
  const auto never = what == "shared"      ? Addressing::Never::shared
                     : what == "installed" ? Addressing::Never::installed
                                           : Addressing::Never::unsound;
  const AddressingSize size{number(argv[3]), number(argv[4]), number(argv[5]), number(argv[6])};
  const std::uint64_t before = peak_bytes();
  const Addressing model{size, never};
  const Counted counted = std::string_view{argv[1]} == "ours" ? ours(model) : plain(model);
  fmt::print("states {}\ntransitions {}\nsteps {}\ncpu_s {:.3f}\nbytes {}\n", counted.states,
             counted.transitions, counted.steps, cpu_seconds(), peak_bytes() - before);
  return 0;
}
