#include "tools/seat/source_place.h"

#include <elfutils/libdwfl.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <memory>

namespace drybus::tools {

namespace {

/// One library as debuggers see it.
class Sources {
 public:
  explicit Sources(const LoadedImage& image) : dwfl_(dwfl_begin(&callbacks), dwfl_end) {
    if (dwfl_ == nullptr) return;
    dwfl_report_begin(dwfl_.get());
    module_ = dwfl_report_elf(dwfl_.get(), "firmware", image.name().c_str(), -1,
                              reinterpret_cast<std::uintptr_t>(image.base()), false);
    dwfl_report_end(dwfl_.get(), nullptr, nullptr);
  }

  [[nodiscard]] std::string line_of(Dwarf_Addr address) const {
    Dwfl_Line* line = module_ == nullptr ? nullptr : dwfl_module_getsrc(module_, address);
    int number = 0;
    const char* file =
        line == nullptr ? nullptr : dwfl_lineinfo(line, nullptr, &number, nullptr, nullptr, nullptr);
    return file == nullptr || number == 0
               ? std::string{}
               : fmt::format("{}:{}", std::filesystem::path{file}.filename().string(), number);
  }

  [[nodiscard]] std::string name_of(Dwarf_Addr address) const {
    const char* name = module_ == nullptr ? nullptr : dwfl_module_addrname(module_, address);
    return name == nullptr ? "" : name;
  }

 private:
  static char* debug_path;
  static const Dwfl_Callbacks callbacks;

  std::unique_ptr<Dwfl, void (*)(Dwfl*)> dwfl_;
  Dwfl_Module* module_ = nullptr;
};

char* Sources::debug_path = nullptr;
const Dwfl_Callbacks Sources::callbacks = {nullptr, dwfl_standard_find_debuginfo,
                                           dwfl_offline_section_address, &Sources::debug_path};

}  // namespace

std::string source_place(const LoadedImage& image, std::span<void* const> places) {
  const auto place =
      std::find_if(places.begin(), places.end(), [&](void* each) { return image.is_code(each); });
  if (place == places.end()) return {};
  const Sources sources{image};
  // A return address is where the next instruction is, which may belong to the next line.
  const auto address = reinterpret_cast<std::uintptr_t>(*place) - (place == places.begin() ? 0 : 1);
  const std::string line = sources.line_of(address);
  const std::string function = sources.name_of(address);
  if (line.empty()) return function.empty() ? "" : "in " + function;
  return function.empty() ? line : line + ", in " + function;
}

std::string variable_name(const LoadedImage& image, const void* address) {
  return Sources{image}.name_of(reinterpret_cast<std::uintptr_t>(address));
}

}  // namespace drybus::tools
