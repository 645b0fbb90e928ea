#include "sim/random.h"

#include <Random123/philox.h>

#include <cmath>
#include <numbers>

namespace drybus::sim {

std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key) {
  const r123::Philox4x32 generator;
  const auto out = generator({{counter[0], counter[1], counter[2], counter[3]}}, {{key[0], key[1]}});
  return {out.v[0], out.v[1], out.v[2], out.v[3]};
}

std::uint64_t Stream::next() {
  const auto low = [](std::uint64_t x) { return static_cast<std::uint32_t>(x); };
  const auto high = [](std::uint64_t x) { return static_cast<std::uint32_t>(x >> 32); };
  const auto block =
      philox({low(drawn), high(drawn), static_cast<std::uint32_t>(purpose), owner}, {low(seed), high(seed)});
  ++drawn;
  return block[0] | (static_cast<std::uint64_t>(block[1]) << 32);
}

std::uint64_t Stream::below(std::uint64_t n) {
  // 2^64 mod n: draws below this would make the low results likelier than the rest.
  const std::uint64_t surplus = (0 - n) % n;
  std::uint64_t draw = next();
  while (draw < surplus) draw = next();
  return draw % n;
}

bool Stream::chance_ppb(std::uint32_t parts) {
  return below(1'000'000'000) < parts;
}

// A 53rd bit would make the sum inexact, and round the largest one up to 1.
double Stream::uniform() {
  return (static_cast<double>(next() >> 12) + 0.5) * 0x1p-52;
}

double Stream::exponential(double mean) {
  return -mean * std::log(uniform());
}

double Stream::normal() {
  const double radius = std::sqrt(-2.0 * std::log(uniform()));
  return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

}  // namespace drybus::sim
