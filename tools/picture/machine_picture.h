// A family's machines as a picture: a box for each state with its rows, an arrow for each row that leads elsewhere.
#pragma once

#include "model/family/family.h"
#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// Plate on the left, module on the right, 1280 px wide.
Picture machine_picture(const model::Family& family);

}  // namespace drybus::tools::picture
