// What a caller can be asked to do and to look at, each in one place.
#pragma once

#include <string>
#include <vector>

#include "model/people/script.h"
#include "model/words/wording.h"

namespace drybus::model {

/// Something to do, and what can be looked at then by whoever does it.
struct CallerAction {
  Wording words;  ///< "In the hall, press up on Hall plate"
  Wording after;  ///< what has to be done after the look; empty: nothing
  std::vector<Step> steps;
  double minutes = 0;
  std::uint32_t lamps_after = 0;  ///< lamps are looked at when this step is over; loads when all are
  std::vector<DeviceId> lamps;
  std::vector<DeviceId> loads;
  bool is_reading = false;  ///< of the switches of lamps[0]
  /// Actions that follow one another and have the same one, other than 0, begin alike up to the look: whoever goes through the
  /// last of them has gone through all.
  std::uint32_t row = 0;
};

/// Asking, listening and going about it on the telephone; judgement.
inline constexpr sim::Duration asking_time = std::chrono::seconds{12};

/// What can be done about these devices, which are in question. `from`: where the caller stands.
std::vector<CallerAction> caller_actions(const Scenario& scenario, const std::vector<DeviceId>& in_question,
                                         PlaceId from);

// Steps of a question or a proof.
Step waiting(sim::Duration duration);
Step walking(PlaceId place);
Step pressing(DeviceId device, Buttons buttons, const HumanTimes& times);

/// The button of a plate that does this with a short press; nothing when there is none.
std::optional<Button> button_that(const PlateFamily& family, Command command);

}  // namespace drybus::model
