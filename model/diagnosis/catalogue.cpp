#include "model/diagnosis/catalogue.h"

namespace drybus::model {

namespace {

constexpr sim::ByEnum<Mishap, std::string_view> mishap_names = {
    "forgot",        "repeated",    "wrong-button", "let-go-early",  "wrong-module",
    "second-module", "took-longer", "took-shorter", "switch-wrong",  "bounced",
    "other-address", "open-link",   "shorted-link", "noisy-link",    "dead-device",
    "power-cut",     "write-lost",  "stuck-button", "telegram-lost", "neighbour"};

}  // namespace

std::string_view to_string(Mishap cause) {
  return mishap_names[cause];
}

std::optional<Mishap> parse_mishap(std::string_view text) {
  return mishap_names.find(text);
}

bool is_fault(Mishap cause) {
  return cause >= Mishap::other_address;
}

}  // namespace drybus::model
