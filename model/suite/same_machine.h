// Whether two machines of a family do the same, whatever comes: shown row by row, without running them.
#pragma once

#include "model/family/family.h"

namespace drybus::model {

/// True when in every state that can be reached, on every event that this family's devices and people can bring about, and
/// whichever conditions hold together, both take rows that do the same and lead to the same state. What is done about a time
/// that makes no difference any more does not count, nor what only the record tells: why a press was refused, that an offer
/// was ignored. False says nothing: they may do the same all the same.
/// REQUIRES: families that differ in nothing but the rows, and what is done on entry and exit, of that kind of device.
bool do_the_same(const Family& family, const Family& other, DeviceKind kind);

}  // namespace drybus::model
