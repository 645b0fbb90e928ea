// Devices, lamps and loads in the words of a telephone call: labels, and what a person says they see.
#pragma once

#include <string>
#include <string_view>

#include "model/diagnosis/report.h"

namespace drybus::model {

/// The label, with the name behind it where another device has the same one; the name where there is no label.
std::string called(const Site& site, DeviceId device);

/// "In the hall ", or nothing where there is but one place.
std::string in_place(const Site& site, PlaceId place);

/// "In the hall, press up on Hall plate", or "Press up ..." where there is but one place. `what` begins with a small letter.
std::string done_in(const Site& site, PlaceId place, const std::string& what);

/// "up and down together": what is pressed to put a plate in setup.
std::string setup_gesture_text(const Site& site, DeviceId plate);

/// What a lamp does: "blinks", "is dark". `what` is in the words of `see`.
std::string lamp_does(std::string_view what);

/// "does its lamp blink", "is its lamp dark": a question about a lamp. `whose`: "its lamp", "the lamp of Table".
std::string lamp_question(std::string_view whose, std::string_view what);

/// "on", "off" or "at 40 %".
std::string load_is(std::string_view what);

/// "Table's lamp blinks", "Table is off".
std::string said(const Site& site, const Seen& seen);

}  // namespace drybus::model
