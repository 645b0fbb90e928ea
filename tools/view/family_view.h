// A device family read back in words, what is doubtful about it, and where two families part.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "model/devices/machine_check.h"
#include "model/family/family.h"

namespace drybus::tools {

/// The whole family: what people press and how long it takes, then each machine state by state.
std::string family_text(const model::Family& family);

/// One line for each remark, with its place in the file.
std::string remarks_text(const std::vector<model::MachineRemark>& remarks, std::string_view file);

/// One point in which two families part: the same question to both.
struct FamilyDifference {
  std::string what;  ///< "module: time-out"
  std::string one;
  std::string other;
};
/// Numbers, bindings, states and rows, in a fixed order; empty when both do the same.
std::vector<FamilyDifference> differences(const model::Family& one, const model::Family& other);

}  // namespace drybus::tools
