#include "tools/seat/elf_file.h"

#include <fcntl.h>
#include <unistd.h>

namespace drybus::tools {

ElfFile::ElfFile(const std::string& path) : file_(open(path.c_str(), O_RDONLY | O_CLOEXEC)) {
  elf_version(EV_CURRENT);
  if (file_ >= 0) elf_ = elf_begin(file_, ELF_C_READ, nullptr);
}

ElfFile::~ElfFile() {
  if (elf_ != nullptr) elf_end(elf_);
  if (file_ >= 0) close(file_);
}

void ElfFile::visit_sections(const std::function<void(Elf_Scn*, const GElf_Shdr&)>& visit) const {
  if (elf_ == nullptr) return;
  for (Elf_Scn* section = elf_nextscn(elf_, nullptr); section != nullptr;
       section = elf_nextscn(elf_, section)) {
    GElf_Shdr header;
    if (gelf_getshdr(section, &header) != nullptr) visit(section, header);
  }
}

void ElfFile::for_each_section(const std::function<void(const GElf_Shdr&, std::string_view)>& visit) const {
  std::size_t names = 0;
  if (elf_ == nullptr || elf_getshdrstrndx(elf_, &names) != 0) return;
  visit_sections([&](Elf_Scn*, const GElf_Shdr& header) {
    const char* name = elf_strptr(elf_, names, header.sh_name);
    visit(header, name == nullptr ? "" : name);
  });
}

void ElfFile::for_each_symbol(const std::function<void(const GElf_Sym&, std::string_view)>& visit) const {
  visit_sections([&](Elf_Scn* section, const GElf_Shdr& header) {
    if (header.sh_type != SHT_SYMTAB && header.sh_type != SHT_DYNSYM) return;
    Elf_Data* data = elf_getdata(section, nullptr);
    if (data == nullptr || header.sh_entsize == 0) return;
    for (std::size_t i = 0; i < header.sh_size / header.sh_entsize; ++i) {
      GElf_Sym symbol;
      if (gelf_getsym(data, static_cast<int>(i), &symbol) == nullptr) continue;
      const char* name = elf_strptr(elf_, header.sh_link, symbol.st_name);
      if (name != nullptr) visit(symbol, name);
    }
  });
}

bool ElfFile::needs(std::string_view library) const {
  bool found = false;
  visit_sections([&](Elf_Scn* section, const GElf_Shdr& header) {
    if (header.sh_type != SHT_DYNAMIC) return;
    Elf_Data* data = elf_getdata(section, nullptr);
    if (data == nullptr || header.sh_entsize == 0) return;
    for (std::size_t i = 0; i < header.sh_size / header.sh_entsize; ++i) {
      GElf_Dyn entry;
      if (gelf_getdyn(data, static_cast<int>(i), &entry) == nullptr || entry.d_tag != DT_NEEDED) continue;
      const char* name = elf_strptr(elf_, header.sh_link, entry.d_un.d_val);
      found = found || (name != nullptr && std::string_view{name}.starts_with(library));
    }
  });
  return found;
}

}  // namespace drybus::tools
