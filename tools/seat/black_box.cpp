#include "tools/seat/black_box.h"

#include <fmt/format.h>
#include <sys/mman.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstring>
#include <mutex>
#include <new>
#include <random>
#include <string_view>
#include <utility>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr std::size_t most_threads = 257;  ///< as many as work at a time, and who waits for them
constexpr std::size_t most_libraries = 8;
constexpr std::size_t longest_path = 512;
constexpr std::size_t bytes_for_names = 32'768;

/// What one thread does. Written by that thread alone, read by another process.
struct alignas(64) Doing {
  std::atomic<std::uint32_t> beats{0};  ///< odd while something is under way
  std::atomic<bool> taken{false};       ///< by a thread
  std::atomic<bool> calls{false};       ///< a handler, and not `work`
  std::atomic<model::FirmwareCall::Handler> handler{};
  std::atomic<model::DeviceId> device{model::no_device};
  std::atomic<std::uint32_t> library{0};
  std::atomic<sim::Instant> at{};
};
static_assert(std::atomic<sim::Instant>::is_always_lock_free, "another process could not read it");

struct Page {
  std::atomic<std::uint64_t> mark{0};
  std::atomic<int> exit_code{0};
  std::array<char, 1024> work{};  ///< by the one thread that loads
  std::array<std::array<char, longest_path>, most_libraries> libraries{};
  std::array<char, bytes_for_names> names{};  ///< of devices, each ended by a zero
  std::array<Doing, most_threads> threads{};
};

Page nobody_asks;
Page* page = &nobody_asks;
std::mutex libraries_mutex;
std::vector<std::string> libraries;

template <std::size_t N>
void copy_text(const std::string& text, std::array<char, N>& to) {
  const std::size_t size = std::min(text.size(), N - 1);
  std::memcpy(to.data(), text.data(), size);
  to[size] = '\0';
}

/// A thread's place on the page, for as long as it lives.
class Seat {
 public:
  Doing& doing() {
    if (of_ != page) [[unlikely]]
      sit_down();
    return *doing_;
  }
  ~Seat() {
    if (of_ == page && doing_ != nullptr) doing_->taken.store(false);
  }

 private:
  [[gnu::noinline, gnu::cold]] void sit_down() {
    of_ = page;
    for (Doing& each : page->threads) {
      if (each.taken.exchange(true)) continue;
      doing_ = &each;
      return;
    }
    doing_ = &page->threads.back();  // shared by those that are too many
  }

  Page* of_ = nullptr;
  Doing* doing_ = nullptr;
};

Doing& doing() {
  thread_local Seat seat;
  return seat.doing();
}

void begin(Doing& mine) {
  mine.beats.store(mine.beats.load(std::memory_order_relaxed) | 1u, std::memory_order_relaxed);
}

std::uint64_t drawn_mark() {
  std::random_device device;
  return (std::uint64_t{device()} << 32 | device()) | 1u;
}

std::string name_of(const Page& of, model::DeviceId device) {
  const char* at = of.names.data();
  const char* end = at + of.names.size();
  for (model::DeviceId i = 0; at < end && *at != '\0'; ++i) {
    if (i == device) return at;
    at += std::strlen(at) + 1;
  }
  return tr("device number {}", device + 1);
}

std::string told(const Page& of, const Doing& what) {
  if (!what.calls) return of.work.data();
  const auto library = what.library.load();
  return tr("in its handler for {}, for {} at {}{}", to_string(what.handler.load()),
            name_of(of, what.device.load()), model::clock_text(what.at.load()),
            library < most_libraries ? fmt::format(" ({})", of.libraries[library].data()) : "");
}

}  // namespace

std::uint32_t note_library(const std::string& path) {
  const std::lock_guard lock{libraries_mutex};
  const auto known = std::find(libraries.begin(), libraries.end(), path);
  const auto number = static_cast<std::uint32_t>(known - libraries.begin());
  if (known == libraries.end()) libraries.push_back(path);
  if (number < most_libraries) copy_text(path, page->libraries[number]);
  return number;
}

void note_devices(const model::Site& site) {
  std::size_t used = 0;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const std::string& name = site.name(static_cast<model::DeviceId>(i));
    if (used + name.size() + 2 > page->names.size()) break;
    std::memcpy(page->names.data() + used, name.c_str(), name.size() + 1);
    used += name.size() + 1;
  }
  page->names[used] = '\0';
}

void note_call(const model::FirmwareCall& call, std::uint32_t library) {
  Doing& mine = doing();
  mine.calls.store(true, std::memory_order_relaxed);
  mine.handler.store(call.handler, std::memory_order_relaxed);
  mine.device.store(call.who, std::memory_order_relaxed);
  mine.library.store(library, std::memory_order_relaxed);
  mine.at.store(call.at, std::memory_order_relaxed);
  begin(mine);
}

void note_work(const std::string& what) {
  Doing& mine = doing();
  copy_text(what, page->work);
  mine.calls = false;
  begin(mine);
}

void note_more(const char* what) {
  const std::size_t used = strnlen(page->work.data(), page->work.size() - 1);
  const std::size_t size = strnlen(what, page->work.size() - 1 - used);
  std::memcpy(page->work.data() + used, what, size);
  page->work[used + size] = '\0';
}

void note_over() {
  Doing& mine = doing();
  mine.beats.store((mine.beats.load(std::memory_order_relaxed) | 1u) + 1u, std::memory_order_relaxed);
}

BlackBox::BlackBox()
    : page_(mmap(nullptr, sizeof(Page), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0)),
      mark_(drawn_mark()) {
  if (page_ == MAP_FAILED) throw std::bad_alloc{};
  new (page_) Page{};
}

BlackBox::~BlackBox() {
  if (page_ != nullptr) munmap(page_, sizeof(Page));
}

BlackBox::BlackBox(BlackBox&& other) noexcept
    : page_(std::exchange(other.page_, nullptr)), mark_(other.mark_) {}

BlackBox& BlackBox::operator=(BlackBox&& other) noexcept {
  std::swap(page_, other.page_);
  std::swap(mark_, other.mark_);
  return *this;
}

void BlackBox::use() const {
  page = static_cast<Page*>(page_);
  const std::lock_guard lock{libraries_mutex};
  for (std::size_t i = 0; i < std::min(libraries.size(), most_libraries); ++i)
    copy_text(libraries[i], page->libraries[i]);
}

void BlackBox::mark_ended(int exit_code) const {
  Page& mine = *static_cast<Page*>(page_);
  mine.exit_code = exit_code;
  mine.mark = mark_;
}

std::optional<int> BlackBox::ended() const {
  const Page& of = *static_cast<const Page*>(page_);
  return of.mark == mark_ ? std::optional{of.exit_code.load()} : std::nullopt;
}

std::string BlackBox::last_noted() const {
  const Page& of = *static_cast<const Page*>(page_);
  const Doing* last = nullptr;
  for (const Doing& each : of.threads) {
    if (each.beats == 0) continue;
    if (last == nullptr || each.beats % 2 > last->beats % 2) last = &each;
  }
  return last == nullptr ? "" : told(of, *last);
}

BlackBox::Pulse BlackBox::pulse() const {
  Pulse pulse;
  for (const Doing& each : static_cast<const Page*>(page_)->threads) {
    const std::uint32_t beats = each.beats;
    pulse.beats += beats;
    if (beats % 2 == 0) continue;
    ++pulse.under_way;
    pulse.loads = pulse.loads || !each.calls;
  }
  return pulse;
}

}  // namespace drybus::tools
