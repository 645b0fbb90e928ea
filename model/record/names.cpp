// Words for the enumerations of the record.
#include <array>

#include "model/record/trace.h"

namespace drybus::model {

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
