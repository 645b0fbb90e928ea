// What a site file leaves open or asks for, beyond the site itself: plates without switches, modules that name their
// plates, loads that nobody may switch.
#pragma once

#include "model/planning/wishes.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// Throws Unusable, with places, where a module names a plate that is none of ours. A site that came within a scenario
/// leaves nothing open, and may ask all the same.
model::SiteWishes site_wishes(const LoadedSite& loaded);

}  // namespace drybus::tools
