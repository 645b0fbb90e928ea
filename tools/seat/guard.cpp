#include "tools/seat/guard.h"

#include <cxxabi.h>
#include <execinfo.h>
#include <fmt/format.h>
#include <pthread.h>
#include <signal.h>
#include <sys/syscall.h>
#include <time.h>
#include <ucontext.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cfenv>
#include <cstdint>
#include <cstring>
#include <exception>
#include <new>
#include <stdexcept>
#include <utility>
#include <vector>

#include "tools/seat/arena.h"
#include "tools/seat/black_box.h"
#include "tools/seat/confine.h"
#include "tools/seat/forbidden.h"
#include "tools/seat/gate.h"
#include "tools/seat/printed.h"
#include "tools/seat/reports.h"
#include "tools/seat/source_place.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

namespace {

constexpr std::array fatal_signals = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS};
constexpr int ticks_allowed = 4;  ///< each a quarter of what a call may take
int tick_signal() {
  return SIGRTMIN + 3;
}

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

constexpr const char* sleeps = "waits for something outside the run; it has not returned within 10 s";

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

/// The clocks of a thread: of the time that it works, and of the time that goes by.
enum Clock { working = 0, going_by = 1 };

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

/// Handlers of the process; once.
void install_handlers() {
  const auto install = [](int signal, void (*handler)(int, siginfo_t*, void*), int flags) {
    struct sigaction action {};
    action.sa_sigaction = handler;
    action.sa_flags = SA_SIGINFO | SA_ONSTACK | SA_NODEFER | flags;
    sigemptyset(&action.sa_mask);
    if (sigaction(signal, &action, nullptr) != 0) throw std::runtime_error{"a signal cannot be caught"};
  };
  std::array<void*, 2> once{};
  backtrace(once.data(), 2);  // loads what it needs
  for (const int signal : fatal_signals) install(signal, on_fatal, 0);
  install(tick_signal(), on_tick, SA_RESTART);
}

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

  void start_clock(clockid_t id, Clock clock, double seconds) {
    sigevent event{};
    event.sigev_notify = SIGEV_THREAD_ID;
    event.sigev_signo = tick_signal();
    event.sigev_value.sival_int = clock;
    event._sigev_un._tid = static_cast<pid_t>(syscall(SYS_gettid));
    if (timer_create(id, &event, &clocks_[clock]) != 0) throw std::runtime_error{"no clock for a thread"};
    const auto interval = static_cast<std::int64_t>(seconds * 1e9 / ticks_allowed);
    const timespec each{interval / 1'000'000'000, interval % 1'000'000'000};
    const itimerspec every{each, each};
    timer_settime(clocks_[clock], 0, &every, nullptr);
  }

  std::vector<std::byte> stack_;
  stack_t before_{};
  std::array<timer_t, 2> clocks_{};
  std::vector<Arena> arenas_;
};

thread_local constinit ThreadGuard* ThreadGuard::of_this_thread = nullptr;

ThreadGuard& thread_guard() {
  if (ThreadGuard* guard = ThreadGuard::current()) [[likely]]
    return *guard;
  thread_local ThreadGuard guard;
  return guard;
}

/// What a C++ exception said that came out of firmware.
thread_local constinit std::array<char, 512> thrown{};

void note_exception(const char* what) {
  std::string text = "throws a C++ exception out of it";
  if (what != nullptr) text += std::string{": "} + what;
  std::replace_if(
      text.begin(), text.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
  thrown[text.copy(thrown.data(), thrown.size() - 1)] = '\0';
  way.stop = {0, nullptr, thrown.data()};
}

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

/// How the processor calculates: rounding, and what of the rest can be set. It stays as it was after a call.
unsigned calculation_mode() {
#if defined(__x86_64__)
  return __builtin_ia32_stmxcsr() & 0xffc0u;
#else
  return static_cast<unsigned>(std::fegetround());
#endif
}

void set_calculation_mode(unsigned mode) {
#if defined(__x86_64__)
  __builtin_ia32_ldmxcsr(mode);
#else
  std::fesetround(static_cast<int>(mode));
#endif
}

std::string variable_text(const LoadedImage& image, const void* address) {
  const std::string name = Sources{image}.name_of(address);
  return fmt::format("writes to a variable outside its block{}",
                     name.empty() ? "" : fmt::format(" ('{}')", name));
}

const char* crash_text(int signal) {
  switch (signal) {
    case SIGSEGV:
      return "crashes (SIGSEGV: it uses an address where nothing is, or runs out of stack)";
    case SIGBUS:
      return "crashes (SIGBUS: an address that cannot be)";
    case SIGFPE:
      return "crashes (SIGFPE: a division by zero or the like)";
    case SIGILL:
      return "crashes (SIGILL: an instruction that does not exist)";
    case SIGABRT:
      return "gives up (SIGABRT)";
    default:
      return "crashes";
  }
}

std::string what_stopped(const LoadedImage& image, const Arena* arena) {
  const Stop stop = way.stop;
  if (stop.called != nullptr) return stop.called;
  if (stop.signal == SIGSYS) {
    return fmt::format("makes the system call '{}', which a handler has no use for",
                       system_call_name(stop.system_call));
  }
  if (stop.signal == tick_signal()) return fmt::format("does not return within {:.0f} s", handler_seconds);
  const std::span<std::byte> variables = image.variables();
  const auto* address = static_cast<const std::byte*>(stop.address);
  const bool at_address = stop.signal == SIGSEGV || stop.signal == SIGBUS;
  if (at_address && address >= variables.data() && address < variables.data() + variables.size()) {
    return variable_text(image, address);
  }
  const char* near = at_address && arena != nullptr ? arena->near_text(address) : nullptr;
  return near != nullptr ? near : crash_text(stop.signal);
}

/// Where it was, in the sources. Guarded, too: whoever broke something may have broken what this needs. Then there is no place.
std::string place_text(const LoadedImage& image) {
  const Trace trace = way.trace;
  std::array<char, 256> text{};
  const Sources sources{image};
  come_back_from([&] {
    const auto places = std::span{trace.places}.first(static_cast<std::size_t>(trace.count));
    const std::string found = sources.place_of(places);
    text[found.copy(text.data(), text.size() - 1)] = '\0';
  });
  return text.data();
}

/// With where it was.
std::string stop_text(const LoadedImage& image, const Arena* arena) {
  const std::string text = what_stopped(image, arena);
  const std::string place = place_text(image);
  return place.empty() ? text : fmt::format("{}, {}{}", text, place.starts_with("in ") ? "" : "at ", place);
}

/// A text that stays until this thread's next one.
const char* kept(std::string text) {
  thread_local std::string last;
  last = std::move(text);
  // NOLINTNEXTLINE(clang-analyzer-cplusplus.InnerPointer): it outlives the call, being the thread's
  return last.c_str();
}

/// Of a call that went wrong.
[[gnu::noinline, gnu::cold]] const char* what_happened(const LoadedImage& image, Arena& arena,
                                                       bool returned) {
  const char* harm = arena.harm();
  arena.restore_canaries();
  return returned ? harm : kept(stop_text(image, &arena));
}

}  // namespace

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

std::string guarded(const LoadedImage& image, void (*work)(void*), void* argument) {
  thread_guard();
  const bool good = come_back_from([&] { work(argument); });
  note_over();
  if (good) return {};
  return stop_text(image, nullptr);
}

GuardedCaller::GuardedCaller(std::shared_ptr<LoadedImage> image, const drybus_firmware& description,
                             std::uint32_t library, bool instrumented)
    : image_(std::move(image)),
      description_(description),
      own_variables_((description.flags & DRYBUS_OWN_VARIABLES) != 0),
      instrumented_(instrumented),
      library_(library),
      variables_(*image_) {
  if (instrumented_ && !own_variables_) variables_.take_raw(as_they_were_);
}

const char* GuardedCaller::call(const model::FirmwareCall& call, std::span<std::byte> state) {
  note_call(call, library_);
  printing_for(call.device);
  const unsigned mode = calculation_mode();
  const char* wrong = make(call, state);
  if (calculation_mode() != mode) [[unlikely]] {
    set_calculation_mode(mode);
    if (wrong == nullptr) wrong = changes_rounding;
  }
  end_printed_line();
  printing_for(nullptr);
  note_over();
  return wrong;
}

const char* GuardedCaller::make(const model::FirmwareCall& call, std::span<std::byte> state) {
  if (own_variables_) return call_with_own_variables(call, state);
  Arena& arena = thread_guard().arena(state.size());
  std::byte* copy = arena.state();
  arena.take(state.data());
  const bool returned = come_back_from([&] { call.make(copy); });
  if (returned && arena.harm() == nullptr) [[likely]] {
    arena.give(state.data());
    return instrumented_ ? look_after() : nullptr;
  }
  return what_happened(*image_, arena, returned);
}

/// Of a library that the compiler has put counters or checks into: what it reports, and its variables, which cannot be made
/// read-only then.
const char* GuardedCaller::look_after() {
  if (std::string report = new_report(); !report.empty()) return kept(std::move(report));
  if (own_variables_) return nullptr;
  const void* changed = variables_.first_difference(as_they_were_);
  if (changed == nullptr) return nullptr;
  std::string text = variable_text(*image_, changed);
  variables_.put_raw(as_they_were_);
  return kept(std::move(text));
}

const char* GuardedCaller::call_with_own_variables(const model::FirmwareCall& call,
                                                   std::span<std::byte> state) {
  const std::lock_guard lock{one_at_a_time_};
  thread_guard();
  const auto handed = call.handed();
  variables_.put(state, handed);
  const bool returned = come_back_from([&] { call.make(nullptr); });
  if (!returned) return kept(stop_text(*image_, nullptr));
  variables_.take(state, handed);
  return instrumented_ ? look_after() : nullptr;
}

std::uint64_t GuardedCaller::go_ahead(const model::FirmwareCall& call, std::span<std::byte> state,
                                      const std::array<model::TurnCounter, 2>& counters, std::uint64_t most,
                                      const std::function<bool()>& goes_on) {
  note_call(call, library_);
  printing_for(call.device);
  const std::uint64_t quiet = own_variables_
                                  ? go_ahead_with_own_variables(call, state, counters, most, goes_on)
                                  : go_ahead_in_arena(call, state, counters, most, goes_on);
  printing_for(nullptr);
  note_over();
  return quiet;
}

std::uint64_t GuardedCaller::go_ahead_in_arena(const model::FirmwareCall& call, std::span<std::byte> state,
                                               const std::array<model::TurnCounter, 2>& counters,
                                               std::uint64_t most, const std::function<bool()>& goes_on) {
  Arena& arena = thread_guard().arena(state.size());
  std::byte* copy = arena.state();
  arena.take(state.data());
  std::vector<std::byte> expected{state.begin(), state.end()};
  std::uint64_t done = 0;
  come_back_from([&] {
    for (; done < most; ++done) {
      way.calls = way.calls + 1;
      call.make(copy);
      model::count(counters, 1, expected);
      if (std::memcmp(copy, expected.data(), expected.size()) != 0 || arena.harm() != nullptr || !goes_on())
        return;
    }
  });
  arena.restore_canaries();
  return done;
}

std::uint64_t GuardedCaller::go_ahead_with_own_variables(const model::FirmwareCall& call,
                                                         std::span<std::byte> state,
                                                         const std::array<model::TurnCounter, 2>& counters,
                                                         std::uint64_t most,
                                                         const std::function<bool()>& goes_on) {
  const std::lock_guard lock{one_at_a_time_};
  thread_guard();
  variables_.put(state, call.handed());
  std::vector<std::byte> expected;
  variables_.take_raw(expected);
  std::uint64_t done = 0;
  come_back_from([&] {
    for (; done < most; ++done) {
      way.calls = way.calls + 1;
      call.make(nullptr);
      model::count(counters, 1, expected);
      if (!variables_.equal_raw(expected) || !goes_on()) return;
    }
  });
  return done;
}

}  // namespace drybus::tools
