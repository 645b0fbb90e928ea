// The names of findings.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "sim/enumeration.h"

namespace drybus::model {

BOOST_DEFINE_FIXED_ENUM_CLASS(FindingId, std::uint8_t, setup_split, assign_unheard, press_misread,
                              two_plates_in_setup, shared_address, wrong_address, unaddressed, orphan_address,
                              site_overlap, factory_site, zone_zero, out_of_reach, telegram_lost, blip_asleep,
                              powers_up_lit, stuck_button, write_lost, not_understood, scene_in_motion,
                              scene_missed, scene_of_before, scene_unset, scene_overwritten, scene_wrong,
                              master_next_door)
inline constexpr std::size_t finding_count = sim::count_of<FindingId>;

/// "setup-split"
std::string_view to_string(FindingId id);
std::optional<FindingId> parse_finding(std::string_view text);

}  // namespace drybus::model
