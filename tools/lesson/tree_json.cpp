#include "tools/lesson/tree_json.h"

namespace drybus::tools {

namespace json = boost::json;

json::array tree_json(const Node& node) {
  json::array content;
  for (const Node* item : node.items) content.push_back(tree_json(*item));
  for (const Node::Entry& entry : node.entries) {
    content.push_back(tree_json(*entry.key));
    content.push_back(tree_json(*entry.value));
  }
  json::array told{static_cast<std::uint64_t>(node.kind), node.place.mark.line, node.place.mark.column,
                   node.place.length, node.quote + (node.verbatim ? 2u : 0u)};
  node.kind == Node::Kind::word ? told.emplace_back(node.text) : told.emplace_back(std::move(content));
  return told;
}

}  // namespace drybus::tools
