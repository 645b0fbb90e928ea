#include "model/diagnosis/catalogue.h"

namespace drybus::model {

namespace {

constexpr sim::ByEnum<Mishap, std::string_view> mishap_names = {
    "forgot",           "repeated",      "wrong-button",  "let-go-early", "wrong-module", "second-module",
    "took-longer",      "took-shorter",  "switch-wrong",  "bounced",      "exchanged",    "other-address",
    "other-generation", "open-link",     "shorted-link",  "noisy-link",   "dead-device",  "power-cut",
    "write-lost",       "stuck-button",  "telegram-lost", "neighbour",    "was-in-setup", "other-hands",
    "dead-load",        "other-power-up"};

}  // namespace

std::string_view to_string(Mishap cause) {
  return mishap_names[cause];
}

std::optional<Mishap> parse_mishap(std::string_view text) {
  return mishap_names.find(text);
}

bool is_fault(Mishap cause) {
  switch (cause) {
    case Mishap::other_address:
    case Mishap::other_generation:
    case Mishap::open_link:
    case Mishap::shorted_link:
    case Mishap::noisy_link:
    case Mishap::dead_device:
    case Mishap::power_cut:
    case Mishap::write_lost:
    case Mishap::stuck_button:
    case Mishap::telegram_lost:
    case Mishap::neighbour:
    case Mishap::was_in_setup:
    case Mishap::other_hands:
    case Mishap::dead_load:
    case Mishap::other_power_up:
      return true;
    case Mishap::forgot:
    case Mishap::repeated:
    case Mishap::wrong_button:
    case Mishap::let_go_early:
    case Mishap::wrong_module:
    case Mishap::second_module:
    case Mishap::took_longer:
    case Mishap::took_shorter:
    case Mishap::switch_wrong:
    case Mishap::bounced:
    case Mishap::exchanged:
      return false;
  }
  return false;
}

}  // namespace drybus::model
