// A family's numbers as firmware is given them.
#pragma once

#include "model/family.h"
#include "model/firmware.h"
#include "model/module.h"

namespace drybus::model {

drybus_numbers numbers_of(const Family& family);

drybus_provision provision_of(const ModuleMemory& memory);

}  // namespace drybus::model
