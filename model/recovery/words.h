// A cure as it is told by telephone: one sentence for each thing to do, with what the lamp should show then.
#pragma once

#include <span>
#include <vector>

#include "model/recovery/recover.h"
#include "model/recovery/rehearsal.h"

namespace drybus::model {

/// Lines for the steps. `rehearsals`: the steps run in every world, watched; only what all of them show is
/// promised.
std::vector<CureLine> tell(const Scenario& asked, const Aim& aim, PlaceId start, std::span<const Step> steps,
                           std::span<const Rehearsal> rehearsals);

/// "the local button"; with its name where its family calls it something else: "the local button (pad)".
std::string local_button_text(const Site& site, DeviceId module);

/// "1 min 25 s": rounded to whole seconds.
std::string minutes_text(sim::Duration time);

}  // namespace drybus::model
