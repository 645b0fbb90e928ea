// Notices what is out of step while a run goes on. It looks, and changes nothing but what it keeps for itself.
#pragma once

#include <vector>

#include "model/iec62386/finding_kinds.h"
#include "model/iec62386/trace.h"
#include "model/iec62386/world.h"

namespace drybus::iec62386 {

class Watch {
 public:
  Watch(const Scenario& scenario, World& world, const sim::Record& record);

  void frame(const BitFrame& frame, sim::EntryId entry, Index sender);
  /// `entry`: of what it did; `cause`: the frame or whatever else made it; `sender`: of the frame, or none.
  void gear_did(Index gear, const Effects& effects, sim::EntryId entry, sim::EntryId cause, Index sender,
                Level before);
  void job_begun(Index controller, sim::EntryId entry);
  void job_over(Index controller, sim::EntryId entry);
  void no_number(Index controller, sim::EntryId entry);
  void cannot_send(Index controller, sim::EntryId entry);
  void unheard(Index gear, sim::EntryId entry);
  void fault(const Fault& fault, sim::EntryId entry);
  void swapped(Index gear, sim::EntryId entry);
  void state_changed(sim::EntryId entry);

  [[nodiscard]] const std::vector<protocol::Found>& findings() const { return findings_; }

 private:
  /// One that goes on; `number` tells those of one kind apart.
  struct Open {
    FindingId id;
    std::uint32_t number;
    std::size_t finding;
  };
  using Gear = std::vector<Index>;

  protocol::Found* find_open(FindingId id, std::uint32_t number);
  /// Goes on until `close`.
  void open(FindingId id, std::uint32_t number, const std::vector<std::uint32_t>& devices, std::string text,
            std::vector<sim::EntryId> because);
  void close(FindingId id, std::uint32_t number);
  /// Of one moment; devices of the same kind at the same moment are told together.
  void at_once(FindingId id, std::uint32_t device, std::string text, std::vector<sim::EntryId> because);
  /// Open while there are any.
  void keep(FindingId id, std::uint32_t number, const Gear& gear, const std::string& text,
            std::vector<sim::EntryId> because);

  void shared_addresses(Index group, sim::EntryId entry);
  void addresses_missing(Index group, sim::EntryId entry);
  void lines(sim::EntryId entry);
  void followed(Index gear, const Effects& effects, const Said& said, sim::EntryId cause);
  void settings(Index gear, const Effects& effects, const Said& said);
  void moments(Index gear, const Effects& effects, sim::EntryId entry, sim::EntryId cause, Index sender);
  void lights(Index gear, const Effects& effects, sim::EntryId entry);
  void dtr(Index gear, sim::EntryId cause, Index sender);
  void left_initialised(Index group, sim::EntryId entry);
  void searchers(Index group, sim::EntryId entry);
  [[nodiscard]] Index group_of(Index gear) const;
  [[nodiscard]] bool round_in(Index group) const;
  [[nodiscard]] std::uint32_t device(Index gear) const;

  const Scenario& scenario_;
  const Site& site_;
  World& world_;
  const sim::Record& record_;
  std::vector<protocol::Found> findings_;
  std::vector<Open> open_;
  std::vector<bool> in_round_;  ///< of each controller
  std::vector<bool> takes_stock_;
  std::vector<bool> expected_;  ///< of each gear: it should have an address by now
  std::vector<sim::EntryId> ran_out_;
  std::vector<sim::EntryId> over_64_;  ///< of each line
  std::vector<RandomAddress> randoms_;
  std::vector<sim::EntryId> dtr0_last_;  ///< of each line: the last frame that wrote it
  std::vector<sim::EntryId> dtr0_by_;    ///< of each controller
};

}  // namespace drybus::iec62386
