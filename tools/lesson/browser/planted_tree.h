// In a page nobody parses YAML: the trees of all files come along.
#pragma once

#include <boost/json.hpp>
#include <string>

namespace drybus::tools {

/// From now on this is what a file parses to; see tools/lesson/tree_json.h.
void plant_tree(const std::string& path, boost::json::value tree);

}  // namespace drybus::tools
