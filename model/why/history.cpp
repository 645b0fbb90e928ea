#include "model/why/history.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"

namespace drybus::model {

sim::EntryId History::last(What kind, DeviceId device, sim::EntryId before) const {
  return last(before, [&](const sim::Entry& entry) { return what(entry) == kind && entry.who == device; });
}

bool History::in_setup(DeviceId device, sim::EntryId before) const {
  const sim::EntryId mode = last_mode(device, before);
  return mode != sim::no_entry && static_cast<Mode>(record_[mode].a) == Mode::setup;
}

bool History::powered(DeviceId device, sim::EntryId before) const {
  const sim::EntryId power = last(What::power, device, before);
  return power == sim::no_entry || record_[power].a != 0;
}

sim::EntryId History::first_at(sim::Instant at) const {
  const auto entries = record_.entries();
  const auto first = std::partition_point(entries.begin(), entries.end(),
                                          [&](const sim::Entry& entry) { return entry.at < at; });
  return static_cast<sim::EntryId>(first - entries.begin() + 1);
}

sim::EntryId History::step_entry(sim::EntryId entry) const {
  return model::step_behind(record_, entry);
}

std::optional<StepRef> History::step_behind(sim::EntryId entry) const {
  const sim::EntryId step = step_entry(entry);
  return step == sim::no_entry ? std::nullopt : original(step);
}

const Step& History::step_of(sim::EntryId step_entry) const {
  const sim::Entry& entry = record_[step_entry];
  return scenario().people[entry.who].script[entry.a];
}

std::optional<StepRef> History::original(sim::EntryId step_entry) const {
  const sim::Entry& entry = record_[step_entry];
  return altered_.origin({entry.who, entry.a});
}

std::string History::in_brackets(sim::EntryId entry) const {
  const sim::EntryId step = step_entry(entry);
  if (step == sim::no_entry) return {};
  const std::uint32_t person = record_[step].who;
  const std::string whose = person == 0 ? "" : scenario().people[person].name + ": ";
  return fmt::format(" ({}{})", whose, describe(scenario(), step_of(step)));
}

std::string History::gesture_text(DeviceId device) const {
  return buttons_text(site(), device, site().setup_gesture(device));
}

}  // namespace drybus::model
