#include "model/world/world.h"

#include <algorithm>
#include <type_traits>

namespace drybus::model {

Level LoadState::beneath(sim::Instant now) const {
  if (now >= begin + duration) return to;
  const std::int64_t gone = (now - begin).count();
  const std::int64_t range = std::int64_t{to} - std::int64_t{from};
  // Whole numbers keep the digest free of rounding modes; fades are far below the 2^53 ns where this would overflow.
  return static_cast<Level>(from +
                            range * (gone / 1000) / std::max<std::int64_t>(1, duration.count() / 1000));
}

namespace {

template <class State>
std::uint64_t hash_values(std::span<const State> values, std::uint64_t seed) {
  static_assert(std::has_unique_object_representations_v<State>, "gaps would reach the hash");
  return sim::hash_bytes(std::as_bytes(values), seed);
}

/// Events lie in the queue in no stated order; a sum does not mind.
std::uint64_t hash_events(const sim::EventQueue& queue) {
  struct Pending {
    sim::Instant at;
    std::uint64_t order;
    std::uint64_t event;
    std::uint64_t who_and_cause;
  };
  std::uint64_t sum = 0;
  queue.for_each([&](sim::Instant at, std::uint64_t order, const sim::Event& event, sim::EventQueue::Handle) {
    const Pending pending{at, order, event.kind | static_cast<std::uint64_t>(event.arg) << 16,
                          event.who | static_cast<std::uint64_t>(event.cause) << 32};
    sum += sim::hash_bytes(std::as_bytes(std::span{&pending, 1}));
  });
  return sum;
}

template <sim::Described State>
void add_words(sim::Digest& digest, const State& state) {
  sim::pack_words<sim::in_digest>(state, [&](std::uint64_t word) { digest.add(word); });
}

void add_frame(sim::Digest& digest, const sim::Frame& frame) {
  digest.add(frame.size);
  digest.add_bytes(std::as_bytes(std::span{frame.bytes}));
}

/// A group's number is packed as it was when it had 16 bits; see Digest::narrow.
sim::Medium::NodeState narrowed(sim::Digest& digest, sim::Medium::NodeState node) {
  constexpr sim::NodeId dead = 0xffff;
  node.component =
      node.component == sim::Medium::dead ? dead : static_cast<sim::NodeId>(digest.narrow(node.component));
  return node;
}

void add_nodes(sim::Digest& digest, const sim::Medium& medium) {
  digest.add(medium.nodes().size());
  for (const sim::Medium::NodeState& node : medium.nodes()) {
    add_words(digest, narrowed(digest, node));
  }
}

void add_frames(sim::Digest& digest, const sim::Medium& medium) {
  using sim::Medium;
  static_assert(sim::counts_just<Medium::Waiting, sim::in_digest>(
      &Medium::Waiting::node, &Medium::Waiting::frame, &Medium::Waiting::cause));
  digest.add(medium.waiting().size());
  for (const sim::Medium::Waiting& waiting : medium.waiting()) {
    digest.add(digest.narrow(waiting.node) | static_cast<std::uint64_t>(waiting.cause) << 32);
    add_frame(digest, waiting.frame);
  }
  using Sent = Medium::Transmission;
  static_assert(sim::counts_just<Sent, sim::in_digest>(&Sent::begin, &Sent::end, &Sent::node, &Sent::ended,
                                                       &Sent::frame, &Sent::cause));
  digest.add(medium.on_the_medium().size());
  for (const sim::Medium::Transmission& sent : medium.on_the_medium()) {
    digest.add(sim::as_number(sent.begin));
    digest.add(sim::as_number(sent.end));
    digest.add(digest.narrow(sent.node) | static_cast<std::uint64_t>(sent.ended) << 16 |
               static_cast<std::uint64_t>(sent.cause) << 32);
    add_frame(digest, sent.frame);
  }
}

void add_damage(sim::Digest& digest, const sim::Medium& medium) {
  using sim::Medium;
  static_assert(sim::counts_just<Medium::Missed, sim::in_digest>(
      &Medium::Missed::sender, &Medium::Missed::receiver, &Medium::Missed::loss));
  digest.add(medium.missed().size());
  for (const sim::Medium::Missed& missed : medium.missed()) {
    const std::uint64_t sender = digest.narrow(missed.sender);  // in this order, on every compiler
    const std::uint64_t receiver = digest.narrow(missed.receiver, 16);
    digest.add(sender | receiver | static_cast<std::uint64_t>(missed.loss) << 32);
  }
  digest.add(medium.impairments().size());
  for (const sim::Medium::Impairment& impairment : medium.impairments()) {
    add_words(digest, impairment);
  }
}

void add_part(sim::Digest& digest, sim::Instant now) {
  digest.add(sim::as_number(now));
}
void add_part(sim::Digest& digest, std::uint64_t seed) {
  digest.add(seed);
}
void add_part(sim::Digest& digest, const sim::EventQueue& queue) {
  struct Pending {
    sim::Instant at;
    std::uint64_t order;
    sim::Event event;
  };
  std::vector<Pending> pending;
  pending.reserve(queue.size());
  queue.for_each([&](sim::Instant at, std::uint64_t order, const sim::Event& event, sim::EventQueue::Handle) {
    pending.push_back({at, order, event});
  });
  std::sort(pending.begin(), pending.end(), [](const Pending& a, const Pending& b) {
    return a.at != b.at ? a.at < b.at : a.order < b.order;
  });
  digest.add(pending.size());
  for (const Pending& p : pending) {
    digest.add(sim::as_number(p.at));
    digest.add(p.event.kind | digest.narrow(p.event.who, 16) | static_cast<std::uint64_t>(p.event.arg) << 32);
    digest.add(p.event.cause);
  }
}
void add_part(sim::Digest& digest, const sim::Medium& medium) {
  add_nodes(digest, medium);
  add_frames(digest, medium);
  add_damage(digest, medium);
}
/// Bytes stand for states of which everything counts; of others, what counts is packed.
template <sim::Described State>
void add_part(sim::Digest& digest, const std::vector<State>& states) {
  digest.add(states.size());
  if constexpr (sim::counts_whole<State, sim::in_digest>()) {
    static_assert(std::has_unique_object_representations_v<State>, "gaps would reach the digest");
    digest.add_bytes(std::as_bytes(std::span{states}));
  } else {
    for (const State& state : states) add_words(digest, state);
  }
}
void add_part(sim::Digest& digest, const std::vector<std::byte>& firmware) {
  if (!firmware.empty()) digest.add_bytes(firmware);
}

}  // namespace

std::uint64_t hash_of(const World& world) {
  std::uint64_t hash =
      hash_events(world.queue) + static_cast<std::uint64_t>(world.now.time_since_epoch().count());
  hash = hash_values(world.medium.nodes(), hash ^ world.seed);
  hash = hash_values(std::span{world.devices}, hash);
  hash = hash_values(std::span{world.plates}, hash);
  hash = hash_values(std::span{world.modules}, hash);
  hash = hash_values(std::span{world.loads}, hash);
  if (!world.firmware.empty()) hash = sim::hash_bytes(world.firmware, hash);
  return hash_values(std::span{world.people}, hash + world.medium.on_the_medium().size());
}

void add_to(sim::Digest& digest, const World& world) {
  sim::for_each_field<World, sim::in_digest>(
      [&](const auto& field) { add_part(digest, world.*field.member); });
}

}  // namespace drybus::model
