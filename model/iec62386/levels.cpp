#include "model/iec62386/levels.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace drybus::iec62386 {

namespace {
/// Half the root of 2^code seconds, in whole nanoseconds.
constexpr std::array<std::int64_t, 16> fade_ns = {0,
                                                  707'106'781,
                                                  1'000'000'000,
                                                  1'414'213'562,
                                                  2'000'000'000,
                                                  2'828'427'125,
                                                  4'000'000'000,
                                                  5'656'854'249,
                                                  8'000'000'000,
                                                  11'313'708'499,
                                                  16'000'000'000,
                                                  22'627'416'998,
                                                  32'000'000'000,
                                                  45'254'833'996,
                                                  64'000'000'000,
                                                  90'509'667'992};
}  // namespace

double percent(Level level) {
  return level == 0 ? 0 : std::pow(10.0, (static_cast<double>(level) - 1) / (253.0 / 3.0) - 1);
}

std::string percent_text(Level level) {
  const double light = percent(level);
  if (light == 0 || light >= 99.995) return fmt::format("{:.0f} %", light);
  return light < 10 ? fmt::format("{:.2f} %", light) : fmt::format("{:.1f} %", light);
}

sim::Duration fade_time(std::uint8_t code) {
  return sim::Duration{fade_ns.at(code & 15U)};
}

sim::Duration step_time(std::uint8_t code) {
  return fade_time(std::max<std::uint8_t>(code, 1)) * 2 / 506;
}

sim::Duration extended_fade_time(std::uint8_t byte) {
  using namespace std::chrono_literals;
  constexpr std::array<sim::Duration, 5> units = {0ms, 100ms, 1s, 10s, 60s};
  const std::size_t unit = byte >> 4U;
  return unit < units.size() ? units[unit] * ((byte & 15) + 1) : 0ms;
}

Level Motion::at(sim::Instant now) const {
  if (over(now)) return to;
  const std::int64_t gone = (now - began).count();
  const std::int64_t whole = lasts.count();
  const int way = to - from;
  // 255 steps of at most 960 s fit 64 bits.
  return static_cast<Level>(from + way * gone / whole);
}

}  // namespace drybus::iec62386
