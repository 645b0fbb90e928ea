// A family's numbers as firmware is given them.
#pragma once

#include "model/devices/module.h"
#include "model/family/family.h"
#include "model/firmware.h"

namespace drybus::model {

drybus_numbers numbers_of(const Family& family);

drybus_provision provision_of(const ModuleMemory& memory);

}  // namespace drybus::model
