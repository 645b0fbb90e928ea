// What can be out of step on a line, each with what usually makes it so and what helps. Common practice, no source.
#pragma once

#include <span>

#include "model/protocol/protocol.h"
#include "sim/enumeration.h"

namespace drybus::iec62386 {

BOOST_DEFINE_FIXED_ENUM_CLASS(FindingId, std::uint8_t, shared_short_address, no_short_address, random_twins,
                              init_ran_out, left_initialised, randomised_again, two_searchers, twice_missed,
                              dtr_trodden, over_64, line_overloaded, line_shorted, mains_on_line,
                              far_end_drop, polarity, lines_joined, old_groups, old_scenes, lit_at_power_up,
                              lit_at_line_failure, fade_surprise, limits_clip, wrong_type, mask_mistaken,
                              unswitched, powered_late)

/// In the order of FindingId.
std::span<const protocol::FindingKind> finding_kinds();

/// What goes with whatever touches wiring. The pair has basic insulation only.
std::string_view caution();

}  // namespace drybus::iec62386
