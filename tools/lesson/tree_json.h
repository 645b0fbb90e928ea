// A parsed file as JSON, so that a page can read it without a parser of YAML.
//
// A node is [kind, line, column, length, quote + 2 * verbatim, content]: the content of a word is its text, of a list its nodes,
// of a mapping its keys and values in turn. What an alias stands for is written out.
#pragma once

#include <boost/json.hpp>

#include "tools/script/tree.h"

namespace drybus::tools {

boost::json::array tree_json(const Node& node);

}  // namespace drybus::tools
