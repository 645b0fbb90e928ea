// What a process that runs somebody's firmware may still do: little. What it is refused, it is refused by name.
#pragma once

#include <string>

namespace drybus::tools {

enum class Confinement {
  supervisor,  ///< it loads libraries, and starts processes of its own for the rest
  command,     ///< a whole command: it writes its outputs, serves its page, starts its threads
  scenario,    ///< one scenario: it reads its files, and its result goes out through a pipe
};

/// Confines this process, and all that it starts, from now on: memory, processes and files are limited, system calls that
/// a run has no use for raise SIGSYS. Where the kernel has no filter for system calls, the limits hold alone. Does nothing
/// in a build with sanitizers, which need much of it.
void confine(Confinement confinement);

/// "fork", of a SIGSYS; a number where it has no name.
std::string system_call_name(int number);

}  // namespace drybus::tools
