#include "tools/seat/forbidden.h"

#include <array>
#include <cstdlib>
#include <string_view>
#include <utility>

#include "tools/seat/printed.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

namespace {

struct Forbidden {
  std::string_view name;
  const char* what;
};

#define ALLOCATES(name)                                                                                    \
  Forbidden {                                                                                              \
    name, "allocates memory ('" name "'); all that it remembers belongs in its block, or in its variables" \
  }
#define ENDS(name)                        \
  Forbidden {                             \
    name, "ends the program ('" name "')" \
  }
#define ASKS_TIME(name)                                                                  \
  Forbidden {                                                                            \
    name, "asks the computer for the time ('" name "'); `now` tells the time of the run" \
  }
#define ASKS_CHANCE(name)                                                                               \
  Forbidden {                                                                                           \
    name, "asks the computer for a random number ('" name "'); `random` gives one that can be repeated" \
  }
#define WAITS(name)                                    \
  Forbidden {                                          \
    name, "waits ('" name "'); it has timers for that" \
  }
#define OPENS(name)                                                 \
  Forbidden {                                                       \
    name, "opens a file ('" name "'); a run must not depend on any" \
  }
#define KEEPS(name)                                                                       \
  Forbidden {                                                                             \
    name, "calls '" name "', which remembers something where no device has it for itself" \
  }

constexpr std::array heap = {
    ALLOCATES("malloc"),
    ALLOCATES("calloc"),
    ALLOCATES("realloc"),
    ALLOCATES("reallocarray"),
    ALLOCATES("free"),
    ALLOCATES("aligned_alloc"),
    ALLOCATES("memalign"),
    ALLOCATES("posix_memalign"),
    ALLOCATES("strdup"),
    ALLOCATES("strndup"),
    ALLOCATES("asprintf"),
    ALLOCATES("mmap"),
    ALLOCATES("_Znwm"),
    ALLOCATES("_Znam"),
    ALLOCATES("_ZnwmSt11align_val_t"),
    ALLOCATES("_ZdlPv"),
    ALLOCATES("_ZdlPvm"),
    ALLOCATES("_ZdaPv"),
    ALLOCATES("_ZdaPvm"),
    ALLOCATES("_ZdlPvmSt11align_val_t"),
};

constexpr std::array other = {
    ENDS("exit"),
    ENDS("_exit"),
    ENDS("_Exit"),
    ENDS("quick_exit"),
    Forbidden{"abort", "gives up (abort)"},
    Forbidden{"__assert_fail", "fails an assertion of its own"},
    Forbidden{"__stack_chk_fail", "has written over its own stack"},
    Forbidden{"_ZSt9terminatev", "gives up (std::terminate)"},
    ASKS_TIME("time"),
    ASKS_TIME("clock"),
    ASKS_TIME("clock_gettime"),
    ASKS_TIME("gettimeofday"),
    ASKS_TIME("timespec_get"),
    ASKS_TIME("times"),
    ASKS_TIME("_ZNSt6chrono3_V212system_clock3nowEv"),
    ASKS_TIME("_ZNSt6chrono3_V212steady_clock3nowEv"),
    ASKS_CHANCE("rand"),
    ASKS_CHANCE("srand"),
    ASKS_CHANCE("rand_r"),
    ASKS_CHANCE("random"),
    ASKS_CHANCE("srandom"),
    ASKS_CHANCE("drand48"),
    ASKS_CHANCE("lrand48"),
    ASKS_CHANCE("getrandom"),
    ASKS_CHANCE("getentropy"),
    ASKS_CHANCE("arc4random"),
    ASKS_CHANCE("_ZNSt13random_device9_M_getvalEv"),
    KEEPS("strtok"),
    KEEPS("setlocale"),
    KEEPS("setenv"),
    KEEPS("putenv"),
    WAITS("sleep"),
    WAITS("usleep"),
    WAITS("nanosleep"),
    WAITS("clock_nanosleep"),
    WAITS("pause"),
    WAITS("poll"),
    WAITS("select"),
    OPENS("fopen"),
    OPENS("fopen64"),
    OPENS("open"),
    OPENS("open64"),
    OPENS("opendir"),
    Forbidden{"socket", "opens a socket; a run must not depend on anybody"},
    Forbidden{"fesetround", changes_rounding},
    Forbidden{"fesetenv", changes_rounding},
    Forbidden{"feenableexcept", changes_rounding},
    Forbidden{"pthread_exit", "ends the thread"},
    Forbidden{"kill", "sends a signal"},
    Forbidden{"raise", "sends a signal"},
    Forbidden{"signal", "takes a signal for itself"},
    Forbidden{"sigaction", "takes a signal for itself"},
    Forbidden{"fork", "starts another process"},
    Forbidden{"system", "starts another process"},
    Forbidden{"popen", "starts another process"},
    Forbidden{"pthread_create", "starts a thread"},
    Forbidden{"thrd_create", "starts a thread"},
};

template <const auto& List, std::size_t I>
void stop_here() {
  note_place(__builtin_return_address(0));
  if (way.active != 0) come_back({0, nullptr, List[I].what});
  std::abort();  // of a library that is loaded or unloaded: whoever watches this process says so
}

template <const auto& List, std::size_t... I>
constexpr auto replacements_of(std::index_sequence<I...>) {
  return std::array{LoadedImage::Replacement{List[I].name, stop_here<List, I>}...};
}

}  // namespace

std::span<const LoadedImage::Replacement> heap_calls() {
  static constexpr auto all = replacements_of<heap>(std::make_index_sequence<heap.size()>{});
  return all;
}

std::span<const LoadedImage::Replacement> other_calls() {
  static constexpr auto all = replacements_of<other>(std::make_index_sequence<other.size()>{});
  return all;
}

}  // namespace drybus::tools
