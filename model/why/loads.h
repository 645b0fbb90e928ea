// Why a load is as bright as it is: back along what was stored, from a scene to who stored it, from a level that came back
// with the power to who had set it, from a raise to its stop or to the telegram that was lost.
#pragma once

#include "model/why/happened.h"
#include "model/why/missing.h"

namespace drybus::model {

class Loads {
 public:
  /// All must outlive this.
  Loads(const History& history, Happened& happened, Missing& missing)
      : history_(history), happened_(happened), missing_(missing) {}

  /// What made a module's load what it was before an entry, and why it stayed so.
  void level(DeviceId module, sim::EntryId before);
  /// A What::power entry of a module: its power went or came back, with the level that goes with it.
  void by_power(DeviceId module, sim::EntryId power);
  /// What made a module's scene what it was before an entry.
  void scene(DeviceId module, std::uint8_t number, sim::EntryId before);

 private:
  [[nodiscard]] sim::EntryId level_set(DeviceId module, sim::EntryId before) const;
  void set_by(DeviceId module, sim::EntryId id);
  void by_telegram(DeviceId module, sim::EntryId heard);
  void moved(DeviceId module, sim::EntryId heard);
  void stopped_too_late(DeviceId module, sim::EntryId heard);
  void kept(DeviceId module, sim::EntryId before);
  void came_on(DeviceId module, sim::EntryId before);
  [[nodiscard]] bool was_on_its_way(sim::EntryId set, sim::EntryId then) const;
  void last_level_at_start(DeviceId module);
  void scene_at_start(DeviceId module, std::uint8_t number);

  const History& history_;
  Happened& happened_;
  Missing& missing_;
  int depth_ = 0;
};

}  // namespace drybus::model
