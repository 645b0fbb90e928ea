// Calls of a library that are not made: functions that a handler must not call, and what prints.
#pragma once

#include <span>

#include "model/words/words.h"
#include "tools/seat/loaded_image.h"

namespace drybus::tools {

/// What gives out memory that no world can keep, and what ends the call in its place.
std::span<const LoadedImage::Replacement> heap_calls();

/// What else no handler may call: it ends the program, asks the computer for the time or a random number, waits, opens files,
/// starts processes, changes how the processor calculates.
std::span<const LoadedImage::Replacement> other_calls();

/// printf and the like, and what puts their text into the record in their place (printed.h); what throws, so that it is known
/// from where.
std::span<const LoadedImage::Replacement> print_calls();

/// What is said of a call that has changed how the processor calculates.
inline constexpr const char* changes_rounding =
    model::msg("changes how the processor calculates, for all that comes after it").data();

}  // namespace drybus::tools
