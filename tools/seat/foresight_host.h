// What the host's functions answer to a turn of a main loop that is being foreseen, and how that grows from turn to turn.
#pragma once

#include <array>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <utility>

#include "model/firmware/logic.h"

namespace drybus::tools {

inline constexpr std::size_t most_host_arguments = 6;
/// Registers by their numbers in instructions: RDI, RSI, RDX, RCX, R8, R9.
inline constexpr std::array<std::size_t, most_host_arguments> host_argument_registers = {7, 6, 2, 1, 8, 9};
/// What a function may change beside RAX.
inline constexpr std::array<std::size_t, 8> host_scratch_registers = {1, 2, 6, 7, 8, 9, 10, 11};

struct HostAnswer {
  bool known = false;  ///< how it grows
  std::uint64_t value = 0;
  std::uint64_t slope = 0;
  unsigned bits = 64;
};

class ForesightHost {
 public:
  using Arguments = std::array<std::uint64_t, most_host_arguments>;

  ForesightHost(const model::FirmwareCall& call, sim::Duration period)
      : host_(*static_cast<const drybus_host*>(call.handed()[0].at)), period_(period) {
    const std::array all = {
        function(host_.now, 1),         function(host_.numbers, 1),     function(host_.contacts, 1),
        function(host_.site_switch, 1), function(host_.zone_switch, 1), function(host_.level, 1),
        function(host_.random, 1),      function(host_.memory_read, 4), function(host_.memory_write, 4),
        function(host_.store_begin, 1), function(host_.store_end, 1),   function(host_.start_timer, 3),
        function(host_.stop_timer, 2),  function(host_.send, 6),        function(host_.show, 2),
        function(host_.set_level, 3),   function(host_.tell, 4),        function(host_.tell_memory, 5),
        function(host_.memory_size, 1), function(host_.millis, 1),      function(host_.passed, 3),
        function(host_.log, 2)};
    static_assert(all.size() == functions);
    all_ = all;
  }

  [[nodiscard]] bool has(std::uintptr_t address) const { return find(address) != nullptr; }
  [[nodiscard]] std::size_t arguments(std::uintptr_t address) const { return find(address)->arguments; }

  /// Where a function writes to, and how many bytes. A call whose answers change with the time alone, the clocks apart, is told to
  /// whoever watches the turn (TurnWatch).
  [[nodiscard]] std::pair<std::uintptr_t, std::size_t> writes_to(std::uintptr_t address,
                                                                 const Arguments& given) const {
    if (address != place(host_.memory_read)) return {0, 0};
    return {given[2], given[3] & 0xffff'ffffu};
  }

  /// Calls it.
  [[nodiscard]] HostAnswer ask(std::uintptr_t address, const Arguments& given) const {
    using Function = std::uint64_t (*)(std::uint64_t, std::uint64_t, std::uint64_t, std::uint64_t,
                                       std::uint64_t, std::uint64_t);
    // Every function of the table takes whole numbers and addresses, in registers.
    auto* asked = reinterpret_cast<Function>(address);  // NOLINT(performance-no-int-to-ptr)
    HostAnswer answer{true, asked(given[0], given[1], given[2], given[3], given[4], given[5]), 0, 64};
    if (address == place(host_.now)) answer.slope = static_cast<std::uint64_t>(period_.count());
    if (address == place(host_.millis)) {
      constexpr sim::Duration millisecond = std::chrono::milliseconds{1};
      answer.bits = 32;
      answer.value &= 0xffff'ffffu;
      answer.slope = static_cast<std::uint64_t>(period_ / millisecond);
      answer.known = period_ % millisecond == sim::Duration::zero();
    }
    return answer;
  }

 private:
  static constexpr std::size_t functions = 22;
  struct Function {
    std::uintptr_t address = 0;
    std::size_t arguments = 0;
  };
  template <class Pointer>
  static std::uintptr_t place(Pointer function) {
    return reinterpret_cast<std::uintptr_t>(function);
  }
  template <class Pointer>
  static Function function(Pointer function, std::size_t arguments) {
    return {place(function), arguments};
  }
  [[nodiscard]] const Function* find(std::uintptr_t address) const {
    for (const Function& each : all_) {
      if (each.address == address) return &each;
    }
    return nullptr;
  }

  const drybus_host& host_;
  sim::Duration period_;
  std::array<Function, functions> all_{};
};

}  // namespace drybus::tools
