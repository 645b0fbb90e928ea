// Files, sockets, the computer's time and chance within a process that runs somebody's firmware: the firmware is refused what the
// program itself may do. A filter traps the system calls; the signal's handler makes the call after all, through a place that
// the filter lets pass, when no firmware is running in the thread.
#pragma once

#include <signal.h>

namespace drybus::tools {

/// From now on, for good, in this process and those that it starts. Does nothing on processors that it was not written for, and where
/// the kernel has no such filters. `to_readers`: files may not be read, either.
void close_gate(bool to_readers);

/// For a handler of SIGSYS, in a thread in which no firmware runs: makes the call that was trapped. False when it was not trapped by
/// the gate, or when a library is being loaded, whose constructors are strangers, too.
bool let_through(const siginfo_t& info, void* context);

/// While a library is being loaded, by the one thread that loads.
void strangers_at_the_gate(bool there);

}  // namespace drybus::tools
