// Everything that changes on a line, as one plain value: a copy is a fork, and equal worlds go on alike.
#pragma once

#include <array>
#include <vector>

#include "model/iec62386/controller.h"
#include "sim/digest.h"
#include "sim/event_queue.h"
#include "sim/random.h"

namespace drybus::iec62386 {

/// What is kept beside a gear's own state, by whoever drives it.
struct GearSide {
  std::array<sim::EventQueue::Handle, sim::count_of<Timer>> timers{};
  sim::Stream random;        ///< of random addresses
  sim::Stream delay;         ///< of how soon it answers
  std::uint32_t misses = 0;  ///< so many frames that it will not hear
  bool holds_low = false;
  std::uint16_t kept_groups = 0;  ///< those that nobody in this run gave it
  std::uint16_t kept_scenes = 0;  ///< likewise, a bit for each
  Level before_cut = 0;
  Level before_failure = 0;
  sim::EntryId first_of_two = sim::no_entry;  ///< the frame that has to come again
  sim::EntryId programmed_by = sim::no_entry;
  friend bool operator==(const GearSide&, const GearSide&) = default;
};

/// A frame on its way.
struct Sending {
  std::uint16_t controller = no_index;
  BitFrame frame;
  sim::Instant from{};
  sim::EntryId entry = sim::no_entry;
  bool shadow = false;  ///< the same as another, at the same time
  friend bool operator==(const Sending&, const Sending&) = default;
};

struct Answering {
  std::uint16_t gear = no_index;
  std::uint8_t value = 0;
  sim::Instant from{};
  friend bool operator==(const Answering&, const Answering&) = default;
};

/// A line; joined ones are one, and the first of them keeps what is on it.
struct LineNow {
  bool supply_on = true;
  bool shorted = false;
  bool mains_on_it = false;
  std::uint32_t second_supply_ma = 0;
  std::uint16_t joined_to = no_index;  ///< the first line that this one is one with, if not itself
  bool low = false;
  sim::EntryId low_since = sim::no_entry;
  sim::Instant idle_from{};  ///< the end of whatever was on it last
  std::vector<Sending> sending;
  sim::EventQueue::Handle over = sim::EventQueue::none;  ///< when the first of them is
  std::vector<Answering> answering;
  std::uint16_t asker = no_index;
  sim::EntryId asked_by = sim::no_entry;
  friend bool operator==(const LineNow&, const LineNow&) = default;
};

struct PersonNow {
  std::uint32_t step = 0;
  Index place = 0;
  bool arrived = false;                ///< where the step in hand is done
  bool waits = false;                  ///< for a controller
  sim::EntryId entry = sim::no_entry;  ///< of the step in hand
  sim::Stream pace;                    ///< of how long naming a lamp takes
  friend bool operator==(const PersonNow&, const PersonNow&) = default;
};

struct World {
  sim::Instant now{};
  sim::EventQueue queue;
  std::vector<GearState> gear;
  std::vector<GearSide> beside;
  std::vector<Controller> controllers;
  std::vector<sim::Stream> settling;  ///< of each controller
  std::vector<LineNow> lines;
  std::vector<PersonNow> people;
  friend bool operator==(const World&, const World&) = default;

  /// The first of the lines that are one with this one.
  [[nodiscard]] Index group(Index line) const {
    return lines[line].joined_to == no_index ? line : lines[line].joined_to;
  }
  void add_to(sim::Digest& digest) const;
};

World initial_world(const Scenario& scenario, std::uint64_t seed);

}  // namespace drybus::iec62386
