#include "tools/firmware/black_box.h"

#include <fmt/format.h>
#include <sys/mman.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <new>
#include <utility>

#include "model/describe.h"

namespace drybus::tools {

namespace {

/// Written by many threads without a lock: it is only read once they are all dead, and then only the last of
/// them matters.
struct Noted {
  std::array<char, 512> work{};
  bool called = false;
  model::FirmwareCall::Handler handler{};
  model::DeviceId device = model::no_device;
  sim::Instant at{};
};

Noted nobody_asks;
Noted* noted = &nobody_asks;

}  // namespace

void note_call(const model::FirmwareCall& call) {
  noted->handler = call.handler;
  noted->device = call.who;
  noted->at = call.at;
  noted->called = true;
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
  return fmt::format("in its handler for {}, for device number {} at {}", to_string(last.handler),
                     last.device + 1, model::clock_text(last.at));
}

}  // namespace drybus::tools
