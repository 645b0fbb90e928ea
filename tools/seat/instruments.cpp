#include "tools/seat/instruments.h"

#include <dlfcn.h>
#include <sys/mman.h>

#include <algorithm>
#include <atomic>
#include <cstdint>
#include <cstring>
#include <initializer_list>
#include <new>
#include <string_view>

#include "model/words/words.h"
#include "tools/seat/elf_file.h"

namespace drybus::tools {

using model::tr;

namespace {

/// Of gcc's -fprofile-arcs; clang has a section for its own.
bool is_counter(std::string_view symbol) {
  return begins_with_any(symbol, {"__gcov0", "__gcov1", "__gcov2", "__gcov3"});
}

bool is_instrument(std::string_view symbol) {
  return begins_with_any(symbol, {"__gcov", "gcov_", "__prof", "__llvm_", "lprof", "__ubsan", "__asan",
                                  "__odr_asan", "__sanitizer", "__sancov"});
}

constexpr std::size_t counter_size = 8;

/// Counters of a library, and the sums of what other processes counted.
struct Shared {
  std::vector<std::span<std::byte>> counters;
  std::uint64_t* sums = nullptr;
  std::size_t count = 0;
  std::vector<std::uint64_t> at_first;
};
std::vector<Shared>& shared() {
  static std::vector<Shared> all;
  return all;
}

template <class Visit>
void each_counter(const Shared& library, Visit visit) {
  std::size_t number = 0;
  for (const std::span<std::byte> range : library.counters) {
    for (std::size_t at = 0; at + counter_size <= range.size(); at += counter_size)
      visit(range.data() + at, number++);
  }
}

std::uint64_t value_at(const std::byte* counter) {
  std::uint64_t value = 0;
  std::memcpy(&value, counter, sizeof value);
  return value;
}

}  // namespace

Instruments instruments_of(const LoadedImage& image) {
  Instruments found;
  const ElfFile file{image.name()};
  auto* base = const_cast<std::byte*>(static_cast<const std::byte*>(image.base()));
  file.for_each_symbol([&](const GElf_Sym& symbol, std::string_view name) {
    if (!is_instrument(name)) return;
    found.any = true;
    const bool is_variable =
        symbol.st_shndx != SHN_UNDEF && symbol.st_size != 0 && GELF_ST_TYPE(symbol.st_info) == STT_OBJECT;
    if (!is_variable) return;
    const std::span bytes{base + symbol.st_value, symbol.st_size};
    found.variables.push_back(bytes);
    if (is_counter(name)) found.counters.push_back(bytes);
  });
  file.for_each_section([&](const GElf_Shdr& header, std::string_view name) {
    if (name == "__llvm_prf_cnts") found.counters.emplace_back(base + header.sh_addr, header.sh_size);
  });
  return found;
}

std::string missing_runtime(const std::string& path) {
  const ElfFile file{path};
  const bool by_gcc = file.needs("libasan.so");
  if (!by_gcc && !file.needs("libclang_rt.asan")) return "";
  if (dlsym(RTLD_DEFAULT, "__asan_init") != nullptr) return "";
  return tr(
      "is built with AddressSanitizer, whose runtime has to come before everything else: put this before "
      "'drybus': {}",
      fmt::format(
          "LD_PRELOAD=$({}) ASAN_OPTIONS=detect_leaks=0",
          by_gcc ? "gcc -print-file-name=libasan.so" : "clang -print-file-name=libclang_rt.asan-x86_64.so"));
}

void share_counters(const std::vector<std::span<std::byte>>& counters) {
  Shared library{counters, nullptr, 0, {}};
  for (const auto& range : counters) library.count += range.size() / counter_size;
  if (library.count == 0) return;
  void* sums = mmap(nullptr, library.count * sizeof(std::uint64_t), PROT_READ | PROT_WRITE,
                    MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  if (sums == MAP_FAILED) throw std::bad_alloc{};
  library.sums = static_cast<std::uint64_t*>(sums);
  shared().push_back(std::move(library));
}

void begin_counting() {
  for (Shared& library : shared()) {
    library.at_first.clear();
    each_counter(library, [&](const std::byte* counter, std::size_t) {
      library.at_first.push_back(value_at(counter));
    });
  }
}

void hand_over_counts() {
  for (const Shared& library : shared()) {
    each_counter(library, [&](const std::byte* counter, std::size_t number) {
      std::atomic_ref{library.sums[number]} += value_at(counter) - library.at_first[number];
    });
  }
}

void take_in_counts() {
  for (const Shared& library : shared()) {
    each_counter(library, [&](std::byte* counter, std::size_t number) {
      const std::uint64_t sum = value_at(counter) + std::atomic_ref{library.sums[number]}.exchange(0);
      std::memcpy(counter, &sum, sizeof sum);
    });
  }
}

}  // namespace drybus::tools
