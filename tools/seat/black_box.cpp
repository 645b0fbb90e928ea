#include "tools/seat/black_box.h"

#include <fmt/format.h>
#include <sys/mman.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstring>
#include <new>
#include <utility>

#include "model/record/describe.h"

namespace drybus::tools {

namespace {

/// Calls are written by many threads without a lock: they are only read once all are dead, and then only the last of
/// them matters. Work is noted by the one thread that loads.
struct Noted {
  std::array<char, 512> work{};
  std::atomic<bool> called{false};
  std::atomic<model::FirmwareCall::Handler> handler{};
  std::atomic<model::DeviceId> device{model::no_device};
  std::atomic<sim::Instant> at{};
};
static_assert(std::atomic<sim::Instant>::is_always_lock_free, "another process could not read it");

Noted nobody_asks;
Noted* noted = &nobody_asks;

}  // namespace

void note_call(const model::FirmwareCall& call) {
  noted->handler.store(call.handler, std::memory_order_relaxed);
  noted->device.store(call.who, std::memory_order_relaxed);
  noted->at.store(call.at, std::memory_order_relaxed);
  noted->called.store(true, std::memory_order_relaxed);
}

void note_work(const std::string& what) {
  noted->called = false;
  const std::size_t size = std::min(what.size(), noted->work.size() - 1);
  std::memcpy(noted->work.data(), what.data(), size);
  noted->work[size] = '\0';
}

BlackBox::BlackBox()
    : page_(mmap(nullptr, sizeof(Noted), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0)) {
  if (page_ == MAP_FAILED) throw std::bad_alloc{};
  new (page_) Noted{};
}

BlackBox::~BlackBox() {
  if (page_ != nullptr) munmap(page_, sizeof(Noted));
}

BlackBox::BlackBox(BlackBox&& other) noexcept : page_(std::exchange(other.page_, nullptr)) {}

BlackBox& BlackBox::operator=(BlackBox&& other) noexcept {
  std::swap(page_, other.page_);
  return *this;
}

void BlackBox::use() const {
  noted = static_cast<Noted*>(page_);
}

std::string BlackBox::last_noted() const {
  const Noted& last = *static_cast<const Noted*>(page_);
  if (!last.called) return last.work.data();
  return fmt::format("in its handler for {}, for device number {} at {}", to_string(last.handler.load()),
                     last.device + 1, model::clock_text(last.at.load()));
}

}  // namespace drybus::tools
