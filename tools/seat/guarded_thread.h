// A thread that calls somebody's code and always comes back from it: by signals, by clocks, by exceptions. Only for tools/seat.
#pragma once

#include <cxxabi.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <time.h>

#include <array>
#include <cstddef>
#include <exception>
#include <vector>

#include "tools/seat/arena.h"
#include "tools/seat/guard.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

/// By which the clocks stop a thread.
int tick_signal();

/// Handlers of the process.
void install_handlers();

/// The clocks of a thread: of the time that it works, and of the time that goes by.
enum Clock { working = 0, going_by = 1 };

/// What a thread has while it calls firmware: a stack for signal handlers, a clock, arenas.
class ThreadGuard {
 public:
  ThreadGuard() {
    static const bool installed = (install_handlers(), pthread_atfork(nullptr, nullptr, after_fork), true);
    static_cast<void>(installed);
    stack_.resize(stack_bytes);
    stack_t stack{};
    stack.ss_sp = stack_.data();
    stack.ss_size = stack_.size();
    sigaltstack(&stack, &before_);
    start_clocks();
    of_this_thread = this;
  }
  ~ThreadGuard() {
    of_this_thread = nullptr;
    for (const timer_t clock : clocks_) timer_delete(clock);
    if (before_.ss_sp == nullptr) before_.ss_flags = SS_DISABLE;
    sigaltstack(&before_, nullptr);
  }
  ThreadGuard(const ThreadGuard&) = delete;
  ThreadGuard& operator=(const ThreadGuard&) = delete;

  Arena& arena(std::size_t size) {
    for (Arena& each : arenas_) {
      if (each.size() == size) return each;
    }
    return one_more(size);
  }

  /// Of the thread that asks; nullptr before it has one.
  static ThreadGuard* current() { return of_this_thread; }

  /// A child process has no clocks; its one thread needs one again.
  static void after_fork() {
    if (of_this_thread != nullptr) of_this_thread->start_clocks();
  }

 private:
  [[gnu::noinline, gnu::cold]] Arena& one_more(std::size_t size) { return arenas_.emplace_back(size); }

  static constexpr std::size_t stack_bytes = 65'536;
  static thread_local constinit ThreadGuard* of_this_thread;

  void start_clocks() {
    start_clock(CLOCK_THREAD_CPUTIME_ID, working, handler_seconds);
    start_clock(CLOCK_MONOTONIC, going_by, handler_seconds_at_most);
  }

  void start_clock(clockid_t id, Clock clock, double seconds);

  std::vector<std::byte> stack_;
  stack_t before_{};
  std::array<timer_t, 2> clocks_{};
  std::vector<Arena> arenas_;
};

inline ThreadGuard& thread_guard() {
  if (ThreadGuard* guard = ThreadGuard::current()) [[likely]]
    return *guard;
  thread_local ThreadGuard guard;
  return guard;
}

/// Keeps what an exception says: nullptr, when nobody knows.
void note_exception(const char* what);

/// Does the work; false when it threw something. Still guarded: what an exception says is the firmware's code, too.
template <class Work>
bool without_exception(const Work& work) {
  try {
    work();
    return true;
  } catch (const std::exception& error) {
    note_exception(error.what());
  } catch (const abi::__forced_unwind&) {
    throw;
  } catch (...) {
    note_exception(nullptr);
  }
  return false;
}

/// Does the work; false when it had to be stopped, or threw something.
template <class Work>
__attribute__((noinline)) bool come_back_from(const Work& work) {
  way.calls = way.calls + 1;
  way.trace.count = 0;
  way.tracing = 0;
  if (sigsetjmp(way.back, 0) != 0) {
    way.active = 0;
    return false;
  }
  way.active = 1;
  const bool good = without_exception(work);
  way.active = 0;
  return good;
}

}  // namespace drybus::tools
