// Where in somebody's sources a place in their library is: read from what the compiler left for debuggers (elfutils' libdw).
#pragma once

#include <elfutils/libdwfl.h>

#include <memory>
#include <span>
#include <string>

#include "tools/seat/loaded_image.h"

namespace drybus::tools {

/// One library as debuggers see it. Its file is opened when this is made, and no other one is ever looked for.
class Sources {
 public:
  explicit Sources(const LoadedImage& image);

  /// "dimmer.c:88, in take", of the first of these addresses that lies in the library's code; without what debuggers need
  /// "in take"; empty when none does. The first address is where the processor was, the others are return addresses.
  [[nodiscard]] std::string place_of(std::span<void* const> places) const;

  /// The name of the function or variable that lies there; empty when it has none.
  [[nodiscard]] std::string name_of(const void* address) const;

 private:
  [[nodiscard]] std::string line_of(Dwarf_Addr address) const;

  const LoadedImage& image_;
  std::unique_ptr<Dwfl, void (*)(Dwfl*)> dwfl_;
  Dwfl_Module* module_ = nullptr;
};

}  // namespace drybus::tools
