#include "tools/seat/loaded_image.h"

#include <dlfcn.h>
#include <elf.h>
#include <link.h>
#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/seat/black_box.h"

// NOLINTBEGIN(performance-no-int-to-ptr): the loader tells addresses as numbers
namespace drybus::tools {

using model::tr;

namespace {

std::uintptr_t page_size() {
  return static_cast<std::uintptr_t>(sysconf(_SC_PAGESIZE));
}

std::byte* page_of(const void* address) {
  return reinterpret_cast<std::byte*>(reinterpret_cast<std::uintptr_t>(address) & ~(page_size() - 1));
}

std::byte* page_after(const void* address) {
  return page_of(static_cast<const std::byte*>(address) + page_size() - 1);
}

void set_access(std::byte* begin, std::byte* end, int access) {
  if (begin == end) return;
  if (mprotect(begin, static_cast<std::size_t>(end - begin), access) != 0) {
    throw std::runtime_error{tr("the access to a library's memory cannot be changed")};
  }
}

/// Whether a relocation fills in the address of a function.
bool is_of_function(std::uint64_t type) {
#if defined(__x86_64__)
  return type == R_X86_64_JUMP_SLOT || type == R_X86_64_GLOB_DAT || type == R_X86_64_64;
#elif defined(__aarch64__)
  return type == R_AARCH64_JUMP_SLOT || type == R_AARCH64_GLOB_DAT || type == R_AARCH64_ABS64;
#else
  return false;
#endif
}

}  // namespace

/// The parts of the dynamic section that tell of names and relocations.
struct LoadedImage::Tables {
  const char* strings = nullptr;
  const ElfW(Sym) * symbols = nullptr;
  std::span<const ElfW(Rela)> calls;
  std::span<const ElfW(Rela)> others;

  explicit Tables(const ElfW(Dyn) * dynamic) {
    const ElfW(Rela)* calls_begin = nullptr;
    const ElfW(Rela)* others_begin = nullptr;
    std::size_t calls_size = 0;
    std::size_t others_size = 0;
    for (const ElfW(Dyn)* entry = dynamic; entry->d_tag != DT_NULL; ++entry) {
      const auto at = entry->d_un.d_ptr;  // glibc has added the base
      switch (entry->d_tag) {
        case DT_STRTAB:
          strings = reinterpret_cast<const char*>(at);
          break;
        case DT_SYMTAB:
          symbols = reinterpret_cast<const ElfW(Sym)*>(at);
          break;
        case DT_JMPREL:
          calls_begin = reinterpret_cast<const ElfW(Rela)*>(at);
          break;
        case DT_PLTRELSZ:
          calls_size = entry->d_un.d_val;
          break;
        case DT_RELA:
          others_begin = reinterpret_cast<const ElfW(Rela)*>(at);
          break;
        case DT_RELASZ:
          others_size = entry->d_un.d_val;
          break;
        default:
          break;
      }
    }
    if (calls_begin != nullptr) calls = {calls_begin, calls_size / sizeof(ElfW(Rela))};
    if (others_begin != nullptr) others = {others_begin, others_size / sizeof(ElfW(Rela))};
  }

  [[nodiscard]] std::string_view name_of(const ElfW(Rela) & relocation) const {
    const auto& symbol = symbols[ELF64_R_SYM(relocation.r_info)];
    // Only what comes from elsewhere: a library may call its own function of that name.
    return symbol.st_shndx == SHN_UNDEF ? strings + symbol.st_name : "";
  }
};

LoadedImage::LoadedImage(void* handle) : handle_(handle) {
  link_map* map = nullptr;
  if (dlinfo(handle, RTLD_DI_LINKMAP, &map) != 0) {
    dlclose(handle_);
    throw std::runtime_error{tr("the loaded library cannot be looked at")};
  }
  base_ = reinterpret_cast<const void*>(map->l_addr);
  dynamic_ = map->l_ld;
  name_ = map->l_name;
  find_segments(base_, name_);
}

LoadedImage::~LoadedImage() {
  try {
    for (const Patched& each : patched_) write_slot(each.slot, each.original);
  } catch (const std::runtime_error&) {
    // What cannot be put back goes with the library.
  }
  if (protected_) mprotect(variables_.data(), variables_.size(), PROT_READ | PROT_WRITE);
  note_work(tr("while {} is being unloaded", name_));
  dlclose(handle_);
  note_over();
}

void LoadedImage::find_segments(const void* base, const std::string& name) {
  struct Search {
    LoadedImage* image;
    const void* base;
    const std::string* name;
    Segment data;
    Segment whole;
  } search{this, base, &name, {}, {}};
  const auto visit = [](dl_phdr_info* info, std::size_t, void* given) {
    auto& wanted = *static_cast<Search*>(given);
    if (reinterpret_cast<const void*>(info->dlpi_addr) != wanted.base || *wanted.name != info->dlpi_name)
      return 0;
    for (int i = 0; i < info->dlpi_phnum; ++i) {
      const ElfW(Phdr)& header = info->dlpi_phdr[i];
      auto* begin = reinterpret_cast<std::byte*>(info->dlpi_addr + header.p_vaddr);
      const Segment segment{begin, begin + header.p_memsz};
      if (header.p_type == PT_GNU_RELRO) wanted.image->relocated_ = {page_of(begin), page_of(segment.end)};
      if (header.p_type != PT_LOAD) continue;
      if (wanted.whole.begin == nullptr) wanted.whole.begin = begin;
      wanted.whole.end = segment.end;
      if ((header.p_flags & PF_X) != 0) wanted.image->code_.push_back(segment);
      if ((header.p_flags & PF_W) != 0) wanted.data = segment;
    }
    return 1;
  };
  dl_iterate_phdr(visit, &search);
  whole_ = {search.whole.begin, search.whole.end};
  if (search.data.begin == nullptr) return;
  std::byte* begin = page_of(search.data.begin);
  if (relocated_.end > begin) begin = relocated_.end;
  std::byte* end = page_after(search.data.end);
  if (begin < end) variables_ = {begin, end};
}

bool LoadedImage::is_code(const void* address) const {
  return std::any_of(code_.begin(), code_.end(), [address](const Segment& segment) {
    return address >= segment.begin && address < segment.end;
  });
}

void LoadedImage::protect_variables() {
  if (variables_.empty()) return;
  set_access(variables_.data(), variables_.data() + variables_.size(), PROT_READ);
  protected_ = true;
}

void LoadedImage::replace_calls(std::span<const Replacement> replacements) {
  const Tables tables{static_cast<const ElfW(Dyn)*>(dynamic_)};
  for (const auto& table : {tables.calls, tables.others}) {
    for (const ElfW(Rela) & relocation : table) {
      if (!is_of_function(ELF64_R_TYPE(relocation.r_info))) continue;
      const std::string_view name = tables.name_of(relocation);
      const auto known = std::find_if(replacements.begin(), replacements.end(),
                                      [name](const Replacement& each) { return each.name == name; });
      if (known == replacements.end()) continue;
      auto* slot = reinterpret_cast<void**>(reinterpret_cast<std::uintptr_t>(base_) + relocation.r_offset);
      patch(slot, reinterpret_cast<void*>(known->instead));
    }
  }
}

bool LoadedImage::calls(std::string_view beginning) const {
  const Tables tables{static_cast<const ElfW(Dyn)*>(dynamic_)};
  for (const auto& table : {tables.calls, tables.others}) {
    for (const ElfW(Rela) & relocation : table) {
      if (is_of_function(ELF64_R_TYPE(relocation.r_info)) &&
          tables.name_of(relocation).starts_with(beginning))
        return true;
    }
  }
  return false;
}

void LoadedImage::patch(void** slot, void* function) {
  patched_.push_back({slot, *slot});
  write_slot(slot, function);
}

void LoadedImage::write_slot(void** slot, void* function) const {
  std::byte* page = page_of(slot);
  const bool read_only =
      (page >= relocated_.begin && page < relocated_.end) ||
      (protected_ && page >= variables_.data() && page < variables_.data() + variables_.size());
  if (read_only) set_access(page, page + page_size(), PROT_READ | PROT_WRITE);
  *slot = function;
  if (read_only) set_access(page, page + page_size(), PROT_READ);
}

}  // namespace drybus::tools
// NOLINTEND(performance-no-int-to-ptr)
