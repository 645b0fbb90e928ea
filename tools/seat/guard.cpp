#include "tools/seat/guard.h"

#include <fmt/format.h>
#include <signal.h>

#include <algorithm>
#include <array>
#include <cfenv>
#include <cstdint>
#include <cstring>
#include <utility>
#include <vector>

#include "model/words/words.h"
#include "tools/seat/arena.h"
#include "tools/seat/black_box.h"
#include "tools/seat/confine.h"
#include "tools/seat/forbidden.h"
#include "tools/seat/guarded_thread.h"
#include "tools/seat/printed.h"
#include "tools/seat/reports.h"
#include "tools/seat/source_place.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::tr;

namespace {

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
  return name.empty() ? tr("writes to a variable outside its block")
                      : tr("writes to a variable outside its block ('{}')", name);
}

std::string crash_text(int signal) {
  switch (signal) {
    case SIGSEGV:
      return tr("crashes (SIGSEGV: it uses an address where nothing is, or runs out of stack)");
    case SIGBUS:
      return tr("crashes (SIGBUS: an address that cannot be)");
    case SIGFPE:
      return tr("crashes (SIGFPE: a division by zero or the like)");
    case SIGILL:
      return tr("crashes (SIGILL: an instruction that does not exist)");
    case SIGABRT:
      return tr("gives up (SIGABRT)");
    case SIGTRAP:
      return tr("stops at a breakpoint of its own (SIGTRAP)");
    default:
      return tr("crashes");
  }
}

std::string called_text(const Stop& stop) {
  const std::string_view text = in_words_spoken(stop.called);
  return stop.name == nullptr ? std::string{text} : fmt::format(fmt::runtime(text), stop.name);
}

std::string what_stopped(const LoadedImage& image, const Arena* arena) {
  const Stop stop = way.stop;
  if (stop.called != nullptr) return called_text(stop);
  if (stop.signal == SIGSYS) {
    return tr("makes the system call '{}', which a handler has no use for",
              system_call_name(stop.system_call));
  }
  if (stop.signal == tick_signal()) return tr("does not return within {:.0f} s", handler_seconds);
  const std::span<std::byte> variables = image.variables();
  const auto* address = static_cast<const std::byte*>(stop.address);
  const bool at_address = stop.signal == SIGSEGV || stop.signal == SIGBUS;
  if (at_address && address >= variables.data() && address < variables.data() + variables.size()) {
    return variable_text(image, address);
  }
  const char* near = at_address && arena != nullptr ? arena->near_text(address) : nullptr;
  return near != nullptr ? std::string{in_words_spoken(near)} : crash_text(stop.signal);
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
  if (place.empty()) return text;
  return place.starts_with("in ") ? fmt::format("{}, {}", text, place) : tr("{}, at {}", text, place);
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
  return kept(returned ? std::string{in_words_spoken(harm)} : stop_text(image, &arena));
}

}  // namespace

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
    if (wrong == nullptr) wrong = kept(std::string{in_words_spoken(changes_rounding)});
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

}  // namespace drybus::tools
