// A world that is nothing but a medium: a clock, the pending events, and a log of what the medium told.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "sim/event_queue.h"
#include "sim/medium.h"
#include "sim/record.h"
#include "sim/time.h"

namespace drybus::test {

/// Owners, and so random streams, are numbered from here: a node's index is not its owner.
inline constexpr std::uint32_t first_owner = 1000;

/// A network of one medium whose nodes are 0 ... `count` - 1, of which those in `junctions` are passive.
inline sim::Network network_of(std::uint32_t count, std::vector<sim::Link> links,
                               const sim::MediumTiming& timing, sim::MediumKind kind = sim::MediumKind::line,
                               std::span<const sim::NodeId> junctions = {}) {
  sim::MediumSpec spec{kind, timing, {}, std::move(links)};
  std::vector<std::uint32_t> owners;
  std::vector<bool> passive(count, false);
  for (sim::NodeId node = 0; node < count; ++node) {
    spec.nodes.push_back(node);
    owners.push_back(first_owner + node);
  }
  for (const sim::NodeId junction : junctions) passive[junction] = true;
  return sim::make_network({std::move(spec)}, owners, passive);
}

/// A line from node to node: link i joins i and i + 1.
inline std::vector<sim::Link> chain(std::uint32_t count) {
  std::vector<sim::Link> links;
  for (sim::NodeId node = 1; node < count; ++node)
    links.push_back({static_cast<sim::NodeId>(node - 1), node});
  return links;
}

/// Seven bytes: five of payload that say which frame this is, and the CRC.
inline sim::Frame frame_of(std::uint32_t tag) {
  const std::array<std::uint8_t, 5> payload{
      0x5a, static_cast<std::uint8_t>(tag >> 24), static_cast<std::uint8_t>(tag >> 16),
      static_cast<std::uint8_t>(tag >> 8), static_cast<std::uint8_t>(tag)};
  return sim::sealed(payload);
}

inline std::uint32_t tag_of(const sim::Frame& frame) {
  return static_cast<std::uint32_t>(frame.bytes[1]) << 24 | static_cast<std::uint32_t>(frame.bytes[2]) << 16 |
         static_cast<std::uint32_t>(frame.bytes[3]) << 8 | frame.bytes[4];
}

/// Timing by which the frames of `frame_of` take one millisecond each.
inline sim::MediumTiming millisecond_frames() {
  sim::MediumTiming timing;
  timing.bit_rate = 70'000;
  timing.sense_delay = std::chrono::microseconds{50};
  return timing;
}

/// Drives a medium. What the medium tells, and events that are not its own, are the business of whoever
/// derives.
class MediumBench : public sim::MediumHost {
 public:
  MediumBench(sim::Network network, std::uint64_t seed)
      : network_(std::make_shared<const sim::Network>(std::move(network))), seed_(seed), medium{*network_} {}

  [[nodiscard]] const sim::Network& network() const { return *network_; }
  [[nodiscard]] sim::Instant now() const { return now_; }
  [[nodiscard]] std::uint64_t seed() const { return seed_; }

  void step() {
    const sim::EventQueue::Fired fired = queue.pop();
    now_ = fired.at;
    switch (fired.event.kind) {
      case sim::medium_attempt_event:
        return medium.on_attempt(context(), fired.event.who, fired.event.cause);
      case sim::medium_end_event:
        return medium.on_end(context(), fired.event.who);
      default:
        return other_event(fired.event);
    }
  }
  /// Everything that is due up to and including `until`.
  void run_until(sim::Instant until) {
    while (queue.next_at() <= until) step();
    now_ = until;
  }
  void run_to(sim::Duration since_start) { run_until(sim::start_of_run + since_start); }
  void run_out() {
    while (!queue.empty()) step();
  }

  void send(sim::NodeId node, std::uint32_t tag) {
    medium.send(context(), node, frame_of(tag), sim::no_entry);
  }
  void set_power(sim::NodeId node, bool on) { medium.set_power(context(), node, on, sim::no_entry); }
  void set_link(std::uint32_t link, sim::LinkState state, std::uint32_t bit_error_ppb = 0) {
    medium.set_link(network(), link, state, bit_error_ppb);
  }

 private:
  virtual void other_event(const sim::Event& event) = 0;
  sim::MediumContext context() { return {*network_, queue, now_, seed_, *this}; }

  std::shared_ptr<const sim::Network> network_;
  std::uint64_t seed_;
  sim::Instant now_ = sim::start_of_run;

 public:
  sim::EventQueue queue;
  sim::Medium medium;
};

/// A medium bench that writes everything down. Copy it for a fork.
class MediumLog final : public MediumBench {
 public:
  struct Note {
    sim::Instant at{};
    sim::MediumNote note{};
    sim::NodeId node = sim::no_node;
    sim::NodeId sender = sim::no_node;
    std::uint32_t detail = 0;
    std::uint32_t tag = 0;
    sim::EntryId cause = sim::no_entry;
    friend bool operator==(const Note&, const Note&) = default;
  };
  struct Heard {
    sim::Instant at{};
    sim::NodeId receiver = sim::no_node;
    sim::NodeId sender = sim::no_node;
    std::uint32_t tag = 0;
    sim::EntryId cause = sim::no_entry;
    friend bool operator==(const Heard&, const Heard&) = default;
  };

  using MediumBench::MediumBench;

  /// Hands over a frame `since_start`.
  void send_at(sim::Duration since_start, sim::NodeId node, std::uint32_t tag) {
    queue.push(sim::start_of_run + since_start,
               {sim::first_free_event_kind, static_cast<std::uint16_t>(tag), node, sim::no_entry});
  }

  [[nodiscard]] std::vector<Note> notes_of(sim::MediumNote note, sim::NodeId node) const {
    std::vector<Note> found;
    for (const Note& one : notes) {
      if (one.note == note && one.node == node) found.push_back(one);
    }
    return found;
  }
  /// The tags of the frames that `receiver` heard intact, in order.
  [[nodiscard]] std::vector<std::uint32_t> heard_by(sim::NodeId receiver) const {
    std::vector<std::uint32_t> tags;
    for (const Heard& one : heard) {
      if (one.receiver == receiver) tags.push_back(one.tag);
    }
    return tags;
  }
  /// Why `receiver` missed frames, in order.
  [[nodiscard]] std::vector<sim::Loss> losses_of(sim::NodeId receiver) const {
    std::vector<sim::Loss> losses;
    for (const Note& one : notes_of(sim::MediumNote::lost, receiver)) {
      losses.push_back(static_cast<sim::Loss>(one.detail));
    }
    return losses;
  }

  std::vector<Note> notes;
  std::vector<Heard> heard;

 private:
  void other_event(const sim::Event& event) override { send(event.who, event.arg); }

  sim::EntryId medium_note(sim::MediumNote note, sim::NodeId node, sim::NodeId sender, std::uint32_t detail,
                           const sim::Frame& frame, sim::EntryId cause) override {
    notes.push_back({now(), note, node, sender, detail, tag_of(frame), cause});
    return static_cast<sim::EntryId>(notes.size());
  }
  void medium_deliver(sim::NodeId receiver, sim::NodeId sender, const sim::Frame& frame,
                      sim::EntryId cause) override {
    heard.push_back({now(), receiver, sender, tag_of(frame), cause});
  }
};

}  // namespace drybus::test
