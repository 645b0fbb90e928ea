// Calls firmware so that it can do no harm: a handler that crashes, never returns, writes where it must not,
// allocates or ends the program is stopped, and said to have done so.
//
// The handler works on a copy of the device's state that lies at the end of a page; the next page, and the
// one before, are out of bounds, and what remains of its own page is watched for changes. Signals and a clock
// that counts the thread's own time bring it back. The library's variables are read-only meanwhile, and its
// calls of malloc and the like end here.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <vector>

#include "model/firmware/logic.h"
#include "tools/seat/loaded_image.h"
#include "tools/seat/variables.h"

namespace drybus::tools {

/// How long one call of a handler may take of its thread's time: between this and a quarter more.
inline constexpr double handler_seconds = 1.0;
/// And of the time that goes by, for one that waits for something.
inline constexpr double handler_seconds_at_most = 10.0;

class GuardedCaller final : public model::FirmwareCaller {
 public:
  /// A library that keeps its state in variables of its own has them put in place for each call. Calls then go one at a
  /// time.
  /// `library`: its number in the black box.
  /// `description`: of the firmware; what the library leaves out of it is 0.
  /// `instrumented`: the compiler has put counters or checks into the library.
  GuardedCaller(std::shared_ptr<LoadedImage> image, const drybus_firmware& description, std::uint32_t library,
                bool instrumented);

  const char* call(const model::FirmwareCall& call, std::span<std::byte> state) override;
  std::uint64_t go_ahead(const model::FirmwareCall& call, std::span<std::byte> state,
                         const model::TurnCounters& counters, std::uint64_t most,
                         const std::function<bool()>& goes_on) override;

  std::uint64_t foresee(const model::FirmwareCall& call, std::span<std::byte> state,
                        const model::TurnCounters& counters, sim::Duration period,
                        const std::function<bool()>& goes_on) override;

  [[nodiscard]] const drybus_firmware& description() const { return description_; }
  [[nodiscard]] const Variables& variables() const { return variables_; }

 private:
  const char* make(const model::FirmwareCall& call, std::span<std::byte> state);
  const char* call_with_own_variables(const model::FirmwareCall& call, std::span<std::byte> state);
  const char* look_after();
  std::uint64_t go_ahead_in_arena(const model::FirmwareCall& call, std::span<std::byte> state,
                                  const model::TurnCounters& counters, std::uint64_t most,
                                  const std::function<bool()>& goes_on);
  std::uint64_t go_ahead_with_own_variables(const model::FirmwareCall& call, std::span<std::byte> state,
                                            const model::TurnCounters& counters, std::uint64_t most,
                                            const std::function<bool()>& goes_on);

  std::uint64_t foresee_in_arena(const model::FirmwareCall& call, std::span<std::byte> state,
                                 const model::TurnCounters& counters, sim::Duration period,
                                 const std::function<bool()>& goes_on);
  std::uint64_t foresee_with_own_variables(const model::FirmwareCall& call, std::span<std::byte> state,
                                           const model::TurnCounters& counters, sim::Duration period,
                                           const std::function<bool()>& goes_on);

  std::shared_ptr<LoadedImage> image_;
  drybus_firmware description_;
  bool own_variables_;
  bool instrumented_;
  std::uint32_t library_;
  Variables variables_;
  std::vector<std::byte> as_they_were_;  ///< the variables, where nothing else watches them
  std::mutex one_at_a_time_;
};

/// Calls a function of a library that is no handler, likewise guarded, after note_work. Returns what it did wrong, or an empty
/// text.
std::string guarded(const LoadedImage& image, void (*work)(void*), void* argument);

}  // namespace drybus::tools
