// Small words of a plan, alike in text, CSV and JSON.
#pragma once

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <string>
#include <vector>

#include "model/planning/plan.h"
#include "model/words/words.h"

namespace drybus::tools {

inline double seconds(sim::Duration duration) {
  return static_cast<double>(duration.count()) / 1e9;
}

inline const std::string& place_of(const model::Site& site, model::DeviceId device) {
  return site.places[site.place(device)].name;
}

/// The plate that assigns a module; "-" where none does.
inline std::string plate_of(const model::Site& site, const model::ScheduleRow& row) {
  return row.plates.empty() ? "-" : site.name(row.plates.front());
}

/// A module's address in the schedule; "none" where it gets none.
inline std::string address_text(const model::ScheduleRow& row) {
  return row.address.channel == 0 ? model::tr_as("address", "none") : to_string(row.address);
}

/// "set", "plus and minus together"
inline std::string gesture_text(const model::PlateFamily& family) {
  std::vector<std::string> held;
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    if ((family.setup_gesture & model::only(static_cast<model::Button>(i))) != 0)
      held.push_back(family.buttons[i]);
  }
  return held.size() == 1
             ? held.front()
             : model::tr("{} together",
                         fmt::format("{}", fmt::join(held, model::in_words_spoken(model::msg(" and ")))));
}

}  // namespace drybus::tools
