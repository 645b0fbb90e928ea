// Room for one device's state while a handler works on it, between two pages that nobody may touch.
#pragma once

#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <new>
#include <utility>

#include "model/words/words.h"

namespace drybus::tools {

/// Room for one state of a certain size, between two pages that nobody may touch.
class Arena {
 public:
  explicit Arena(std::size_t size) : size_(size), room_((size + alignment - 1) / alignment * alignment) {
    const std::size_t page = page_size();
    inner_ = (room_ + watched_bytes + page - 1) / page * page;
    void* all = mmap(nullptr, inner_ + 2 * page, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (all == MAP_FAILED) throw std::bad_alloc{};
    begin_ = static_cast<std::byte*>(all) + page;
    if (mprotect(begin_, inner_, PROT_READ | PROT_WRITE) != 0) throw std::bad_alloc{};
    restore_canaries();
    std::array<std::byte, alignment> beyond{};
    std::fill(beyond.end() - static_cast<std::ptrdiff_t>(room_ - size_), beyond.end(), std::byte{0xff});
    std::memcpy(slack_mask_.data(), beyond.data(), alignment);
  }
  ~Arena() {
    if (begin_ != nullptr) munmap(begin_ - page_size(), inner_ + 2 * page_size());
  }
  Arena(Arena&& other) noexcept
      : size_(other.size_),
        room_(other.room_),
        inner_(other.inner_),
        begin_(std::exchange(other.begin_, nullptr)),
        slack_mask_(other.slack_mask_) {}
  Arena& operator=(Arena&&) = delete;
  Arena(const Arena&) = delete;
  Arena& operator=(const Arena&) = delete;

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] std::byte* state() const { return begin_ + inner_ - room_; }

  /// What was written outside the state, or nullptr.
  [[nodiscard]] const char* harm() const {
    std::uint64_t changed = 0;
    for (std::size_t i = 0; i < watched_bytes; i += 8)
      changed |= word_at(state() - watched_bytes + i) ^ canaries;
    if (changed != 0) return before_text;
    // The last two words, of which some bytes may be the state's own. (memcmp would read into the next page
    // under a mask, which costs more than all the rest.)
    const std::byte* last = begin_ + inner_ - alignment;
    const std::uint64_t slack =
        ((word_at(last) ^ canaries) & slack_mask_[0]) | ((word_at(last + 8) ^ canaries) & slack_mask_[1]);
    return slack != 0 ? after_text : nullptr;
  }
  void restore_canaries() {
    std::fill(begin_, state(), canary);
    std::fill(state() + size_, state() + room_, canary);
  }
  void take(const std::byte* from) { copy(state(), from); }
  void give(std::byte* to) const { copy(to, state()); }
  [[nodiscard]] const char* near_text(const void* address) const {
    if (address >= begin_ - page_size() && address < state()) return before_text;
    if (address >= state() + size_ && address < begin_ + inner_ + page_size()) return after_text;
    return nullptr;
  }

 private:
  static std::uint64_t word_at(const std::byte* at) {
    std::uint64_t word = 0;
    std::memcpy(&word, at, sizeof word);
    return word;
  }
  /// Blocks are small: a call of memcpy would cost more than what it does.
  void copy(std::byte* to, const std::byte* from) const {
    std::size_t i = 0;
    for (; i + 16 <= size_; i += 16) std::memcpy(to + i, from + i, 16);
    if (i == size_) return;
    if (size_ >= 16) {
      std::memcpy(to + size_ - 16, from + size_ - 16, 16);  // some of it once more
    } else {
      std::memcpy(to, from, size_);
    }
  }

  static constexpr std::byte canary{0xc5};
  static constexpr std::uint64_t canaries = 0xc5c5'c5c5'c5c5'c5c5u;
  static constexpr std::size_t watched_bytes = 32;  ///< before the state
  static constexpr std::size_t alignment = 16;

  static std::size_t page_size() { return static_cast<std::size_t>(sysconf(_SC_PAGESIZE)); }

  static constexpr const char* before_text = model::msg("writes before the beginning of its block").data();
  static constexpr const char* after_text = model::msg("reads or writes past the end of its block").data();

  std::size_t size_;
  std::size_t room_;
  std::size_t inner_ = 0;
  std::byte* begin_ = nullptr;
  std::array<std::uint64_t, 2> slack_mask_{};  ///< which bytes of the last two words lie beyond the state
};

}  // namespace drybus::tools
