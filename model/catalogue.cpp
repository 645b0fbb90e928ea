#include "model/catalogue.h"

#include <algorithm>

namespace drybus::model {

namespace {

constexpr std::array<std::string_view, cause_count> cause_names = {
    "forgot",        "repeated",     "wrong-button",  "let-go-early", "wrong-module", "second-module", "took-longer",
    "took-shorter",  "switch-wrong", "bounced",       "other-address", "open-link",   "shorted-link",  "noisy-link",
    "dead-device",   "power-cut",    "write-lost",    "stuck-button", "telegram-lost", "neighbour"};

}  // namespace

std::string_view to_string(Cause cause) { return cause_names[static_cast<std::size_t>(cause)]; }

std::optional<Cause> parse_cause(std::string_view text) {
  const auto found = std::find(cause_names.begin(), cause_names.end(), text);
  if (found == cause_names.end()) return std::nullopt;
  return static_cast<Cause>(found - cause_names.begin());
}

bool is_fault(Cause cause) { return cause >= Cause::other_address; }

}  // namespace drybus::model
