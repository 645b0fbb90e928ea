#include "tools/reference/values.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

namespace drybus::tools {

namespace {

using Entry = std::pair<std::string_view, ValueKind>;

/// Options of one name mean the same in every command.
constexpr std::array options = {
    Entry{"answers", ValueKind::file},      Entry{"as", ValueKind::devices},
    Entry{"capture", ValueKind::file},      Entry{"catalogue", ValueKind::file},
    Entry{"difficulty", ValueKind::choice}, Entry{"digests", ValueKind::file},
    Entry{"family", ValueKind::families},   Entry{"firmware", ValueKind::file},
    Entry{"for", ValueKind::questions},     Entry{"format", ValueKind::choice},
    Entry{"language", ValueKind::choice},   Entry{"killers", ValueKind::folder},
    Entry{"known", ValueKind::file},        Entry{"log", ValueKind::file},
    Entry{"log-level", ValueKind::choice},  Entry{"log-format", ValueKind::choice},
    Entry{"observables", ValueKind::file},  Entry{"page", ValueKind::choice},
    Entry{"paper", ValueKind::choice},      Entry{"scenarios", ValueKind::folder},
    Entry{"state", ValueKind::folder},
};

bool is_word(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return std::islower(byte) != 0 || std::isdigit(byte) != 0 || c == '-';
}

}  // namespace

ValueKind value_kind(const OptionDescription& option) {
  if (!option.takes_value) return ValueKind::none;
  if (option.writes_file) return ValueKind::file;
  const auto found = std::find_if(options.begin(), options.end(),
                                  [&](const Entry& each) { return each.first == option.name; });
  return found == options.end() ? ValueKind::none : found->second;
}

std::vector<std::string> choices_in(std::string_view text) {
  if (const std::size_t colon = text.find(": "); colon != std::string_view::npos)
    text.remove_prefix(colon + 2);
  std::vector<std::string> words;
  while (true) {
    const auto end = std::find_if_not(text.begin(), text.end(), is_word);
    const std::string_view word = text.substr(0, static_cast<std::size_t>(end - text.begin()));
    if (word.empty()) return words;
    words.emplace_back(word);
    text.remove_prefix(word.size());
    if (text.starts_with(", ")) {
      text.remove_prefix(2);
    } else if (text.starts_with(" or ")) {
      text.remove_prefix(4);
    } else {
      return words;
    }
  }
}

std::string_view placeholder(const OptionDescription& option) {
  switch (value_kind(option)) {
    case ValueKind::file:
      return "FILE";
    case ValueKind::folder:
      return "FOLDER";
    case ValueKind::choice:
      return "WORD";
    case ValueKind::devices:
      return "DEVICE";
    case ValueKind::questions:
      return "WHAT";
    case ValueKind::families:
      return "FAMILY";
    case ValueKind::none:
      break;
  }
  return "VALUE";
}

ValueKind word_kind(std::string_view command, bool first) {
  if (command == "why") return first ? ValueKind::file : ValueKind::questions;
  if (command == "family") return ValueKind::families;
  if (command == "switches" || command == "building" || command == "site new") return ValueKind::none;
  return ValueKind::file;
}

std::string_view asked_names(ValueKind kind) {
  switch (kind) {
    case ValueKind::devices:
      return "devices";
    case ValueKind::questions:
      return "questions";
    case ValueKind::families:
      return "families";
    case ValueKind::none:
    case ValueKind::file:
    case ValueKind::folder:
    case ValueKind::choice:
      break;
  }
  return "";
}

}  // namespace drybus::tools
