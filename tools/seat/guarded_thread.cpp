#include "tools/seat/guarded_thread.h"

#include <execinfo.h>
#include <sys/syscall.h>
#include <ucontext.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <stdexcept>
#include <string>

#include "model/words/words.h"
#include "tools/seat/foresight.h"
#include "tools/seat/gate.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

constexpr std::array fatal_signals = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS};
constexpr int ticks_allowed = 4;  ///< each a quarter of what a call may take
void* program_counter(void* context) {
  const auto& machine = static_cast<ucontext_t*>(context)->uc_mcontext;
#if defined(__x86_64__)
  return reinterpret_cast<void*>(machine.gregs[REG_RIP]);  // NOLINT(performance-no-int-to-ptr)
#elif defined(__aarch64__)
  return reinterpret_cast<void*>(machine.pc);  // NOLINT(performance-no-int-to-ptr)
#else
  static_cast<void>(machine);
  return nullptr;
#endif
}

constexpr const char* sleeps =
    msg("waits for something outside the run; it has not returned within 10 s").data();

/// Where a signal met the thread, and where that was called from. Walking the stack may meet what broke it: then what is known
/// so far has to do.
void note_trace(void* context) {
  way.trace.count = 1;
  way.trace.places[0] = program_counter(context);
  if (way.tracing != 0) return;
  way.tracing = 1;
  std::array<void*, 32> all{};
  const int count = backtrace(all.data(), static_cast<int>(all.size()));
  // The first ones are of the signal's own handling.
  const auto met = std::find(all.begin(), all.begin() + count, way.trace.places[0]);
  for (auto place = met == all.begin() + count ? all.begin() : met + 1;
       place != all.begin() + count && way.trace.count < static_cast<int>(way.trace.places.size()); ++place) {
    way.trace.places[static_cast<std::size_t>(way.trace.count++)] = *place;
  }
  way.tracing = 0;
}

void on_fatal(int signal, siginfo_t* info, void* context) {
  if (way.active != 0) {
    if (way.tracing != 0) come_back(way.stop);  // the stack is broken, too
    const Asks asks = asks_for_cycles(*info, context);
    const char* called = asks == Asks::nothing ? nullptr : asks == Asks::cycles ? asks_processor : asks_clock;
    way.stop = {signal, info->si_addr, called, signal == SIGSYS ? info->si_syscall : -1};
    note_trace(context);
    come_back(Stop{way.stop});
  }
  // Not the firmware's doing.
  if (signal == SIGSYS && let_through(*info, context)) return;
  if (signal == SIGSEGV && tell_cycles(*info, context)) return;
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

void on_trap(int signal, siginfo_t* info, void* context) {
  if (!foresee_instruction(context)) on_fatal(signal, info, context);
}

void on_tick(int, siginfo_t* info, void* context) {
  const int clock = info->si_value.sival_int;
  auto& ticks = way.ticks[clock];
  if (way.active == 0 || way.calls != ticks.calls) {
    ticks.calls = way.calls;
    ticks.count = 0;
    return;
  }
  if (++ticks.count < ticks_allowed) return;
  ticks.count = 0;
  note_trace(context);
  come_back({tick_signal(), nullptr, clock == going_by ? sleeps : nullptr});
}

/// What a C++ exception said that came out of firmware.
thread_local constinit std::array<char, 512> thrown{};

}  // namespace

thread_local constinit ThreadGuard* ThreadGuard::of_this_thread = nullptr;

int tick_signal() {
  return SIGRTMIN + 3;
}

void install_handlers() {
  const auto install = [](int signal, void (*handler)(int, siginfo_t*, void*), int flags) {
    struct sigaction action {};
    action.sa_sigaction = handler;
    action.sa_flags = SA_SIGINFO | SA_ONSTACK | SA_NODEFER | flags;
    sigemptyset(&action.sa_mask);
    if (sigaction(signal, &action, nullptr) != 0) throw std::runtime_error{tr("a signal cannot be caught")};
  };
  std::array<void*, 2> once{};
  backtrace(once.data(), 2);  // loads what it needs
  for (const int signal : fatal_signals) install(signal, on_fatal, 0);
  install(SIGTRAP, on_trap, 0);
  install(tick_signal(), on_tick, SA_RESTART);
}

void ThreadGuard::start_clock(clockid_t id, Clock clock, double seconds) {
  sigevent event{};
  event.sigev_notify = SIGEV_THREAD_ID;
  event.sigev_signo = tick_signal();
  event.sigev_value.sival_int = clock;
  event._sigev_un._tid = static_cast<pid_t>(syscall(SYS_gettid));
  if (timer_create(id, &event, &clocks_[clock]) != 0) throw std::runtime_error{tr("no clock for a thread")};
  const auto interval = static_cast<std::int64_t>(seconds * 1e9 / ticks_allowed);
  const timespec each{interval / 1'000'000'000, interval % 1'000'000'000};
  const itimerspec every{each, each};
  timer_settime(clocks_[clock], 0, &every, nullptr);
}

void note_exception(const char* what) {
  std::string said = what == nullptr ? "" : what;
  std::replace_if(
      said.begin(), said.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
  const std::string text = what == nullptr ? tr("throws a C++ exception out of it")
                                           : tr("throws a C++ exception out of it: {}", said);
  thrown[text.copy(thrown.data(), thrown.size() - 1)] = '\0';
  way.stop = {0, nullptr, thrown.data()};
}

thread_local constinit Way way{};

void come_back(const Stop& stop) {
  way.stop = stop;
  siglongjmp(way.back, 1);
}

void note_place(void* called_from) {
  // The first place is where the processor was: here, which nobody asks for.
  way.trace.places[0] = nullptr;
  way.trace.places[1] = called_from;
  way.trace.count = 2;
}

}  // namespace drybus::tools
