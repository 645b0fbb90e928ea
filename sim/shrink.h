// Delta debugging: the smallest part of something that still fails, and how far a number can go before it no
// longer does.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <span>
#include <vector>

namespace drybus::sim {

/// What `fails` is asked about: indices of parts, ascending.
using Parts = std::vector<std::size_t>;

namespace shrink_detail {

/// Part `which` of `of` nearly equal chunks of `all`.
inline std::span<const std::size_t> chunk(const Parts& all, std::size_t which, std::size_t of) {
  const std::size_t begin = all.size() * which / of;
  const std::size_t end = all.size() * (which + 1) / of;
  return std::span{all}.subspan(begin, end - begin);
}

inline Parts without(const Parts& all, std::size_t which, std::size_t of) {
  const std::size_t begin = all.size() * which / of;
  const std::size_t end = all.size() * (which + 1) / of;
  Parts rest(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(begin));
  rest.insert(rest.end(), all.begin() + static_cast<std::ptrdiff_t>(end), all.end());
  return rest;
}

}  // namespace shrink_detail

/// Of parts 0 ... count - 1, a set that still fails while it does not without any one of its parts: ddmin of
/// Zeller and Hildebrandt, "Simplifying and Isolating Failure-Inducing Input", IEEE TSE 28(2), 2002.
/// REQUIRES: fails(all parts). `fails` takes Parts and must always answer alike.
template <class Fails>
Parts minimise(std::size_t count, Fails fails) {
  Parts kept(count);
  std::iota(kept.begin(), kept.end(), std::size_t{0});
  if (count == 0) return kept;
  if (fails(Parts{})) return {};
  std::size_t chunks = 2;
  while (kept.size() >= 2) {
    bool reduced = false;
    for (std::size_t i = 0; i < chunks && chunks > 2 && !reduced; ++i) {
      const auto part = shrink_detail::chunk(kept, i, chunks);
      Parts alone(part.begin(), part.end());
      if (!fails(alone)) continue;
      kept = std::move(alone);
      chunks = 2;
      reduced = true;
    }
    for (std::size_t i = 0; i < chunks && !reduced; ++i) {
      Parts rest = shrink_detail::without(kept, i, chunks);
      if (!fails(rest)) continue;
      kept = std::move(rest);
      chunks = std::max<std::size_t>(chunks - 1, 2);
      reduced = true;
    }
    if (reduced) continue;
    if (chunks >= kept.size()) break;
    chunks = std::min(kept.size(), chunks * 2);
  }
  return kept;
}

/// How far `fails` goes on from `from`, downwards or upwards, as a whole number of steps from 0 to `most`.
struct Reach {
  std::int64_t steps = 0;
  bool ended = false;  ///< the next step further no longer fails; else it still does at `most`
};

/// Strides that double until one passes, then bisection. What lies between the strides is taken to fail.
/// REQUIRES: fails(0); `fails` takes a number of steps.
template <class Fails>
Reach reach(std::int64_t most, Fails fails) {
  std::int64_t failing = 0;
  std::int64_t passing = most + 1;
  for (std::int64_t stride = 1; failing < most; stride *= 2) {
    const std::int64_t next = std::min(most, failing + stride);
    if (!fails(next)) {
      passing = next;
      break;
    }
    failing = next;
  }
  if (passing > most) return {most, false};
  while (passing - failing > 1) {
    const std::int64_t middle = failing + (passing - failing) / 2;
    (fails(middle) ? failing : passing) = middle;
  }
  return {failing, true};
}

}  // namespace drybus::sim
