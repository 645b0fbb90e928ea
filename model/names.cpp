// Words for the model's enumerations.
#include <array>

#include "model/device.h"
#include "model/script.h"
#include "model/trace.h"

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

std::string_view to_string(Fact fact) {
  constexpr std::array<std::string_view, 10> names = {"indicator", "load",     "mode", "address", "level",
                                                      "channel",   "power_up", "site", "zone",    "findings"};
  return names[static_cast<std::size_t>(fact)];
}

std::string_view to_string(What what) {
  constexpr std::array<std::string_view, 37> names = {
      "?",        "began",      "step",         "walked",        "arrived",     "contact", "misread",
      "gesture",  "mode",       "channel",      "refused",       "timer",       "queued",  "deferred",
      "sent",     "sent-whole", "gave-up",      "dropped",       "heard",       "lost",    "assign-ignored",
      "obeyed",   "indicator",  "level",        "level-reached", "store-begun", "stored",  "store-torn",
      "power-up", "blips",      "blip-unshown", "power",         "switches",    "link",    "stuck",
      "deaf",     "checked"};
  static_assert(names.size() == static_cast<std::size_t>(What::checked) + 1);
  return names[static_cast<std::size_t>(what)];
}

}  // namespace drybus::model
