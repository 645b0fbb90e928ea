#include "tools/seat/variables.h"

#include <algorithm>
#include <cstring>
#include <string_view>

#include "tools/seat/elf_file.h"
#include "tools/seat/instruments.h"

// NOLINTBEGIN(performance-no-int-to-ptr): addresses are told as numbers here
namespace drybus::tools {

namespace {

/// An address that no program has, on processors of 64 bits: marks what was one.
constexpr std::uint64_t mark = 0xd0b5ull << 48;
constexpr unsigned kind_shift = 44;
constexpr std::uint64_t offset_mask = (std::uint64_t{1} << kind_shift) - 1;
constexpr std::uint64_t of_library = 0;  ///< else one more than the number of what was handed over
constexpr std::size_t word_size = 8;

using Handed = model::FirmwareCall::Handed;

struct Extent {
  std::uintptr_t begin = 0;
  std::uintptr_t end = 0;
};

bool is_of_a_compiler(std::string_view section) {
  return begins_with_any(section,
                         {"__llvm_", "asan_", "__sancov", ".init_array", ".fini_array", ".dynamic", ".got",
                          ".data.rel.ro", ".tm_clone_table", ".ctors", ".dtors", ".tdata", ".tbss"});
}

/// What lies in any of `out` taken away from `extents`.
std::vector<Extent> without(std::vector<Extent> extents, const std::vector<Extent>& out) {
  for (const Extent& hole : out) {
    std::vector<Extent> left;
    for (const Extent& each : extents) {
      if (hole.end <= each.begin || hole.begin >= each.end) {
        left.push_back(each);
        continue;
      }
      if (each.begin < hole.begin) left.push_back({each.begin, hole.begin});
      if (hole.end < each.end) left.push_back({hole.end, each.end});
    }
    extents = std::move(left);
  }
  return extents;
}

/// In order, in whole words, no two of them touching.
std::vector<Extent> in_words(std::vector<Extent> extents) {
  std::sort(extents.begin(), extents.end(),
            [](const Extent& a, const Extent& b) { return a.begin < b.begin; });
  std::vector<Extent> words;
  for (const Extent& each : extents) {
    const Extent whole{each.begin / word_size * word_size,
                       (each.end + word_size - 1) / word_size * word_size};
    if (!words.empty() && whole.begin <= words.back().end) {
      words.back().end = std::max(words.back().end, whole.end);
    } else {
      words.push_back(whole);
    }
  }
  return words;
}

Extent extent_of(std::span<const std::byte> bytes) {
  const auto begin = reinterpret_cast<std::uintptr_t>(bytes.data());
  return {begin, begin + bytes.size()};
}

/// Sections that can be written to, the compilers' own apart.
std::vector<Extent> variable_sections(const ElfFile& file, const LoadedImage& image) {
  const auto base = reinterpret_cast<std::uintptr_t>(image.base());
  const Extent writable = extent_of(image.variables());
  std::vector<Extent> sections;
  file.for_each_section([&](const GElf_Shdr& header, std::string_view name) {
    const bool is_variable = (header.sh_flags & (SHF_ALLOC | SHF_WRITE)) == (SHF_ALLOC | SHF_WRITE);
    const Extent extent{base + header.sh_addr, base + header.sh_addr + header.sh_size};
    if (!is_variable || is_of_a_compiler(name) || extent.begin < writable.begin || extent.end > writable.end)
      return;
    sections.push_back(extent);
  });
  return sections;
}

std::uint64_t word_at(const std::byte* at) {
  std::uint64_t word = 0;
  std::memcpy(&word, at, sizeof word);
  return word;
}

/// The mark of an address; the number itself when it is none.
std::uint64_t marked(std::uint64_t word, std::uintptr_t begin, std::uintptr_t end,
                     std::span<const Handed> handed) {
  if (word - begin < end - begin) return mark | of_library << kind_shift | (word - begin);
  for (std::size_t i = 0; i < handed.size(); ++i) {
    const auto at = reinterpret_cast<std::uintptr_t>(handed[i].at);
    if (word - at < handed[i].size) return mark | (i + 1) << kind_shift | (word - at);
  }
  return word;
}

std::uint64_t unmarked(std::uint64_t word, std::uintptr_t begin, std::span<const Handed> handed) {
  const std::uint64_t kind = word >> kind_shift & 0xf;
  const std::uint64_t offset = word & offset_mask;
  if (kind == of_library) return begin + offset;
  return kind <= handed.size() ? reinterpret_cast<std::uintptr_t>(handed[kind - 1].at) + offset : word;
}

}  // namespace

Variables::Variables(const LoadedImage& image)
    : begin_(reinterpret_cast<std::uintptr_t>(image.whole().data())), end_(begin_ + image.whole().size()) {
  if (image.variables().empty()) return;
  const ElfFile file{image.name()};
  std::vector<Extent> extents = variable_sections(file, image);
  if (extents.empty()) extents = {extent_of(image.variables())};
  std::vector<Extent> instruments;
  for (const std::span<std::byte> each : instruments_of(image).variables)
    instruments.push_back(extent_of(each));
  for (const Extent& each : in_words(without(std::move(extents), instruments))) {
    ranges_.emplace_back(reinterpret_cast<std::byte*>(each.begin), each.end - each.begin);
    size_ += each.end - each.begin;
  }
}

template <class Visit>
void Variables::each_word(Visit visit) const {
  std::size_t at = 0;
  for (const std::span<std::byte> range : ranges_) {
    for (std::size_t i = 0; i < range.size(); i += word_size, at += word_size) {
      if (!visit(range.data() + i, at)) return;
    }
  }
}

void Variables::take(std::span<std::byte> state, std::span<const Handed> handed) const {
  each_word([&](const std::byte* from, std::size_t at) {
    std::uint64_t word = word_at(from);
    // Most are small numbers.
    if (word >> 32 != 0) word = marked(word, begin_, end_, handed);
    std::memcpy(state.data() + at, &word, sizeof word);
    return true;
  });
}

void Variables::put(std::span<const std::byte> state, std::span<const Handed> handed) const {
  each_word([&](std::byte* to, std::size_t at) {
    std::uint64_t word = word_at(state.data() + at);
    if (word >> 48 == mark >> 48) word = unmarked(word, begin_, handed);
    std::memcpy(to, &word, sizeof word);
    return true;
  });
}

std::byte* Variables::place_of(std::size_t offset) const {
  for (const std::span<std::byte> range : ranges_) {
    if (offset < range.size()) return range.data() + offset;
    offset -= range.size();
  }
  return nullptr;
}

// Word by word, and not by the C library's functions: AddressSanitizer takes what lies between a library's variables for no
// place to read.

void Variables::take_raw(std::vector<std::byte>& bytes) const {
  bytes.resize(size_);
  each_word([&](std::byte* word, std::size_t at) {
    std::memcpy(bytes.data() + at, word, word_size);
    return true;
  });
}

void Variables::put_raw(std::span<const std::byte> bytes) const {
  each_word([&](std::byte* word, std::size_t at) {
    std::memcpy(word, bytes.data() + at, word_size);
    return true;
  });
}

const void* Variables::first_difference(std::span<const std::byte> bytes) const {
  // Mostly there is none: then all of them at once take less than one after another.
  std::uint64_t differs = 0;
  const std::byte* other = bytes.data();
  for (const std::span<std::byte> range : ranges_) {
    for (std::size_t i = 0; i < range.size(); i += word_size)
      differs |= word_at(range.data() + i) ^ word_at(other + i);
    other += range.size();
  }
  if (differs == 0) return nullptr;
  const void* found = nullptr;
  each_word([&](std::byte* word, std::size_t at) {
    if (word_at(word) == word_at(bytes.data() + at)) return true;
    found = word;
    return false;
  });
  return found;
}

}  // namespace drybus::tools
// NOLINTEND(performance-no-int-to-ptr)
