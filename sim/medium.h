// What carries frames between nodes: a multi-drop serial line or radio. A frame takes bits / bit rate;
// sending follows carrier sense with random back-off; senders that start within each other's vulnerable
// window overlap, and a receiver that hears both gets a frame whose CRC fails. There is no acknowledgement.
//
// `Network` is what never changes in a run (who is wired to whom, how fast); `Medium` is what does, a plain
// value.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "sim/event_queue.h"
#include "sim/fields.h"
#include "sim/frame.h"
#include "sim/network.h"
#include "sim/record.h"
#include "sim/time.h"

namespace drybus::sim {

enum class MediumNote : std::uint8_t {
  queued,    ///< handed over by the sender; detail: frames waiting at the node
  deferred,  ///< the medium was busy; detail: attempt number
  began,     ///< first bit on the medium; detail: attempt number
  ended,     ///< last bit on the medium
  lost,      ///< detail: Loss; node: who missed it
  gave_up,   ///< too many attempts; detail: attempts
  dropped,   ///< the outbox was full, or the sender had no power, or lost it before this frame's turn came
};

/// What the owner of a medium is told. Calls come in the order in which things happen.
class MediumHost {
 public:
  /// `sender` sent or would have sent `frame`; returns the entry made of it (or no_entry).
  virtual EntryId medium_note(MediumNote note, NodeId node, NodeId sender, std::uint32_t detail,
                              const Frame& frame, EntryId cause) = 0;
  /// `receiver` heard an intact frame.
  virtual void medium_deliver(NodeId receiver, NodeId sender, const Frame& frame, EntryId cause) = 0;
  /// `receiver` heard a frame whose CRC does not fit, and `lost` was noted of it.
  virtual void medium_damaged(NodeId receiver, NodeId sender, const Frame& heard, EntryId lost) {
    static_cast<void>(receiver), static_cast<void>(sender), static_cast<void>(heard), static_cast<void>(lost);
  }

 protected:
  ~MediumHost() = default;
};

/// Event kinds that belong to the medium; everybody else's start at `first_free_event_kind`.
inline constexpr std::uint16_t medium_attempt_event = 1;
inline constexpr std::uint16_t medium_end_event = 2;
inline constexpr std::uint16_t first_free_event_kind = 16;

/// What a medium needs of the world around it.
struct MediumContext {
  const Network& network;
  EventQueue& queue;
  Instant now;
  std::uint64_t seed;
  MediumHost& host;
};

class Medium {
 public:
  struct NodeState {
    EventQueue::Handle pending = EventQueue::none;  ///< the next attempt, or the end of the transmission
    std::uint32_t backoff_draws = 0;
    std::uint32_t damage_draws = 0;
    NodeId component = 0;  ///< `dead` while shorted
    std::uint8_t powered = 0;
    std::uint8_t sending = 0;
    std::uint8_t attempts = 0;   ///< of the frame at the head of the node's outbox
    std::uint8_t waiting = 0;    ///< frames in the node's outbox
    std::uint16_t deaf_for = 0;  ///< frames that the node will miss
    std::array<std::uint8_t, 2> unused{};
    friend bool operator==(const NodeState&, const NodeState&) = default;

    static constexpr auto fields() {
      return std::tuple{field(&NodeState::pending, in_nothing),  // a place in the queue, whose events count
                        field(&NodeState::backoff_draws, in_state), field(&NodeState::damage_draws, in_state),
                        field(&NodeState::component, in_state, 16),  // see Digest::narrow
                        field(&NodeState::powered, in_state),       field(&NodeState::sending, in_state),
                        field(&NodeState::attempts, in_state),      field(&NodeState::waiting, in_state),
                        field(&NodeState::deaf_for, in_state),      field(&NodeState::unused, in_nothing)};
    }
  };
  struct Waiting {
    NodeId node = no_node;
    Frame frame;
    EntryId cause = no_entry;
    friend bool operator==(const Waiting&, const Waiting&) = default;

    static constexpr auto fields() {
      return std::tuple{field(&Waiting::node, in_state), field(&Waiting::frame, in_state),
                        field(&Waiting::cause, in_digest)};
    }
  };
  struct Transmission {
    Instant begin{};
    Instant end{};
    NodeId node = no_node;
    bool ended = false;
    Frame frame;
    EntryId cause = no_entry;
    friend bool operator==(const Transmission&, const Transmission&) = default;

    static constexpr auto fields() {
      return std::tuple{field(&Transmission::begin, in_state), field(&Transmission::end, in_state),
                        field(&Transmission::node, in_state),  field(&Transmission::ended, in_state),
                        field(&Transmission::frame, in_state), field(&Transmission::cause, in_digest)};
    }
  };
  /// A receiver that could not hear the whole of a transmission: it was off, or cut off, when that began.
  struct Missed {
    NodeId sender = no_node;
    NodeId receiver = no_node;
    Loss loss = Loss::no_path;
    friend bool operator==(const Missed&, const Missed&) = default;

    static constexpr auto fields() {
      return std::tuple{field(&Missed::sender, in_state), field(&Missed::receiver, in_state),
                        field(&Missed::loss, in_state)};
    }
  };
  struct Impairment {
    std::uint32_t link = 0;
    LinkState state = LinkState::sound;
    std::uint32_t bit_error_ppb = 0;  ///< errors per 10^9 bits, while noisy
    friend bool operator==(const Impairment&, const Impairment&) = default;

    static constexpr auto fields() {
      return std::tuple{field(&Impairment::link, in_state | in_hidden),
                        field(&Impairment::state, in_state | in_hidden, 32),
                        field(&Impairment::bit_error_ppb, in_state)};
    }
  };

  Medium() = default;
  /// All nodes powered, all links sound.
  explicit Medium(const Network& network);

  /// Takes a frame to be sent as soon as the medium allows. A node without power drops it.
  void send(const MediumContext& context, NodeId node, const Frame& frame, EntryId cause);

  /// To be called when a medium_attempt_event or medium_end_event of `node` comes due.
  void on_attempt(const MediumContext& context, NodeId node, EntryId cause);
  void on_end(const MediumContext& context, NodeId node);

  /// Cuts or restores a node's power; what it was sending is cut short and what was waiting is dropped. A
  /// node that comes on misses what is being sent at that moment.
  void set_power(const MediumContext& context, NodeId node, bool on, EntryId cause);

  /// `bit_error_ppb` counts only for LinkState::noisy. Who is joined to a sender in mid-frame misses that
  /// frame.
  void set_link(const Network& network, std::uint32_t link, LinkState state, std::uint32_t bit_error_ppb = 0);

  /// The node will miss the next `frames` frames that it would have heard.
  void deafen(NodeId node, std::uint16_t frames) { nodes_[node].deaf_for = frames; }

  /// Whether a signal of `from` gets to `to`, whatever their power.
  [[nodiscard]] bool path(const Network& network, NodeId from, NodeId to) const;

  [[nodiscard]] LinkState link_state(std::uint32_t link) const;
  [[nodiscard]] std::span<const NodeState> nodes() const { return nodes_; }
  [[nodiscard]] std::span<const Transmission> on_the_medium() const { return transmissions_; }
  [[nodiscard]] std::span<const Waiting> waiting() const { return waiting_; }
  [[nodiscard]] std::span<const Missed> missed() const { return missed_; }
  [[nodiscard]] std::span<const Impairment> impairments() const { return impairments_; }

  static constexpr NodeId dead = no_node;

  friend bool operator==(const Medium&, const Medium&) = default;

 private:
  void attempt(const MediumContext& context, NodeId node, EntryId cause);
  void begin(const MediumContext& context, NodeId node);
  void back_off(const MediumContext& context, NodeId node, EntryId cause);
  void take_next(const MediumContext& context, NodeId node, Duration after);
  void deliver(const MediumContext& context, const Transmission& transmission, EntryId cause);
  /// What of a transmission there is at a receiver.
  struct Arrival {
    const Transmission& transmission;
    std::span<const NodeId> rivals;  ///< that sent at the same time
    bool reached = false;            ///< there is a path
    std::uint32_t errors_ppb = 0;    ///< bit errors on the way
  };
  void deliver_to(const MediumContext& context, NodeId receiver, const Arrival& arrival, EntryId cause);
  [[nodiscard]] bool busy(const MediumContext& context, NodeId node) const;
  static bool overlap(const Transmission& a, const Transmission& b);
  /// On the way to each node; empty where no link is noisy.
  [[nodiscard]] std::vector<std::uint32_t> bit_errors_ppb(const Network& network, NodeId from) const;
  /// By node, on radio.
  [[nodiscard]] std::vector<bool> in_range(const Network& network, NodeId from) const;
  [[nodiscard]] const Impairment* impairment(std::uint32_t link) const;
  [[nodiscard]] Instant rests_until(const MediumContext& context, NodeId node) const;
  [[nodiscard]] std::vector<Missed> out_of_reach(const Network& network, const MediumSpec& medium) const;
  void miss_what_is_under_way(const Network& network, NodeId receiver);
  void empty_outbox(const MediumContext& context, NodeId node, EntryId cause);
  void forget_missed(NodeId sender);
  void forget_silence(const MediumContext& context);
  void regroup(const Network& network, const MediumSpec& medium);
  Waiting take_waiting(NodeId node);

  std::vector<NodeState> nodes_;
  std::vector<Waiting> waiting_;  ///< first come first, all nodes together
  /// Under way, or ended so lately that they are still sensed or rested from, or have damaged one that is
  /// under way.
  std::vector<Transmission> transmissions_;
  std::vector<Missed> missed_;           ///< of the transmissions under way
  std::vector<Impairment> impairments_;  ///< links that are not sound, ascending
};

}  // namespace drybus::sim
