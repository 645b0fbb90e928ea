#include "tools/base/interruptible.h"

#include <csignal>

namespace drybus::tools {

namespace {
std::atomic<bool> pressed{false};
}

Interruptible::Interruptible() {
  pressed = false;
  previous_ = std::signal(SIGINT, [](int) {
    pressed = true;
    std::signal(SIGINT, SIG_DFL);
  });
}

Interruptible::~Interruptible() {
  std::signal(SIGINT, previous_);
}

const std::atomic<bool>& Interruptible::interrupted() {
  return pressed;
}

}  // namespace drybus::tools
