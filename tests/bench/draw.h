// A stream of draws with what people say of chances, for whatever makes up calls.
#pragma once

#include <chrono>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "sim/random.h"
#include "sim/time.h"

namespace drybus::bench {

class Draw {
 public:
  Draw(std::uint64_t seed, std::uint32_t attempt) : stream_{seed, sim::Purpose::generator, attempt, 0} {}
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(stream_.below(n)); }
  std::size_t between(std::size_t least, std::size_t most) { return least + below(most - least + 1); }
  bool percent(unsigned parts) { return stream_.below(100) < parts; }
  bool one_in(std::uint64_t n) { return stream_.below(n) == 0; }
  double uniform() { return stream_.uniform(); }
  double around_one(double sigma) { return stream_.lognormal(1.0, sigma); }
  std::uint64_t word() { return stream_.next(); }
  template <class T>
  const T& of(const std::vector<T>& all) {
    return all[below(all.size())];
  }
  template <class T>
  void shuffle(std::vector<T>& all) {
    for (std::size_t i = all.size(); i > 1; --i) std::swap(all[i - 1], all[below(i)]);
  }

 private:
  sim::Stream stream_;
};

/// To the millisecond.
inline sim::Duration scaled(sim::Duration duration, double factor) {
  return std::chrono::milliseconds{std::llround(static_cast<double>(duration.count()) * factor / 1e6)};
}

}  // namespace drybus::bench
