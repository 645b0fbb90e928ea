#include "tools/seat/forbidden.h"

#include <array>
#include <cstdlib>
#include <string_view>
#include <utility>

#include "model/words/words.h"
#include "tools/seat/printed.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

using model::msg;

namespace {

/// The name stands in the text where that has a place for it.
struct Forbidden {
  std::string_view name;
  const char* what;
};

constexpr Forbidden allocates(std::string_view name) {
  return {
      name,
      msg("allocates memory ('{}'); all that it remembers belongs in its block, or in its variables").data()};
}
constexpr Forbidden ends(std::string_view name) {
  return {name, msg("ends the program ('{}')").data()};
}
constexpr Forbidden asks_time(std::string_view name) {
  return {name, msg("asks the computer for the time ('{}'); `now` tells the time of the run").data()};
}
constexpr Forbidden asks_chance(std::string_view name) {
  return {
      name,
      msg("asks the computer for a random number ('{}'); `random` gives one that can be repeated").data()};
}
constexpr Forbidden waits(std::string_view name) {
  return {name, msg("waits ('{}'); it has timers for that").data()};
}
constexpr Forbidden opens(std::string_view name) {
  return {name, msg("opens a file ('{}'); a run must not depend on any").data()};
}
constexpr Forbidden keeps(std::string_view name) {
  return {name, msg("calls '{}', which remembers something where no device has it for itself").data()};
}

constexpr std::array heap = {
    allocates("malloc"),
    allocates("calloc"),
    allocates("realloc"),
    allocates("reallocarray"),
    allocates("free"),
    allocates("aligned_alloc"),
    allocates("memalign"),
    allocates("posix_memalign"),
    allocates("strdup"),
    allocates("strndup"),
    allocates("asprintf"),
    allocates("mmap"),
    allocates("_Znwm"),
    allocates("_Znam"),
    allocates("_ZnwmSt11align_val_t"),
    allocates("_ZdlPv"),
    allocates("_ZdlPvm"),
    allocates("_ZdaPv"),
    allocates("_ZdaPvm"),
    allocates("_ZdlPvmSt11align_val_t"),
};

constexpr std::array other = {
    ends("exit"),
    ends("_exit"),
    ends("_Exit"),
    ends("quick_exit"),
    Forbidden{"abort", msg("gives up (abort)").data()},
    Forbidden{"__assert_fail", msg("fails an assertion of its own").data()},
    Forbidden{"__stack_chk_fail", msg("has written over its own stack").data()},
    Forbidden{"_ZSt9terminatev", msg("gives up (std::terminate)").data()},
    asks_time("time"),
    asks_time("clock"),
    asks_time("clock_gettime"),
    asks_time("gettimeofday"),
    asks_time("timespec_get"),
    asks_time("times"),
    asks_time("_ZNSt6chrono3_V212system_clock3nowEv"),
    asks_time("_ZNSt6chrono3_V212steady_clock3nowEv"),
    asks_chance("rand"),
    asks_chance("srand"),
    asks_chance("rand_r"),
    asks_chance("random"),
    asks_chance("srandom"),
    asks_chance("drand48"),
    asks_chance("lrand48"),
    asks_chance("getrandom"),
    asks_chance("getentropy"),
    asks_chance("arc4random"),
    asks_chance("_ZNSt13random_device9_M_getvalEv"),
    keeps("strtok"),
    keeps("setlocale"),
    keeps("setenv"),
    keeps("putenv"),
    waits("sleep"),
    waits("usleep"),
    waits("nanosleep"),
    waits("clock_nanosleep"),
    waits("pause"),
    waits("poll"),
    waits("select"),
    opens("fopen"),
    opens("fopen64"),
    opens("open"),
    opens("open64"),
    opens("opendir"),
    Forbidden{"socket", msg("opens a socket; a run must not depend on anybody").data()},
    Forbidden{"fesetround", changes_rounding},
    Forbidden{"fesetenv", changes_rounding},
    Forbidden{"feenableexcept", changes_rounding},
    Forbidden{"pthread_exit", msg("ends the thread").data()},
    Forbidden{"kill", msg("sends a signal").data()},
    Forbidden{"raise", msg("sends a signal").data()},
    Forbidden{"signal", msg("takes a signal for itself").data()},
    Forbidden{"sigaction", msg("takes a signal for itself").data()},
    Forbidden{"fork", msg("starts another process").data()},
    Forbidden{"system", msg("starts another process").data()},
    Forbidden{"popen", msg("starts another process").data()},
    Forbidden{"pthread_create", msg("starts a thread").data()},
    Forbidden{"thrd_create", msg("starts a thread").data()},
};

template <const auto& List, std::size_t I>
void stop_here() {
  note_place(__builtin_return_address(0));
  if (way.active != 0) come_back({0, nullptr, List[I].what, -1, List[I].name.data()});
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
