// The file of a shared library (ELF), as far as it tells more than what is loaded of it. Read by elfutils' libelf.
#pragma once

#include <gelf.h>

#include <algorithm>
#include <functional>
#include <initializer_list>
#include <string>
#include <string_view>

namespace drybus::tools {

/// Whether a symbol or section is of one of these kinds, by how its name begins.
inline bool begins_with_any(std::string_view name, std::initializer_list<std::string_view> beginnings) {
  return std::any_of(beginnings.begin(), beginnings.end(),
                     [&](std::string_view each) { return name.starts_with(each); });
}

/// A file that is not ELF has no sections.
class ElfFile {
 public:
  explicit ElfFile(const std::string& path);
  ~ElfFile();
  ElfFile(const ElfFile&) = delete;
  ElfFile& operator=(const ElfFile&) = delete;

  void for_each_section(const std::function<void(const GElf_Shdr&, std::string_view name)>& visit) const;
  void for_each_symbol(const std::function<void(const GElf_Sym&, std::string_view name)>& visit) const;
  /// Whether it needs a library whose name begins so.
  [[nodiscard]] bool needs(std::string_view library) const;

 private:
  void visit_sections(const std::function<void(Elf_Scn*, const GElf_Shdr&)>& visit) const;

  int file_;
  Elf* elf_ = nullptr;
};

}  // namespace drybus::tools
