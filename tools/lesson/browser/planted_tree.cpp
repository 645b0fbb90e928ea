#include "tools/lesson/browser/planted_tree.h"

#include <map>

#include "model/words/words.h"
#include "tools/script/tree.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

namespace {

std::map<std::string, json::value>& planted() {
  static std::map<std::string, json::value> all;
  return all;
}

}  // namespace

void plant_tree(const std::string& path, json::value tree) {
  planted()[path] = std::move(tree);
}

/// Puts nodes together again, as the builder of the other build does from YAML.
class TreeBuilder {
 public:
  TreeBuilder(std::uint32_t file, Tree& tree) : file_(file), tree_(tree) {}

  void build(const json::value& told) { tree_.root_ = node(told.as_array()); }

 private:
  const Node* node(const json::array& told) {
    const auto number = [&](std::size_t i) { return told.at(i).to_number<std::uint32_t>(); };
    Node& made = tree_.nodes_.emplace_back();
    made.kind = static_cast<Node::Kind>(number(0));
    made.place = {{file_, number(1), number(2)}, number(3)};
    made.quote = static_cast<std::uint8_t>(number(4) % 2);
    made.verbatim = number(4) >= 2;
    if (made.kind == Node::Kind::word) {
      made.text = told.at(5).as_string().c_str();
      return &made;
    }
    const json::array& content = told.at(5).as_array();
    if (made.kind == Node::Kind::list) {
      for (const json::value& item : content) made.items.push_back(node(item.as_array()));
    } else {
      for (std::size_t i = 0; i + 1 < content.size(); i += 2) {
        const Node* key = node(content[i].as_array());
        made.entries.push_back({key, node(content[i + 1].as_array())});
      }
    }
    return &made;
  }

  std::uint32_t file_;
  Tree& tree_;
};

std::unique_ptr<Tree> parse_tree(std::uint32_t file, Complaints& complaints) {
  const auto found = planted().find(complaints.sources()[file].path);
  if (found == planted().end()) {
    complaints.add({{file, 1, 1}, 1}, tr("this file did not come along"));
    return nullptr;
  }
  auto tree = std::make_unique<Tree>();
  TreeBuilder{file, *tree}.build(found->second);
  return tree;
}

}  // namespace drybus::tools
