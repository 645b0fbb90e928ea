// Reading values and mappings off a tree: each reader gives the value, or complains at its place and gives
// nothing.
#pragma once

#include <concepts>
#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/devices/device.h"
#include "tools/script/complaints.h"
#include "tools/script/quantity.h"
#include "tools/script/tree.h"

namespace drybus::tools {

/// Words that may stand somewhere.
using Words = std::span<const std::string_view>;

/// "unknown key 'scripp'", with the right words and the nearest of them.
void complain_of_unknown(Complaints& complaints, const Place& place, std::string_view what,
                         std::string_view word, Words right);
void complain_of_unknown(Complaints& complaints, const Place& place, std::string_view what,
                         std::string_view word, std::span<const std::string> right);

/// True for a node of this kind; otherwise complains that `what` should be one.
bool is_kind(Complaints& complaints, const Node& node, Node::Kind kind, std::string_view what);

/// A mapping of ours, whose keys are known beforehand. Unknown ones are complained of at once.
class Fields {
 public:
  Fields(Complaints& complaints, const Node& map, std::string_view what, Words keys);

  [[nodiscard]] const Node& map() const { return map_; }

  /// The value of a key; null when it is not there (or the map is none).
  [[nodiscard]] const Node* find(std::string_view key) const;
  /// The same, but its absence is complained of, unless an unknown key was taken for it.
  [[nodiscard]] const Node* need(std::string_view key) const;
  /// Whether an unknown key was taken for this one, and complained of.
  [[nodiscard]] bool misspelt(std::string_view key) const;
  /// Whether any key was complained of.
  [[nodiscard]] bool has_unknown() const { return !meant_.empty(); }

 private:
  Complaints& complaints_;
  const Node& map_;
  std::string_view what_;
  std::vector<std::string> meant_;  ///< keys that unknown ones were taken for
};

std::optional<std::string> read_text(Complaints& complaints, const Node& node);
/// A text of one line: a title, a label. An end of line behind it does not count.
std::optional<std::string> read_line(Complaints& complaints, const Node& node);
std::optional<bool> read_yes_no(Complaints& complaints, const Node& node);

/// The index of a word in `right`; `what` says what it is, as in "unknown button 'ip'".
std::optional<std::size_t> read_choice(Complaints& complaints, const Node& node, std::string_view what,
                                       Words right);

std::optional<std::uint64_t> read_whole(Complaints& complaints, const Node& node, std::uint64_t least,
                                        std::uint64_t most);

template <std::unsigned_integral Number>
void read_whole_into(Complaints& complaints, const Node* node, Number& into, std::uint64_t least = 0,
                     std::uint64_t most = std::numeric_limits<Number>::max()) {
  if (node == nullptr) return;
  if (const auto value = read_whole(complaints, *node, least, most)) into = static_cast<Number>(*value);
}

/// Complains of a quantity that could not be read.
void complain_of(Complaints& complaints, const Node& node, const QuantityError& error);

template <class Value>
std::optional<Value> read_quantity(Complaints& complaints, const Node& node,
                                   Quantity<Value> (*parse)(std::string_view)) {
  const auto text = read_text(complaints, node);
  if (!text) return std::nullopt;
  const Quantity<Value> quantity = parse(*text);
  if (quantity) return *quantity;
  complain_of(complaints, node, quantity.error());
  return std::nullopt;
}

template <class Value>
void read_quantity_into(Complaints& complaints, const Node* node, Quantity<Value> (*parse)(std::string_view),
                        Value& into) {
  if (node == nullptr) return;
  if (const auto value = read_quantity(complaints, *node, parse)) into = *value;
}

/// A time, which has to be longer than none.
void read_some_time_into(Complaints& complaints, const Node* node, sim::Duration& into);

/// A number with its unit, from `least` to `most`.
void read_with_unit_into(Complaints& complaints, const Node* node, std::string_view unit, double least,
                         double most, double& into);

/// Complains unless a file says that it is version 1 of what `key` names: "drybus", "drybus-family" or
/// "drybus-site".
void check_version(const Fields& fields, std::string_view key, Complaints& complaints);

/// Letters, digits and underscores, a letter first: what devices, buttons and junctions may be called.
bool is_name(std::string_view text);

}  // namespace drybus::tools
