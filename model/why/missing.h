// From something that did not happen back to why not: who was not in setup, which offers there were and what became of
// each, and what nobody did.
#pragma once

#include "model/why/happened.h"
#include "model/why/offers.h"
#include "model/world/world.h"

namespace drybus::model {

class Missing {
 public:
  /// `world`: as things stood when the question's moment had come.
  Missing(const History& history, const World& world, Happened& happened)
      : history_(history), world_(world), happened_(happened) {}

  /// Why a device was not in setup just before an entry.
  void not_in_setup(DeviceId device, sim::EntryId before, sim::Instant at);
  /// Why a module's address stayed as it was after an entry.
  void address_kept(DeviceId module, sim::EntryId after);
  /// Why a module's load stayed as it was after an entry.
  void level_kept(DeviceId module, sim::EntryId after);
  /// Why a plate in setup stands at channel 0.
  void not_stepped(DeviceId plate, sim::EntryId before, sim::Instant at, std::uint8_t channel);
  /// Why a plate stands at channel 0 that is not in setup either.
  void not_used(DeviceId plate, sim::Instant at);

 private:
  [[nodiscard]] Change insert_now(std::vector<Step> steps, sim::Instant at) const;
  bool failed_holds(DeviceId device, sim::EntryId after, sim::EntryId before);
  void leave_out_waits(sim::EntryId from, sim::EntryId to, std::vector<Change>& changes) const;
  bool slow_throws(DeviceId module, sim::EntryId after, sim::EntryId before, sim::Instant at);
  [[nodiscard]] std::vector<Way> ways_into_setup(DeviceId device, sim::EntryId before, sim::Instant at) const;
  void not_understood(DeviceId module, sim::EntryId heard);
  void nobody_held(DeviceId device, sim::EntryId before, sim::Instant at);
  void ignored(DeviceId module, const Offer& offer);
  void not_confirmed(DeviceId module, const Offer& offer);
  void not_offered(const Offer& offer, DeviceId module);
  void zone_was_zero(const Offer& offer, DeviceId module);
  void nothing_offered(DeviceId module, sim::EntryId after);
  [[nodiscard]] std::vector<Step> steps_to_address(DeviceId module, DeviceId plate, bool module_first) const;
  [[nodiscard]] DeviceId plate_for(DeviceId module) const;
  [[nodiscard]] std::uint8_t channel_for(DeviceId module) const;
  [[nodiscard]] bool meant_for(const Offer& offer, DeviceId module) const;
  [[nodiscard]] Step press(DeviceId device, Button button) const;

  const History& history_;
  const World& world_;
  Happened& happened_;
};

}  // namespace drybus::model
