// What may go wrong, and how likely each thing is: the prior chances that diagnosis starts from.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "sim/enumeration.h"

namespace drybus::model {

/// Slips of people first, then faults of things.
BOOST_DEFINE_FIXED_ENUM_CLASS(
    Mishap, std::uint8_t,
    forgot,            ///< a step was not done
    repeated,          ///< a press was made twice
    wrong_button,      ///< another button of the same plate
    let_go_early,      ///< a button that has to be held was let go before its lamp blinked
    wrong_module,      ///< the local button of another module
    second_module,     ///< another module was put in setup as well
    took_longer,       ///< a wait or a way was longer than told
    took_shorter,      ///< or shorter
    switch_wrong,      ///< a switch of a plate is set the other way
    bounced,           ///< a contact bounced, so that one press counted as two
    exchanged,         ///< two steps were done the other way round
    other_address,     ///< a module held another address than believed when the work began
    other_generation,  ///< a module is of another family than told
    open_link, shorted_link, noisy_link,
    dead_device,  ///< no power, or broken
    power_cut,    ///< power went and came back
    write_lost,   ///< power went while a module was writing
    stuck_button,
    telegram_lost,  ///< a module missed one telegram
    neighbour,      ///< a neighbour's plate has our number and was used
    was_in_setup,   ///< a device was in setup already: somebody else had put it there
    other_hands,    ///< somebody else pressed a button meanwhile
    dead_load,      ///< a module's load gives no light
    other_power_up  ///< a module comes up otherwise after a power cut than believed
)

/// "let-go-early", as the catalogue file has it.
std::string_view to_string(Mishap cause);
std::optional<Mishap> parse_mishap(std::string_view text);

/// Something that is broken or not as believed, rather than done.
bool is_fault(Mishap cause);
/// It is as it is from then on, whenever it was that it came to be so.
bool lasts(Mishap cause);
/// Nobody else may mend it.
bool wants_an_electrician(Mishap cause);

struct Catalogue {
  struct Entry {
    double chance = 0;   ///< for each opportunity, over 0 and up to one half; 0: nobody reckons with it
    std::string source;  ///< where the figure comes from
  };
  sim::ByEnum<Mishap, Entry> entries;
  double misreport = 0;         ///< an observation is wrong
  double misreport_unsure = 0;  ///< one that is marked unsure is
  double false_alarm = 0;       ///< somebody calls although all is as told

  [[nodiscard]] double chance(Mishap cause) const { return entries[cause].chance; }
};

}  // namespace drybus::model
