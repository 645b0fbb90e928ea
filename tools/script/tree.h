// A YAML text as a tree of words, lists and mappings, each with its place. Every scalar is a plain word:
// `on`, `no` and `1e3` mean nothing here.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "tools/script/complaints.h"

namespace drybus::tools {

/// Deeper nesting is refused; so are more nodes, an alias counting as all that it stands for.
inline constexpr std::uint32_t max_depth = 64;
inline constexpr std::uint32_t max_nodes = 100'000;

struct Node {
  enum class Kind : std::uint8_t { nothing, word, list, map };
  struct Entry {
    const Node* key = nullptr;  ///< a word
    const Node* value = nullptr;
  };

  Kind kind = Kind::nothing;
  std::string text;  ///< of a word
  std::vector<const Node*> items;
  std::vector<Entry> entries;  ///< in the order of the text; no key twice
  Place place;
  bool verbatim = false;     ///< the word stands in the source just as it is in `text`
  std::uint8_t quote = 0;    ///< 1 when a quotation mark stands before it
  std::uint32_t size = 1;    ///< nodes, itself included
  std::uint32_t height = 1;  ///< levels, itself included

  [[nodiscard]] const Node* find(std::string_view key) const;
  /// Where a part of a word stands; the whole word where that cannot be told.
  [[nodiscard]] Place place_of(std::size_t offset, std::size_t length) const;
};

/// "a mapping", "a list", ...
/// "a list", in the words that are spoken.
std::string_view spoken(Node::Kind kind);

/// Owns its nodes; they never move.
class Tree {
 public:
  [[nodiscard]] const Node& root() const { return *root_; }

 private:
  friend class TreeBuilder;
  std::deque<Node> nodes_;
  const Node* root_ = nullptr;
};

/// Parses the text of source `file`; null when something was wrong that leaves no tree. Duplicate keys are
/// complained of, and the first of them counts.
std::unique_ptr<Tree> parse_tree(std::uint32_t file, Complaints& complaints);

}  // namespace drybus::tools
