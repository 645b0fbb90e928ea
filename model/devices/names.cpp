// Words for the enumerations of devices.
#include <array>

#include "model/devices/device.h"

namespace drybus::model {

std::string_view to_string(Mode mode) {
  return mode == Mode::setup ? "setup" : "normal";
}

std::string_view to_string(Pattern pattern) {
  constexpr std::array<std::string_view, 6> names = {"dark", "blip", "breathe", "blink", "steady", "refuse"};
  return names[static_cast<std::size_t>(pattern)];
}

std::string_view to_string(PowerUp power_up) {
  constexpr std::array<std::string_view, 3> names = {"off", "full", "last"};
  return names[static_cast<std::size_t>(power_up)];
}

std::string_view to_string(Timer timer) {
  constexpr std::array<std::string_view, timer_count> names = {"debounce",   "hold",   "time-out", "beacon",
                                                               "refuse",     "steady", "breathe",  "blip",
                                                               "blip sleep", "wink",   "store"};
  return names[static_cast<std::size_t>(timer)];
}

}  // namespace drybus::model
