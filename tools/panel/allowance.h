// How much somebody may ask for: so much at once, and so much a second. Knows no clock.
#pragma once

#include <algorithm>

#include "tools/panel/pacer.h"

namespace drybus::tools {

class Allowance {
 public:
  Allowance(double at_once, double per_second) : most_(at_once), per_second_(per_second), left_(at_once) {}

  /// Takes an amount; false when that is more than what is left, and then nothing is taken.
  bool take(double amount, RealTime real) {
    refill(real);
    if (left_ < amount) return false;
    left_ -= amount;
    return true;
  }

  /// Takes what was spent already, into debt if need be.
  void spend(double amount) { left_ -= amount; }

  [[nodiscard]] bool any_left(RealTime real) {
    refill(real);
    return left_ > 0;
  }

 private:
  void refill(RealTime real) {
    const double seconds = std::chrono::duration<double>(std::max(real - last_, RealTime::zero())).count();
    left_ = std::min(most_, left_ + seconds * per_second_);
    last_ = std::max(last_, real);
  }

  double most_;
  double per_second_;
  double left_;
  RealTime last_{};
};

}  // namespace drybus::tools
