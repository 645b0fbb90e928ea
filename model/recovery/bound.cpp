// The least that a cure can still take: what the search goes by.
#include <algorithm>

#include "model/planning/route.h"
#include "model/planning/ways_into_setup.h"
#include "model/recovery/search.h"

namespace drybus::model {

sim::Duration CureRules::at_least(const Situation& situation) const {
  sim::Duration sum{};
  sum += cover_work_at_least(situation);
  std::uint64_t places = 0;
  const auto to_visit = [&](DeviceId device) {
    if (site().place(device) < 64) places |= std::uint64_t{1} << site().place(device);
  };
  bool plate_needed = false;
  bool plate_ready = false;
  std::uint8_t highest = 0;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const DeviceId module = site().module_id(i);
    if (!wants_address(situation, module)) continue;
    if (situation.devices[module].offered != 0) {
      sum += tap();
      continue;
    }
    plate_needed = true;
    sum += asks(module) ? sim::Duration::zero() : tap();
    highest = std::max(highest, stand_for(module));
    const bool listens = situation.devices[module].standing != Standing::normal;
    const sim::Duration hold = way_takes(module) + hold_margin + times().pause;
    if (!listens) {
      sum += hold;
      to_visit(module);
    }
    if (!wants_other_site(situation, module)) continue;
    sum += tap() + hold;  // it has to take two
    to_visit(module);
  }
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    if (!own(plate)) continue;
    const Belief& belief = situation.devices[plate];
    if (belief.setting != 1) {
      to_visit(plate);
    }
    if (belief.standing == Standing::normal) continue;
    plate_ready = true;
    if (plate_needed && belief.standing == Standing::setup && belief.channel >= highest) highest = 0;
    if (plate_needed && belief.standing == Standing::setup && highest > belief.channel)
      highest = static_cast<std::uint8_t>(highest - belief.channel);
  }
  if (plate_needed) {
    // Whichever plate it will be: the quickest way into setup, and the most that one begins with.
    std::uint8_t first = 0;
    sim::Duration way = sim::Duration::max();
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
      way = std::min(way, site().setup_hold(plate));
      first = std::max(first, first_channel(site().plate_family(plate)));
    }
    if (plate_ready) first = 0;  // it stands somewhere already
    sum += tap() * (1 + (highest > first ? highest - first : 0));  // leaving, and stepping there
    if (!plate_ready) sum += way + hold_margin + times().pause;
  }
  if (situation.place < 64) places &= ~(std::uint64_t{1} << situation.place);
  for (PlaceId there = 0; there < site().places.size() && places >> there != 0; ++there) {
    if ((places >> there & 1) == 0) continue;
    sim::Duration least = sim::Duration::max();
    for (PlaceId from = 0; from < site().places.size(); ++from) {
      if (from != there) least = std::min(least, site().walk(from, there));
    }
    if (site().places.size() > 1) sum += least;
  }
  return sum;
}

}  // namespace drybus::model
