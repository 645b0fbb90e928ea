#include "model/diagnosis/load_match.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "model/world/facts.h"

namespace drybus::model {

namespace {

/// People tell brightness this well, in tenths of a percent.
constexpr int about_so_bright = 50;
constexpr int roughly_so_bright = 150;

int brightness_apart(Level level, const std::string& wanted) {
  // "40 %", "12.5 %"
  const double percent = std::strtod(wanted.c_str(), nullptr);
  return std::abs(static_cast<int>(level) - static_cast<int>(std::lround(percent * 10)));
}

}  // namespace

Match match_load(const LoadState& load, sim::Instant now, const std::string& what) {
  const Level level = load.at(now);
  if (what == "lit" || what == "dark") {
    if ((level > 0) == (what == "lit")) return Match::yes;
    return (heading(load) > 0) == (what == "lit") ? Match::nearly : Match::no;
  }
  // However faintly it is lit, a dark one is no such thing.
  if (std::max(level, heading(load)) == 0 && std::strtod(what.c_str(), nullptr) > 0) return Match::no;
  const int apart = std::min(brightness_apart(level, what), brightness_apart(heading(load), what));
  return apart <= about_so_bright ? Match::yes : apart <= roughly_so_bright ? Match::nearly : Match::no;
}

}  // namespace drybus::model
