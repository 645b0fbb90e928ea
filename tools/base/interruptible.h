// While one of these lives, Ctrl-C asks for the work to stop; a second one ends the program.
#pragma once

#include <atomic>

namespace drybus::tools {

class Interruptible {
 public:
  Interruptible();
  ~Interruptible();
  Interruptible(const Interruptible&) = delete;
  Interruptible& operator=(const Interruptible&) = delete;

  /// Set once Ctrl-C was pressed.
  [[nodiscard]] static const std::atomic<bool>& interrupted();

 private:
  void (*previous_)(int);
};

}  // namespace drybus::tools
