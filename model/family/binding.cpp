// What a plate's button does in normal mode, in the words of family files.
#include <fmt/format.h>

#include <array>

#include "model/family/family.h"
#include "model/words/words.h"

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

namespace {

std::string spoken_command(const Binding& binding) {
  switch (binding.command) {
    case Command::nothing:
      return tr_as("button", "nothing");
    case Command::on:
      return tr_as("button", "on");
    case Command::off:
      return tr_as("button", "off");
    case Command::recall:
      return tr("recall {}", binding.scene);
    case Command::store:
      return tr("store {}", binding.scene);
    case Command::raise:
      return tr_as("button", "raise");
    case Command::lower:
      return tr_as("button", "lower");
  }
  return "";
}

}  // namespace

std::string spoken(const Binding& binding) {
  const std::string command = spoken_command(binding);
  switch (binding.command == Command::nothing ? Whom::zone : binding.whom) {
    case Whom::zone:
      return command;
    case Whom::next_zone:
      return tr("{} next zone", command);
    case Whom::group:
      return tr("{} group", command);
    case Whom::whole_site:
      return tr("{} whole site", command);
  }
  return command;
}

}  // namespace drybus::model
