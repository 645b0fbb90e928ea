// How a thread comes back from somebody's code before its time, and with what news. Only for tools/seat.
#pragma once

#include <setjmp.h>
#include <signal.h>

#include <array>
#include <cstdint>

namespace drybus::tools {

/// What brought a handler back before its time.
struct Stop {
  int signal = 0;  ///< fatal one, or 0
  const void* address = nullptr;
  const char* called =
      nullptr;           ///< what is to be said, when it was no signal; marked by msg, where it is a constant
  int system_call = -1;  ///< of SIGSYS
  const char* name = nullptr;  ///< of the function that was called, for the place in what is to be said
};

/// Where it was: the innermost place first, then where that was called from.
struct Trace {
  std::array<void*, 24> places{};
  int count = 0;
};

/// What a thread needs to be brought back from a handler. Trivial, so that signal handlers may look at it at any time.
struct Way {
  sigjmp_buf back;
  volatile sig_atomic_t active = 0;
  volatile sig_atomic_t tracing = 0;
  volatile std::uint64_t calls = 0;
  struct {
    std::uint64_t calls = 0;
    int count = 0;
  } ticks[2];  ///< of each clock, since the call in progress was first met
  Stop stop;
  Trace trace;
};
extern thread_local constinit Way way;

/// REQUIRES: way.active.
[[noreturn]] void come_back(const Stop& stop);

/// Notes where the firmware is, for a stop that comes from a function that it called.
void note_place(void* called_from);

}  // namespace drybus::tools
