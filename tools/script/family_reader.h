// A device family, off the tree of its file.
#pragma once

#include <optional>
#include <string>

#include "model/family/family.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// Nothing when anything was wrong; all of it has been complained of.
std::optional<model::Family> family_from(const Node& root, std::string name, Complaints& complaints);

}  // namespace drybus::tools
