// A timeline that ends in the middle of a run.
#include <algorithm>

#include "tools/timeline/timeline.h"

namespace drybus::tools {

namespace {

template <class Part>
void drop_later(std::vector<Part>& parts, sim::EntryId last) {
  std::erase_if(parts, [&](const Part& part) { return part.entry > last; });
}

/// What was begun is not over: when that will be, nobody knows yet.
template <class Part>
void cut(std::vector<Part>& parts, sim::Instant at) {
  for (Part& part : parts) part.to = std::min(part.to, at);
}

void end(DeviceLane& lane, sim::Instant at, sim::EntryId last) {
  drop_later(lane.presses, last);
  for (PressBand& press : lane.presses) {
    if (press.released && press.up <= at) continue;
    press.released = false;
    press.up = at;
  }
  std::erase_if(lane.in_sight, [&](const Stretch& sight) { return sight.from > at; });
  std::erase_if(lane.setups, [&](const SetupBand& band) { return band.entered > last; });
  for (SetupBand& band : lane.setups) {
    std::erase_if(band.restarts, [&](sim::Instant restart) { return restart > at; });
    if (band.left == sim::no_entry || band.left <= last) continue;
    band.ended_by.reset();
    band.left = sim::no_entry;
    band.to = at;
  }
  drop_later(lane.lamps, last);
  drop_later(lane.marks, last);
  drop_later(lane.cuts, last);
  cut(lane.lamps, at);
  cut(lane.cuts, at);
  cut(lane.in_sight, at);
  // A fade that goes on keeps its end: where it is at this moment is read off it.
  drop_later(lane.levels, last);
}

void end(PersonLane& lane, sim::Instant at, sim::EntryId last) {
  drop_later(lane.walks, last);
  drop_later(lane.waits, last);
  drop_later(lane.notes, last);
  std::erase_if(lane.glances, [&](const Glance& glance) { return glance.entries.front() > last; });
  std::erase_if(lane.stays, [&](const Stay& stay) { return stay.from > at; });
  cut(lane.walks, at);
  cut(lane.waits, at);
  cut(lane.stays, at);
}

}  // namespace

Timeline up_to(Timeline timeline, const sim::Record& record, sim::EntryId last) {
  const sim::Instant at = record[last].at;
  for (DeviceLane& lane : timeline.devices) end(lane, at, last);
  for (PersonLane& lane : timeline.people) end(lane, at, last);
  std::erase_if(timeline.telegrams, [&](const TelegramMark& telegram) { return telegram.sent > last; });
  for (TelegramMark& telegram : timeline.telegrams) telegram.end = std::min(telegram.end, at);
  std::erase_if(timeline.links, [&](const LinkMark& link) { return link.entry > last; });
  std::erase_if(timeline.findings, [&](const FindingSpan& finding) { return finding.from > at; });
  cut(timeline.findings, at);
  std::erase_if(timeline.named, [&](sim::Instant named) { return named > at; });
  timeline.end = at;
  return timeline;
}

}  // namespace drybus::tools
