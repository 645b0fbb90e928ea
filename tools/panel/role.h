// What somebody at the panel is there for. Where one of them leads, the link by which they came says so.
#pragma once

#include <cstdint>
#include <string_view>

namespace drybus::tools {

enum class Role : std::uint8_t {
  trainer,  ///< the clock, the stops, the branches and the curtain are theirs, and the controls until they lend them
  pupil,     ///< may ask for the controls, and has them when they are lent
  onlooker,  ///< sees what is shown
};

constexpr std::string_view to_string(Role role) {
  switch (role) {
    case Role::trainer:
      return "trainer";
    case Role::pupil:
      return "pupil";
    case Role::onlooker:
      return "onlooker";
  }
  return "";
}

}  // namespace drybus::tools
