#include "model/findings/misread.h"

#include <algorithm>

#include "model/findings/moment.h"

namespace drybus::model {

namespace {

bool waits_for(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  return world.devices[module].mode == Mode::setup && !site.is_neighbour(module) &&
         is_joined(site, plate, module);
}

bool somebody_waits_for(const Site& site, const World& world, DeviceId plate) {
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (waits_for(site, world, site.module_id(i), plate)) return true;
  }
  return false;
}

}  // namespace

bool speaks_for_itself(const Site& site, const World& world, const sim::Entry& misread, bool unsure_before) {
  const DeviceId plate = misread.who;
  if (!site.is_plate(plate) || misread.b == 0 || somebody_waits_for(site, world, plate)) return true;
  const DeviceState& state = world.devices[plate];
  const Button assign = site.plate_family(plate).assign;
  const bool offers = assign != no_button && misread.a == only(assign);
  switch (state.setup_ended_by) {
    case ModeReason::time_out:
      return offers || !has_offered(world, plate);
    case ModeReason::power:  // what offers in setup has a use in normal mode, too
      return offers && unsure_before;
    case ModeReason::gesture:
    case ModeReason::button:
    case ModeReason::assigned:
      return true;
  }
  return true;
}

bool goes_on_with(const Site& site, const World& world, const sim::Entry& mode, DeviceId plate) {
  if (static_cast<Mode>(mode.a) != Mode::setup) return false;
  if (site.is_plate(mode.who)) return mode.who == plate;
  return world.devices[plate].believed_in_setup != 0 && waits_for(site, world, mode.who, plate);
}

void FindingWatch::take_in_misread(const Scenario& scenario, const World& world, const sim::Record& record,
                                   sim::EntryId id) {
  const sim::Entry& entry = record[id];
  const bool unsure_before = std::any_of(unsure_.begin(), unsure_.end(), [&](sim::EntryId other) {
    return record[other].who == entry.who && entry.at - record[other].at <= goes_on_within;
  });
  if (!speaks_for_itself(scenario.site, world, entry, unsure_before)) {
    unsure_.push_back(id);
    return;
  }
  was_meant_for_setup(record, entry.who, entry.at);
  tell_misread(record, id);
}

void FindingWatch::setup_goes_on(const Site& site, const World& world, const sim::Record& record,
                                 sim::EntryId id) {
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (goes_on_with(site, world, record[id], plate)) was_meant_for_setup(record, plate, record[id].at);
  }
}

void FindingWatch::was_meant_for_setup(const sim::Record& record, DeviceId plate, sim::Instant at) {
  std::erase_if(unsure_, [&](sim::EntryId id) {
    if (record[id].who != plate) return false;
    if (at - record[id].at <= goes_on_within) tell_misread(record, id);
    return true;
  });
}

void FindingWatch::tell_misread(const sim::Record& record, sim::EntryId id) {
  const sim::Entry& entry = record[id];
  observed_.push_back({FindingId::press_misread,
                       entry.at,
                       entry.at,
                       {entry.who},
                       without_gaps({entry.because, entry.cause, id})});
  dirty_ = true;
}

}  // namespace drybus::model
