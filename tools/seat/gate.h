// Files, sockets, the computer's time and chance within a process that runs somebody's firmware: the firmware is refused what the
// program itself may do. A filter traps the system calls; the signal's handler makes the call after all, through a place that
// the filter lets pass, when no firmware is running in the thread. Likewise the processor's count of cycles, by which the C library
// tells the time without asking the kernel.
#pragma once

#include <signal.h>

#include "model/words/words.h"

namespace drybus::tools {

/// From now on, for good, in this process and those that it starts. Does nothing on processors that it was not written for, and where
/// the kernel has no such filters. `to_readers`: files may not be read, either.
void close_gate(bool to_readers);

/// Somebody sits at a debugger, and this process stops for them.
bool is_being_traced();

/// For a handler of SIGSYS, in a thread in which no firmware runs: makes the call that was trapped. False when it was not trapped by
/// the gate, or when a library is being loaded, whose constructors are strangers, too.
bool let_through(const siginfo_t& info, void* context);

/// From now on, for good, in this process and those that it starts, asking the processor for its count of cycles raises SIGSEGV. Does
/// nothing on processors that it was not written for, under a debugger, which would stop at each, and beside AddressSanitizer.
void hide_cycles();

/// Of a SIGSEGV: whether it was met where the count of cycles is asked for; the second: by the C library, for a clock.
enum class Asks { nothing, cycles, clock };
Asks asks_for_cycles(const siginfo_t& info, void* context);

/// For a handler of SIGSEGV, in a thread in which no firmware runs: tells the count after all. False when it was not asked for, or
/// when a library is being loaded and asks: then the black box says so.
bool tell_cycles(const siginfo_t& info, void* context);

/// What is said of a firmware that asks.
inline constexpr const char* asks_processor =
    model::msg("asks the processor for its count of cycles; `now` tells the time of the run").data();
inline constexpr const char* asks_clock =
    model::msg("asks the computer for the time; `now` tells the time of the run").data();

/// While a library is being loaded, by the one thread that loads.
void strangers_at_the_gate(bool there);

}  // namespace drybus::tools
