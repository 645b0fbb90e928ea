// A schedule on its way out: as a site file, and as a sheet again.
#pragma once

#include <string>

#include "tools/schedule/schedule.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// A site file that `plan` reads. `family` is how it names its family, `about` a few words on where it comes from.
/// REQUIRES: every circuit has a plate (give_plates).
std::string site_yaml(const Schedule& schedule, const std::string& family, const std::string& about);

/// The columns of a schedule as we write it; read back, they make the same schedule.
std::string schedule_csv(const Schedule& schedule);

/// What a site file says, as a schedule. Neighbours are none of it.
Schedule schedule_of(const LoadedSite& loaded);

}  // namespace drybus::tools
