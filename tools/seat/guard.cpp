#include "tools/seat/guard.h"

#include <cxxabi.h>
#include <dlfcn.h>
#include <fmt/format.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <sys/syscall.h>
#include <time.h>
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

namespace drybus::tools {

namespace {

constexpr std::array fatal_signals = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS};
constexpr int ticks_allowed = 4;  ///< each a quarter of what a call may take
int tick_signal() {
  return SIGRTMIN + 3;
}

constexpr const char* sleeps = "waits for something outside the run; it has not returned within 10 s";

/// What brought a handler back before its time.
struct Stop {
  int signal = 0;  ///< fatal one, or 0
  const void* address = nullptr;
  const char* called = nullptr;  ///< a function that it must not call, or `thrown`
  int system_call = -1;          ///< of SIGSYS
};

/// What a thread needs to be brought back from a handler. Trivial, so that signal handlers may look at it at
/// any time.
struct Way {
  sigjmp_buf back;
  volatile sig_atomic_t active = 0;
  volatile std::uint64_t calls = 0;
  struct {
    std::uint64_t calls = 0;
    int count = 0;
  } ticks[2];  ///< of each clock, since the call in progress was first met
  Stop stop;
};
thread_local constinit Way way{};

void come_back(const Stop& stop) {
  way.stop = stop;
  siglongjmp(way.back, 1);
}

void on_fatal(int signal, siginfo_t* info, void*) {
  if (way.active != 0) come_back({signal, info->si_addr, nullptr, signal == SIGSYS ? info->si_syscall : -1});
  // Not the firmware's doing.
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

/// The clocks of a thread: of the time that it works, and of the time that goes by.
enum Clock { working = 0, going_by = 1 };

void on_tick(int, siginfo_t* info, void*) {
  const int clock = info->si_value.sival_int;
  auto& ticks = way.ticks[clock];
  if (way.active == 0 || way.calls != ticks.calls) {
    ticks.calls = way.calls;
    ticks.count = 0;
    return;
  }
  if (++ticks.count < ticks_allowed) return;
  ticks.count = 0;
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
    const auto tick = static_cast<std::int64_t>(seconds * 1e9 / ticks_allowed);
    const timespec each{tick / 1'000'000'000, tick % 1'000'000'000};
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

std::string variable_text(const void* address) {
  Dl_info info{};
  const bool named = dladdr(address, &info) != 0 && info.dli_sname != nullptr;
  return fmt::format("writes to a variable outside its block{}",
                     named ? fmt::format(" ('{}')", info.dli_sname) : std::string{});
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

std::string stop_text(const LoadedImage& image, const Arena* arena) {
  const Stop stop = way.stop;
  if (stop.called != nullptr) return stop.called;
  if (stop.signal == SIGSYS) {
    return fmt::format("makes the system call '{}', which a handler has no use for", system_call_name(stop.system_call));
  }
  if (stop.signal == tick_signal()) return fmt::format("does not return within {:.0f} s", handler_seconds);
  const std::span<std::byte> variables = image.variables();
  const auto* address = static_cast<const std::byte*>(stop.address);
  const bool at_address = stop.signal == SIGSEGV || stop.signal == SIGBUS;
  if (at_address && address >= variables.data() && address < variables.data() + variables.size()) {
    return variable_text(address);
  }
  const char* near = at_address && arena != nullptr ? arena->near_text(address) : nullptr;
  return near != nullptr ? near : crash_text(stop.signal);
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

// --- calls that a handler must not make ---

struct Forbidden {
  std::string_view name;
  const char* what;
};

constexpr const char* allocates = "allocates memory; all that it remembers belongs in its block, or in its variables";
constexpr const char* ends = "ends the program";
constexpr const char* asks_time = "asks the computer for the time; `now` tells the time of the run";
constexpr const char* asks_chance =
    "asks the computer for a random number; `random` gives one that can be repeated";
constexpr const char* waits = "waits; it has timers for that";
constexpr const char* rounds = "changes how the processor calculates, for all that comes after it";
constexpr const char* opens = "opens a file; a run must not depend on any";

constexpr std::array forbidden = std::to_array<Forbidden>({
    {"malloc", allocates},
    {"calloc", allocates},
    {"realloc", allocates},
    {"free", allocates},
    {"aligned_alloc", allocates},
    {"posix_memalign", allocates},
    {"strdup", allocates},
    {"strndup", allocates},
    {"mmap", allocates},
    {"_Znwm", allocates},
    {"_Znam", allocates},
    {"_ZdlPv", allocates},
    {"_ZdlPvm", allocates},
    {"_ZdaPv", allocates},
    {"_ZdaPvm", allocates},
    {"exit", ends},
    {"_exit", ends},
    {"_Exit", ends},
    {"quick_exit", ends},
    {"abort", "gives up (abort)"},
    {"__assert_fail", "fails an assertion of its own"},
    {"__stack_chk_fail", "has written over its own stack"},
    {"time", asks_time},
    {"clock", asks_time},
    {"clock_gettime", asks_time},
    {"gettimeofday", asks_time},
    {"rand", asks_chance},
    {"random", asks_chance},
    {"getrandom", asks_chance},
    {"sleep", waits},
    {"usleep", waits},
    {"nanosleep", waits},
    {"fopen", opens},
    {"open", opens},
    {"fesetround", rounds},
    {"fesetenv", rounds},
    {"pthread_exit", "ends the thread"},
    {"kill", "sends a signal"},
    {"raise", "sends a signal"},
    {"fork", "starts another process"},
    {"pthread_create", "starts a thread"},
    {"thrd_create", "starts a thread"},
});

template <std::size_t I>
void stop_here() {
  if (way.active != 0) come_back({0, nullptr, forbidden[I].what});
  ::abort();  // calls are replaced only in libraries whose code runs in handlers alone
}

template <std::size_t... I>
constexpr auto replacements_of(std::index_sequence<I...>) {
  return std::array{LoadedImage::Replacement{forbidden[I].name, stop_here<I>}...};
}

}  // namespace

std::span<const LoadedImage::Replacement> forbidden_calls() {
  static constexpr auto all = replacements_of(std::make_index_sequence<forbidden.size()>{});
  return all;
}

std::string guarded(const LoadedImage& image, void (*work)(void*), void* argument) {
  thread_guard();
  const bool good = come_back_from([&] { work(argument); });
  note_over();
  if (good) return {};
  return stop_text(image, nullptr);
}

GuardedCaller::GuardedCaller(std::shared_ptr<LoadedImage> image, const drybus_firmware& description,
                             std::uint32_t library)
    : image_(std::move(image)),
      description_(description),
      own_variables_((description.flags & DRYBUS_OWN_VARIABLES) != 0),
      library_(library) {}

const char* GuardedCaller::call(const model::FirmwareCall& call, std::span<std::byte> state) {
  note_call(call, library_);
  const unsigned mode = calculation_mode();
  const char* wrong = make(call, state);
  if (calculation_mode() != mode) [[unlikely]] {
    set_calculation_mode(mode);
    if (wrong == nullptr) wrong = rounds;
  }
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
    return nullptr;
  }
  return what_happened(*image_, arena, returned);
}

const char* GuardedCaller::call_with_own_variables(const model::FirmwareCall& call,
                                                   std::span<std::byte> state) {
  const std::lock_guard lock{one_at_a_time_};
  thread_guard();
  const std::span<std::byte> variables = image_->variables();
  std::copy(state.begin(), state.end(), variables.begin());
  const bool returned = come_back_from([&] { call.make(nullptr); });
  if (!returned) return kept(stop_text(*image_, nullptr));
  std::copy(variables.begin(), variables.end(), state.begin());
  return nullptr;
}

}  // namespace drybus::tools
