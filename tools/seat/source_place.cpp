#include "tools/seat/source_place.h"

#include <cxxabi.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>

namespace drybus::tools {

namespace {

/// What the library does not have in itself is nowhere: the standard way looks for it over the network, too, which the process
/// of a firmware is refused.
int in_the_library_or_nowhere(Dwfl_Module*, void**, const char*, Dwarf_Addr, const char*, const char*,
                              GElf_Word, char**) {
  return -1;
}

constexpr Dwfl_Callbacks callbacks = {nullptr, in_the_library_or_nowhere, dwfl_offline_section_address,
                                      nullptr};

Dwarf_Addr number_of(const void* address) {
  return reinterpret_cast<std::uintptr_t>(address);
}

/// Of C++ as in the sources; without the compiler's mark of a part that it has put elsewhere.
std::string as_written(std::string name) {
  if (!name.starts_with("_Z")) return name;
  name.erase(std::min(name.find('.'), name.size()));
  const std::unique_ptr<char, void (*)(void*)> written{
      abi::__cxa_demangle(name.c_str(), nullptr, nullptr, nullptr), std::free};
  return written == nullptr ? name : written.get();
}

}  // namespace

Sources::Sources(const LoadedImage& image) : image_(image), dwfl_(dwfl_begin(&callbacks), dwfl_end) {
  if (dwfl_ == nullptr) return;
  dwfl_report_begin(dwfl_.get());
  module_ =
      dwfl_report_elf(dwfl_.get(), "firmware", image.name().c_str(), -1, number_of(image.base()), false);
  dwfl_report_end(dwfl_.get(), nullptr, nullptr);
}

std::string Sources::line_of(Dwarf_Addr address) const {
  Dwfl_Line* line = module_ == nullptr ? nullptr : dwfl_module_getsrc(module_, address);
  int number = 0;
  const char* file =
      line == nullptr ? nullptr : dwfl_lineinfo(line, nullptr, &number, nullptr, nullptr, nullptr);
  if (file == nullptr || number == 0) return {};
  return fmt::format("{}:{}", std::filesystem::path{file}.filename().string(), number);
}

std::string Sources::name_of(const void* address) const {
  const char* name = module_ == nullptr ? nullptr : dwfl_module_addrname(module_, number_of(address));
  return name == nullptr ? "" : as_written(name);
}

std::string Sources::place_of(std::span<void* const> places) const {
  const auto place =
      std::find_if(places.begin(), places.end(), [&](void* each) { return image_.is_code(each); });
  if (place == places.end()) return {};
  // A return address is where the next instruction is, which may belong to the next line.
  const std::size_t back = place == places.begin() ? 0 : 1;
  const std::string line = line_of(number_of(*place) - back);
  const std::string function = name_of(static_cast<const char*>(*place) - back);
  if (line.empty()) return function.empty() ? "" : "in " + function;
  return function.empty() ? line : line + ", in " + function;
}

}  // namespace drybus::tools
