#include "model/diagnosis/catalogue.h"

#include <algorithm>

namespace drybus::model {

namespace {

constexpr std::array<std::string_view, mishap_count> mishap_names = {
    "forgot",        "repeated",    "wrong-button", "let-go-early",  "wrong-module",
    "second-module", "took-longer", "took-shorter", "switch-wrong",  "bounced",
    "other-address", "open-link",   "shorted-link", "noisy-link",    "dead-device",
    "power-cut",     "write-lost",  "stuck-button", "telegram-lost", "neighbour"};

}  // namespace

std::string_view to_string(Mishap cause) {
  return mishap_names[static_cast<std::size_t>(cause)];
}

std::optional<Mishap> parse_mishap(std::string_view text) {
  const auto found = std::find(mishap_names.begin(), mishap_names.end(), text);
  if (found == mishap_names.end()) return std::nullopt;
  return static_cast<Mishap>(found - mishap_names.begin());
}

bool is_fault(Mishap cause) {
  return cause >= Mishap::other_address;
}

}  // namespace drybus::model
