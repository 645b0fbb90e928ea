#include "tools/seat/library.h"

#include <dlfcn.h>
#include <elf.h>
#include <fmt/format.h>
#include <link.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>
#include <filesystem>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/unusable.h"
#include "tools/seat/black_box.h"
#include "tools/seat/forbidden.h"
#include "tools/seat/gate.h"
#include "tools/seat/guard.h"
#include "tools/seat/printed.h"
#include "tools/seat/reports.h"

namespace drybus::tools {

using model::tr;

namespace {

/// What the description took in version 1.0.
constexpr std::uint32_t smallest_description = offsetof(drybus_firmware, power_lost) + sizeof(void*);

constexpr const char* symbol = "drybus_firmware_describe";
constexpr std::size_t longest_name = 80;
constexpr std::uint32_t known_flags = DRYBUS_HEARS_DAMAGED | DRYBUS_OWN_VARIABLES;

/// What is asked of a library's own code, which may do anything.
struct Asked {
  const drybus_firmware* (*describe)(std::uint32_t, std::uint32_t);
  std::uint32_t kind;
  const drybus_firmware* described = nullptr;
  drybus_firmware firmware{};
  std::array<char, longest_name + 2> name{};
};

void ask(void* given) {
  auto& asked = *static_cast<Asked*>(given);
  asked.described = asked.describe(DRYBUS_FIRMWARE_ABI, asked.kind);
  if (asked.described == nullptr) return;
  const std::uint32_t size = asked.described->size;
  // What an older header does not have is as if it were 0; a size that cannot be is refused later.
  std::memcpy(&asked.firmware, asked.described,
              std::clamp<std::size_t>(size, smallest_description, sizeof asked.firmware));
  if (asked.firmware.name != nullptr)
    std::strncpy(asked.name.data(), asked.firmware.name, asked.name.size() - 1);
}

/// How many bytes of thread-local variables a loaded library has.
std::size_t thread_local_bytes(void* handle) {
  struct Search {
    std::string name;
    std::uintptr_t base;
    std::size_t bytes = 0;
  };
  link_map* map = nullptr;
  if (dlinfo(handle, RTLD_DI_LINKMAP, &map) != 0) return 0;
  Search search{map->l_name, map->l_addr};
  const auto visit = [](dl_phdr_info* info, std::size_t, void* given) {
    auto& wanted = *static_cast<Search*>(given);
    if (info->dlpi_addr != wanted.base || wanted.name != info->dlpi_name) return 0;
    for (int i = 0; i < info->dlpi_phnum; ++i) {
      if (info->dlpi_phdr[i].p_type == PT_TLS) wanted.bytes += info->dlpi_phdr[i].p_memsz;
    }
    return 1;
  };
  dl_iterate_phdr(visit, &search);
  return search.bytes;
}

template <class Handler>
const void* address_of(Handler handler) {
  return reinterpret_cast<const void*>(handler);
}

}  // namespace

std::string interface_version() {
  return fmt::format("{}.{}", DRYBUS_FIRMWARE_ABI, DRYBUS_FIRMWARE_MINOR);
}

FirmwareLibrary::FirmwareLibrary(std::string path) : path_(std::move(path)) {
  void* handle = open();
  image_ = std::make_shared<LoadedImage>(handle);
  instruments_ = instruments_of(*image_);
  share_counters(instruments_.counters);
  take_reports(handle);
  take_over_streams();
  if (const std::size_t bytes = thread_local_bytes(handle); bytes != 0) {
    refuse(
        tr("has {} bytes of thread-local variables, which no device can have for itself: keep them in the "
           "block, or make them static (DRYBUS_OWN_VARIABLES)",
           bytes));
  }
  const Describe describe = find_describe(handle);
  plate_ = take(describe, true);
  module_ = take(describe, false);
  if (!plate_ && !module_) {
    refuse(
        tr("has firmware neither for plates nor for modules: {} returns NULL for both, asked with version {} "
           "of the interface",
           symbol, interface_version()));
  }
  close_in();
}

void FirmwareLibrary::refuse(const std::string& why) const {
  throw Unusable{fmt::format("{}: {}", path_, why)};
}

void* FirmwareLibrary::open() const {
  std::error_code error;
  if (!std::filesystem::exists(path_, error)) refuse(tr("there is no such file"));
  if (!std::filesystem::is_regular_file(path_, error)) refuse(tr("is no shared library"));
  note_read(path_);
  if (const std::string missing = missing_runtime(path_); !missing.empty()) refuse(missing);
  note_work(tr("while {} is being loaded", path_));
  // With a slash in it the path is not looked for anywhere else.
  const std::string path = path_.find('/') == std::string::npos ? "./" + path_ : path_;
  const pid_t self = getpid();
  strangers_at_the_gate(true);
  void* handle = dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);
  strangers_at_the_gate(false);
  if (getpid() != self) _exit(exit_failed);  // a process that the library has started: none of ours
  note_over();
  if (handle != nullptr) return handle;
  std::string why = dlerror();
  if (why.starts_with(path + ": ")) why.erase(0, path.size() + 2);
  refuse(tr("cannot be loaded: {}", why));
}

FirmwareLibrary::Describe FirmwareLibrary::find_describe(void* handle) const {
  void* found = dlsym(handle, symbol);
  if (found == nullptr) {
    refuse(tr("exports no '{}'. Declare it as model/firmware.h does; in C++ it needs extern \"C\"", symbol));
  }
  return reinterpret_cast<Describe>(found);
}

std::optional<model::FirmwareSeat> FirmwareLibrary::take(Describe describe, bool plate) {
  Asked asked{describe, plate ? std::uint32_t{DRYBUS_PLATE} : std::uint32_t{DRYBUS_MODULE}};
  note_work(plate ? tr("while {} is asked for its plate firmware", path_)
                  : tr("while {} is asked for its module firmware", path_));
  const std::string wrong = guarded(*image_, ask, &asked);
  if (!wrong.empty())
    refuse(plate ? tr("asked for its plate firmware, {} {}", symbol, wrong)
                 : tr("asked for its module firmware, {} {}", symbol, wrong));
  if (asked.described == nullptr) return std::nullopt;
  asked.firmware.name = asked.firmware.name == nullptr ? nullptr : asked.name.data();
  check(asked.firmware, plate);
  asked.firmware.name = asked.described->name;
  const auto caller =
      std::make_shared<GuardedCaller>(image_, asked.firmware, note_library(path_), instruments_.any);
  model::FirmwareSeat seat;
  seat.firmware = &caller->description();
  seat.caller = caller;
  const bool own_variables = (asked.firmware.flags & DRYBUS_OWN_VARIABLES) != 0;
  seat.state_size = asked.firmware.state_size;
  if (own_variables) {
    seat.state_size = caller->variables().size();
    seat.at_power_on.resize(seat.state_size);
    caller->variables().take(seat.at_power_on, {});
    check_variables(asked.firmware, seat.state_size);
  }
  return seat;
}

void FirmwareLibrary::check(const drybus_firmware& firmware, bool plate) const {
  const std::string which = plate ? tr("its plate firmware") : tr("its module firmware");
  if (firmware.abi != DRYBUS_FIRMWARE_ABI) {
    refuse(
        tr("{} is built for version {} of the interface; this drybus has version {}. Build it anew with its "
           "firmware.h",
           which, firmware.abi, interface_version()));
  }
  if (firmware.size > sizeof(drybus_firmware)) {
    refuse(
        tr("{} is built against a newer firmware.h than this drybus, which has version {} of the interface "
           "(its description takes {} bytes, not {}). Build it with this one's firmware.h, or use a newer "
           "drybus",
           which, interface_version(), firmware.size, sizeof(drybus_firmware)));
  }
  if (firmware.size < smallest_description) {
    refuse(
        tr("{} says that its description takes {} bytes; in version {} it takes {}. Set size to "
           "sizeof(drybus_firmware)",
           which, firmware.size, interface_version(), sizeof(drybus_firmware)));
  }
  if (firmware.kind != (plate ? DRYBUS_PLATE : DRYBUS_MODULE)) {
    refuse(tr("{} says that it is of kind {}, not {}", which, firmware.kind,
              plate ? DRYBUS_PLATE : DRYBUS_MODULE));
  }
  if ((firmware.flags & ~known_flags) != 0) refuse(tr("{} has unknown flags: {:#x}", which, firmware.flags));
  check_name(firmware);
  check_sizes(firmware);
  check_handlers(firmware);
  check_poll(firmware);
}

void FirmwareLibrary::check_name(const drybus_firmware& firmware) const {
  if (firmware.name == nullptr || *firmware.name == '\0') refuse(tr("its firmware has no name"));
  const std::string_view name = firmware.name;
  const bool printable = std::all_of(name.begin(), name.end(), [](char c) { return c >= ' ' && c <= '~'; });
  if (name.size() > longest_name || !printable) {
    refuse(tr("the name of its firmware is not 1 to {} printable characters", longest_name));
  }
}

void FirmwareLibrary::check_sizes(const drybus_firmware& firmware) const {
  if (firmware.state_size > DRYBUS_MOST_STATE_BYTES) {
    refuse(tr("'{}' wants {} bytes of state; {} is the most", firmware.name, firmware.state_size,
              DRYBUS_MOST_STATE_BYTES));
  }
  if (firmware.memory_size > DRYBUS_MOST_MEMORY_BYTES) {
    refuse(tr("'{}' wants {} bytes of memory; {} is the most", firmware.name, firmware.memory_size,
              DRYBUS_MOST_MEMORY_BYTES));
  }
  if ((firmware.flags & DRYBUS_OWN_VARIABLES) == 0) return;
  if (firmware.state_size != 0) {
    refuse(tr("'{}' keeps its state in variables of its own; its state_size must be 0, not {}", firmware.name,
              firmware.state_size));
  }
}

void FirmwareLibrary::check_variables(const drybus_firmware& firmware, std::size_t size) const {
  if (size <= DRYBUS_MOST_STATE_BYTES) return;
  refuse(tr("'{}' has {} bytes of variables; {} is the most", firmware.name, size, DRYBUS_MOST_STATE_BYTES));
}

void FirmwareLibrary::check_poll(const drybus_firmware& firmware) const {
  const drybus_ns period = firmware.poll_period;
  if (firmware.poll == nullptr && period == 0) return;
  if (firmware.poll == nullptr) refuse(tr("'{}' has a poll_period, and no handler 'poll'", firmware.name));
  if (period < DRYBUS_SHORTEST_POLL || period > DRYBUS_LONGEST_POLL) {
    refuse(tr("'{}' wants to be polled every {} ns; from {} to {} is possible", firmware.name, period,
              DRYBUS_SHORTEST_POLL, DRYBUS_LONGEST_POLL));
  }
}

void FirmwareLibrary::check_handlers(const drybus_firmware& firmware) const {
  struct Named {
    const char* name;
    const void* address;
  };
  const std::array handlers = {Named{"provision", address_of(firmware.provision)},
                               Named{"reset", address_of(firmware.reset)},
                               Named{"button", address_of(firmware.button)},
                               Named{"telegram", address_of(firmware.telegram)},
                               Named{"timer", address_of(firmware.timer)},
                               Named{"power_lost", address_of(firmware.power_lost)},
                               Named{"poll", address_of(firmware.poll)}};
  bool any = false;
  for (const Named& handler : handlers) {
    any = any || handler.address != nullptr;
    if (handler.address == nullptr || image_->is_code(handler.address)) continue;
    refuse(tr("the handler '{}' of '{}' is not a function of the library", handler.name, firmware.name));
  }
  if (!any) refuse(tr("'{}' has no handlers", firmware.name));
}

/// From now on its code runs in handlers only.
void FirmwareLibrary::close_in() {
  image_->replace_calls(print_calls());
  image_->replace_calls(other_calls());
  if (has_own_variables()) return;
  if (!instruments_.any) image_->protect_variables();
  image_->replace_calls(heap_calls());
}

void FirmwareLibrary::refuse_heap() {
  if (has_own_variables()) image_->replace_calls(heap_calls());
}

bool FirmwareLibrary::has_own_variables() const {
  const auto has = [](const auto& seat) {
    return seat && (seat->firmware->flags & DRYBUS_OWN_VARIABLES) != 0;
  };
  return has(plate_) || has(module_);
}

}  // namespace drybus::tools
