// A timeline without what nobody on site can see.
#include <algorithm>
#include <cmath>

#include "model/words/words.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

namespace {

/// What of the lamp's bands is in sight, cut where the sight begins and ends.
std::vector<LampBand> seen(const std::vector<LampBand>& lamps, const std::vector<Stretch>& sights) {
  std::vector<LampBand> kept;
  for (const Stretch& sight : sights) {
    for (LampBand lamp : lamps) {
      const bool apart = lamp.to < sight.from || lamp.from > sight.to;
      lamp.from = std::max(lamp.from, sight.from);
      lamp.to = std::min(lamp.to, sight.to);
      if (!apart && (lamp.from < lamp.to || sight.from == sight.to)) kept.push_back(lamp);
    }
  }
  return kept;
}

/// Adds what of a stretch between two points is in sight. A jump of one moment has both its points.
void add_seen(std::vector<LevelPoint>& kept, const LevelPoint& a, const LevelPoint& b, const Stretch& sight) {
  if (b.at < sight.from || a.at > sight.to) return;
  const auto between = [&](sim::Instant when) {
    const double part = sim::seconds(when - a.at) / sim::seconds(b.at - a.at);
    return LevelPoint{when, static_cast<Level>(std::lround(a.level + (b.level - a.level) * part)), a.entry};
  };
  const auto add = [&](const LevelPoint& point) {
    const bool same = !kept.empty() && kept.back().at == point.at && kept.back().level == point.level;
    if (!same) kept.push_back(point);
  };
  add(a.at >= sight.from ? a : between(sight.from));
  add(b.at <= sight.to ? b : between(sight.to));
}

std::vector<LevelPoint> seen(const std::vector<LevelPoint>& levels, const std::vector<Stretch>& sights) {
  std::vector<LevelPoint> kept;
  for (const Stretch& sight : sights) {
    for (std::size_t i = 0; i + 1 < levels.size(); ++i) add_seen(kept, levels[i], levels[i + 1], sight);
  }
  return kept;
}

void take_out_hidden(DeviceLane& lane) {
  lane.set_to.clear();  // behind the cover, until somebody sets them
  lane.held.clear();
  lane.power_up.clear();
  lane.setups.clear();
  std::erase_if(lane.marks, [](const DeviceMark& mark) { return is_hidden(mark.kind); });
  // A button that sticks by a fault is nobody's press: on site one sees what comes of it.
  std::erase_if(lane.presses, [](const PressBand& press) { return press.stuck; });
  for (PressBand& press : lane.presses) press.misread = false;
  lane.lamps = seen(lane.lamps, lane.in_sight);
  lane.levels = seen(lane.levels, lane.in_sight);
}

}  // namespace

Timeline seen_on_site(Timeline timeline) {
  timeline.title = model::tr("What could be seen");
  timeline.about.clear();
  timeline.telegrams.clear();
  timeline.links.clear();
  timeline.findings.clear();
  timeline.named.clear();
  timeline.only_seen = true;
  for (DeviceLane& lane : timeline.devices) take_out_hidden(lane);
  for (PersonLane& lane : timeline.people)
    std::erase_if(lane.glances, [](const Glance& glance) { return !glance.seen; });
  return timeline;
}

}  // namespace drybus::tools
