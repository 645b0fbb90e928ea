#include "tools/script/fields.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/base/nearest.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg_as;
using model::tr;

namespace {

template <class Word>
void complain_of_word(Complaints& complaints, const Place& place, std::string_view what,
                      std::string_view word, std::span<const Word> right) {
  complaints.add(place, tr("unknown {} '{}'", in_words_spoken(what, "what"), word),
                 right.empty() ? "" : one_of(right), nearest(word, right));
}

constexpr std::array<std::string_view, 4> yes_no_words = {"yes", "no", "true", "false"};

}  // namespace

void complain_of_unknown(Complaints& complaints, const Place& place, std::string_view what,
                         std::string_view word, Words right) {
  complain_of_word(complaints, place, what, word, right);
}

void complain_of_unknown(Complaints& complaints, const Place& place, std::string_view what,
                         std::string_view word, std::span<const std::string> right) {
  complain_of_word(complaints, place, what, word, right);
}

bool is_kind(Complaints& complaints, const Node& node, Node::Kind kind, std::string_view what) {
  if (node.kind == kind) return true;
  complaints.add(node.place, tr("{} should be {}, not {}", in_words_spoken(what, "what"), spoken(kind),
                                spoken(node.kind)));
  return false;
}

Fields::Fields(Complaints& complaints, const Node& map, std::string_view what, Words keys)
    : complaints_(complaints), map_(map), what_(what) {
  if (!is_kind(complaints, map, Node::Kind::map, what)) return;
  for (const Node::Entry& entry : map.entries) {
    if (std::find(keys.begin(), keys.end(), entry.key->text) == keys.end()) {
      complain_of_unknown(complaints, entry.key->place, msg_as("what", "key"), entry.key->text, keys);
      meant_.push_back(nearest(entry.key->text, keys));
    }
  }
}

const Node* Fields::find(std::string_view key) const {
  return map_.find(key);
}

bool Fields::misspelt(std::string_view key) const {
  return std::find(meant_.begin(), meant_.end(), key) != meant_.end();
}

const Node* Fields::need(std::string_view key) const {
  const Node* found = find(key);
  if (found == nullptr && !misspelt(key) && map_.kind == Node::Kind::map) {
    complaints_.add(map_.place, tr("{} lacks the key '{}'", in_words_spoken(what_, "what"), key));
  }
  return found;
}

std::optional<std::string> read_text(Complaints& complaints, const Node& node) {
  if (node.kind == Node::Kind::word) return node.text;
  if (node.kind == Node::Kind::nothing) {
    complaints.add(node.place, tr("a value is missing"));
  } else {
    complaints.add(node.place, tr("{} where a single value should be", spoken(node.kind)));
  }
  return std::nullopt;
}

std::optional<std::string> read_line(Complaints& complaints, const Node& node) {
  auto text = read_text(complaints, node);
  if (text && text->ends_with('\n')) text->pop_back();
  if (!text || text->find('\n') == std::string::npos) return text;
  complaints.add(node.place, tr("this has more than one line"), tr("a text of one line"));
  return std::nullopt;
}

std::optional<bool> read_yes_no(Complaints& complaints, const Node& node) {
  const auto choice = read_choice(complaints, node, msg_as("what", "answer"), yes_no_words);
  if (!choice) return std::nullopt;
  return *choice % 2 == 0;
}

std::optional<std::size_t> read_choice(Complaints& complaints, const Node& node, std::string_view what,
                                       Words right) {
  const auto text = read_text(complaints, node);
  if (!text) return std::nullopt;
  const auto found = std::find(right.begin(), right.end(), *text);
  if (found != right.end()) return static_cast<std::size_t>(found - right.begin());
  complain_of_unknown(complaints, node.place, what, *text, right);
  return std::nullopt;
}

std::optional<std::uint64_t> read_whole(Complaints& complaints, const Node& node, std::uint64_t least,
                                        std::uint64_t most) {
  const auto value = read_quantity(complaints, node, parse_whole);
  if (value && (*value < least || *value > most)) {
    complaints.add(node.place, tr("{} is out of range", *value),
                   tr("a whole number from {} to {}", least, most));
    return std::nullopt;
  }
  return value;
}

void complain_of(Complaints& complaints, const Node& node, const QuantityError& error) {
  complaints.add(node.place, error.message, error.expected, error.suggestion);
}

void read_some_time_into(Complaints& complaints, const Node* node, sim::Duration& into) {
  if (node == nullptr) return;
  const auto time = read_quantity(complaints, *node, parse_duration);
  if (!time) return;
  if (*time <= sim::Duration::zero()) {
    complaints.add(node->place, tr("no time at all"), tr("a time longer than none, such as 200ms"));
  } else {
    into = *time;
  }
}

void read_with_unit_into(Complaints& complaints, const Node* node, std::string_view unit, double least,
                         double most, double& into) {
  if (node == nullptr) return;
  const auto text = read_text(complaints, *node);
  if (!text) return;
  const Quantity<double> quantity = parse_with_unit(*text, unit);
  if (!quantity) {
    complain_of(complaints, *node, quantity.error());
  } else if (*quantity < least || *quantity > most) {
    complaints.add(node->place, tr("{} is out of range", *text),
                   tr("{} {} to {} {}", least, unit, most, unit));
  } else {
    into = *quantity;
  }
}

void check_version(const Fields& fields, std::string_view key, Complaints& complaints) {
  const Node& root = fields.map();
  const Node* version = fields.find(key);
  if (root.kind != Node::Kind::map || fields.misspelt(key)) return;
  if (version == nullptr) {
    complaints.add(root.place, tr("the key '{}' is missing: it says what this file is", key),
                   fmt::format("{}: 1", key));
  } else if (version->kind != Node::Kind::word || version->text != "1") {
    complaints.add(version->place, tr("version '{}' is not known here", version->text),
                   fmt::format("{}: 1", key));
  }
}

bool is_name(std::string_view text) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  const auto fits = [&](char c) { return letter(c) || (c >= '0' && c <= '9') || c == '_'; };
  return !text.empty() && letter(text.front()) && std::all_of(text.begin(), text.end(), fits) &&
         text.size() <= 48;
}

}  // namespace drybus::tools
