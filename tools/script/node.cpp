// Nodes of a tree, wherever the tree comes from.
#include <algorithm>

#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/script/tree.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg_as;

const Node* Node::find(std::string_view key) const {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [&](const Entry& e) { return e.key->text == key; });
  return found == entries.end() ? nullptr : found->value;
}

Place Node::place_of(std::size_t offset, std::size_t length) const {
  if (!verbatim) return place;
  Place part = place;
  part.mark.column +=
      quote + static_cast<std::uint32_t>(character_count(std::string_view{text}.substr(0, offset)));
  part.length = static_cast<std::uint32_t>(character_count(std::string_view{text}.substr(offset, length)));
  return part;
}

std::string_view spoken(Node::Kind kind) {
  switch (kind) {
    case Node::Kind::nothing:
      return in_words_spoken(msg_as("what", "nothing"), "what");
    case Node::Kind::word:
      return in_words_spoken(msg_as("what", "a single value"), "what");
    case Node::Kind::list:
      return in_words_spoken(msg_as("what", "a list"), "what");
    case Node::Kind::map:
      return in_words_spoken(msg_as("what", "a mapping"), "what");
  }
  return "";
}

}  // namespace drybus::tools
