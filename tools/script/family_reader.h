// A device family, off the tree of its file.
#pragma once

#include <optional>
#include <string>

#include "model/family/family.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// Nothing when anything was wrong; all of it has been complained of.
std::optional<model::Family> family_from(const Node& root, std::string name, Complaints& complaints);

/// Complains unless a file says that it is version 1 of what `key` names: "drybus", "drybus-family" or
/// "drybus-site".
void check_version(const Fields& fields, std::string_view key, Complaints& complaints);

}  // namespace drybus::tools
