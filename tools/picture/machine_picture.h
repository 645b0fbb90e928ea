// A family's machines as a picture: a box for each state with its rows, an arrow for each row that leads elsewhere.
#pragma once

#include "model/family/family.h"
#include "model/suite/coverage.h"
#include "tools/picture/picture.h"

namespace drybus::tools::picture {

/// Plate on the left, module on the right, 1280 px wide. With `visits` each row and state says how often it was come through.
Picture machine_picture(const model::Family& family, const model::FamilyVisits* visits = nullptr);

}  // namespace drybus::tools::picture
