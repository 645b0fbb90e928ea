// The variables of a library that keeps its state in them: which bytes they are, and how they are taken out and put back.
//
// What compilers count in for themselves (coverage, sanitizers) and what the loader writes is none of the state. Addresses of
// the library's own things, and of what a handler is handed, are told apart from numbers and taken out as marks, so that what
// is kept means the same in every process and in every call.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "model/firmware/logic.h"
#include "tools/seat/loaded_image.h"

namespace drybus::tools {

class Variables {
 public:
  /// Of a library that is loaded. Without headers of sections in its file, all that can be written to counts.
  explicit Variables(const LoadedImage& image);

  /// How many bytes they take when they are taken out; a multiple of 8.
  [[nodiscard]] std::size_t size() const { return size_; }

  /// Copies them to `state`. `handed`: what the library may hold addresses of, beside its own.
  void take(std::span<std::byte> state, std::span<const model::FirmwareCall::Handed> handed) const;
  /// And back again.
  void put(std::span<const std::byte> state, std::span<const model::FirmwareCall::Handed> handed) const;

  /// In words of 8 bytes, one after another as in a state.
  [[nodiscard]] std::span<const std::span<std::byte>> ranges() const { return ranges_; }
  /// Where a byte of a state lies. REQUIRES: offset < size().
  [[nodiscard]] std::byte* place_of(std::size_t offset) const;

  /// As they lie there, for comparisons within one process.
  void take_raw(std::vector<std::byte>& bytes) const;
  void put_raw(std::span<const std::byte> bytes) const;
  [[nodiscard]] bool equal_raw(std::span<const std::byte> bytes) const {
    return first_difference(bytes) == nullptr;
  }
  /// Where the first difference is; null when there is none.
  [[nodiscard]] const void* first_difference(std::span<const std::byte> bytes) const;

 private:
  template <class Visit>
  void each_word(Visit visit) const;

  std::vector<std::span<std::byte>> ranges_;  ///< in words of 8 bytes
  std::size_t size_ = 0;
  std::uintptr_t begin_ = 0;  ///< of the library
  std::uintptr_t end_ = 0;
};

}  // namespace drybus::tools
