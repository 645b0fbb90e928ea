// What a plate's button does in normal mode, in the words of family files.
#include <fmt/format.h>

#include <array>

#include "model/family/family.h"

namespace drybus::model {

namespace {
constexpr std::array<std::string_view, 7> command_names = {"nothing", "on",    "off",  "recall",
                                                           "store",   "raise", "lower"};
}  // namespace

std::string_view to_string(Whom whom) {
  switch (whom) {
    case Whom::zone:
      return "";
    case Whom::next_zone:
      return "next zone";
    case Whom::group:
      return "group";
    case Whom::whole_site:
      return "whole site";
  }
  return "";
}

std::string to_string(const Binding& binding) {
  std::string text{command_names[static_cast<std::size_t>(binding.command)]};
  if (binding.command == Command::nothing) return text;
  if (binding.scene != 0) text += fmt::format(" {}", binding.scene);
  if (binding.whom != Whom::zone) text.append(" ").append(to_string(binding.whom));
  return text;
}

}  // namespace drybus::model
