// Steps, times and entries in words, the same wherever they are told.
#pragma once

#include <string>

#include "model/people/script.h"
#include "model/record/trace.h"

namespace drybus::model {

/// Time on the run's clock to a tenth of a second: "0:05.2", "12:00.0", "1:02:03.4".
std::string clock_text(sim::Instant at);

/// A duration as a person says it: "240 s", "2.5 s", "200 ms", "1 h 30 min".
std::string duration_text(sim::Duration duration);

/// "40 %", "12.5 %".
std::string percent_text(Level level);

/// A button as it is said on the telephone: "up", but "button two", as whoever hears "press two" presses twice.
std::string spoken_button(const PlateFamily& family, Button button);

/// "P1 set", "P1 mark+scene", "M1 local".
std::string buttons_text(const Site& site, DeviceId device, Buttons buttons);

/// A step as it is told: "hold P1 set for 2.5 s".
std::string describe(const Scenario& scenario, const Step& step);

/// A check as it is told: "M1.address is 23/4/1".
std::string describe(const Scenario& scenario, const Check& check);

/// One entry of the record as a clause without its time: "M1 left setup: its time-out ran out".
std::string describe(const Scenario& scenario, const sim::Entry& entry);

/// The step (What::step) that an entry goes back to; no_entry when nobody's step led to it.
sim::EntryId step_behind(const sim::Record& record, sim::EntryId entry);

/// The address that a What::stored entry stored.
Address stored_address(const sim::Entry& entry);

}  // namespace drybus::model
