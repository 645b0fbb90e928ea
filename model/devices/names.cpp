// Words for the enumerations of devices.
#include "model/devices/device.h"

namespace drybus::model {

std::string_view to_string(Mode mode) {
  return mode == Mode::setup ? "setup" : "normal";
}

std::string_view to_string(Pattern pattern) {
  constexpr sim::ByEnum<Pattern, std::string_view> names = {"dark",  "blip",   "breathe",
                                                            "blink", "steady", "refuse"};
  return names[pattern];
}

std::string_view to_string(PowerUp power_up) {
  constexpr sim::ByEnum<PowerUp, std::string_view> names = {"off", "full", "last"};
  return names[power_up];
}

std::string_view to_string(Timer timer) {
  constexpr sim::ByEnum<Timer, std::string_view> names = {"debounce",   "hold",   "time-out", "beacon",
                                                          "refuse",     "steady", "breathe",  "blip",
                                                          "blip sleep", "flash",  "store",
                                                          "ask",        "confirm", "count"};
  return names[timer];
}

}  // namespace drybus::model
