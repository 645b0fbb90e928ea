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

namespace {

/// The natural logarithm of x > 0, to about one unit in the last place. Nothing but operations that IEEE 754
/// rounds in one way: the C library's logarithm differs in the last bit between processors, and a digest must
/// not.
double natural_log(double x) {
  int exponent = 0;
  double mantissa = std::frexp(x, &exponent);
  if (mantissa < std::numbers::sqrt2 / 2) {
    mantissa *= 2;
    --exponent;
  }
  // ln m = 2 artanh s, s = (m - 1) / (m + 1), by its series; |s| < 0.172, so that twelve terms are enough.
  const double s = (mantissa - 1) / (mantissa + 1);
  double sum = 0;
  for (int odd = 23; odd >= 1; odd -= 2) sum = sum * (s * s) + 1.0 / odd;
  return exponent * std::numbers::ln2 + 2 * s * sum;
}

/// e to the power x, |x| < 100, with IEEE 754 operations only, for the same reason.
double exponential_of(double x) {
  const double halvings = std::nearbyint(x / std::numbers::ln2);
  const double rest = x - halvings * std::numbers::ln2;
  double term = 1;
  double sum = 1;
  for (int n = 1; n <= 16; ++n) {
    term *= rest / n;
    sum += term;
  }
  return std::ldexp(sum, static_cast<int>(halvings));
}

}  // namespace

double Stream::lognormal(double median, double sigma) {
  return median * exponential_of(sigma * normal());
}

double Stream::exponential(double mean) {
  return -mean * natural_log(uniform());
}

double Stream::normal() {
  for (;;) {
    const double x = 2 * uniform() - 1;
    const double y = 2 * uniform() - 1;
    const double square = x * x + y * y;
    if (square < 1) return x * std::sqrt(-2 * natural_log(square) / square);
  }
}

}  // namespace drybus::sim
