#include "tools/schedule/labels.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <map>

#include "tools/base/utf8.h"

namespace drybus::tools {

namespace {

constexpr std::string_view separators = "+;&";

std::string cut(std::string_view label) {
  return tidied(characters(label, 0, max_label_characters));
}

bool is_of_a_word(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
         static_cast<unsigned char>(c) >= 0x80;
}

/// Whether whole words of the label name the room.
bool names(std::string_view label, const std::string& room) {
  const std::string within = boost::to_lower_copy(std::string{label});
  const std::string word = boost::to_lower_copy(room);
  for (std::size_t at = within.find(word); at != std::string::npos; at = within.find(word, at + 1)) {
    const std::size_t end = at + word.size();
    const bool begins = at == 0 || !is_of_a_word(within[at - 1]) || !is_of_a_word(within[at]);
    const bool ends = end == within.size() || !is_of_a_word(within[end]) || !is_of_a_word(within[end - 1]);
    if (begins && ends) return true;
  }
  return false;
}

const std::string* longest_named(std::string_view label, const std::vector<std::string>& rooms) {
  const std::string* longest = nullptr;
  for (const std::string& room : rooms) {
    if (names(label, room) && (longest == nullptr || room.size() > longest->size())) longest = &room;
  }
  return longest;
}

}  // namespace

std::vector<std::string> plate_labels(std::string_view cell, const std::set<std::string>& known) {
  std::vector<std::string> labels;
  for (std::size_t begin = 0; begin < cell.size();) {
    std::size_t end = std::min(cell.find_first_of(separators, begin), cell.size());
    // The longest stretch from here that is one label.
    for (std::size_t to = end; to < cell.size();) {
      to = std::min(cell.find_first_of(separators, to + 1), cell.size());
      if (known.contains(boost::to_lower_copy(cut(cell.substr(begin, to - begin))))) end = to;
    }
    std::string label = cut(cell.substr(begin, end - begin));
    if (!label.empty() && label != "-") labels.push_back(std::move(label));
    begin = end + 1;
  }
  return labels;
}

bool has_label_separator(std::string_view label) {
  return label.find_first_of(separators) != std::string_view::npos;
}

std::string without_label_separators(std::string_view label) {
  std::string plain{label};
  for (char& c : plain) {
    if (separators.find(c) != std::string_view::npos) c = '/';
  }
  return plain;
}

std::optional<std::string> room_named(std::string_view label, const std::vector<std::string>& serves,
                                      const std::vector<std::string>& rooms) {
  const std::string* room = longest_named(label, serves);
  if (room == nullptr) room = longest_named(label, rooms);
  if (room == nullptr) return std::nullopt;
  return *room;
}

void make_labels_different(std::vector<Circuit>& circuits) {
  std::map<std::string, std::size_t> times;
  for (const Circuit& circuit : circuits) ++times[boost::to_lower_copy(circuit.label)];
  std::set<std::string> taken;
  for (const Circuit& circuit : circuits) {
    const std::string label = boost::to_lower_copy(circuit.label);
    if (times[label] == 1) taken.insert(label);
  }
  for (Circuit& circuit : circuits) {
    if (times[boost::to_lower_copy(circuit.label)] == 1) continue;
    const std::string whole = fmt::format("{}, {}", circuit.room, circuit.label);
    circuit.label = cut(whole);
    for (unsigned number = 2; !taken.insert(boost::to_lower_copy(circuit.label)).second; ++number) {
      const std::string end = fmt::format(" ({})", number);
      circuit.label = tidied(characters(whole, 0, max_label_characters - end.size())) + end;
    }
  }
}

}  // namespace drybus::tools
