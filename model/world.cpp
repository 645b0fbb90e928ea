#include "model/world.h"

#include <algorithm>
#include <type_traits>

namespace drybus::model {

Level LoadState::at(sim::Instant now) const {
  if (now >= begin + duration) return to;
  const std::int64_t gone = (now - begin).count();
  const std::int64_t range = std::int64_t{to} - std::int64_t{from};
  // Whole numbers keep the digest free of rounding modes; fades are far below the 2^53 ns where this would overflow.
  return static_cast<Level>(from +
                            range * (gone / 1000) / std::max<std::int64_t>(1, duration.count() / 1000));
}

namespace {
template <class T>
void add_values(sim::Digest& digest, std::span<const T> values) {
  static_assert(std::has_unique_object_representations_v<T>, "padding would reach the digest");
  digest.add(values.size());
  digest.add_bytes(std::as_bytes(values));
}
}  // namespace

namespace {
template <class T>
std::uint64_t hash_values(std::span<const T> values, std::uint64_t seed) {
  static_assert(std::has_unique_object_representations_v<T>, "padding would reach the hash");
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

void add_frame(sim::Digest& digest, const sim::Frame& frame) {
  digest.add(frame.size);
  digest.add_bytes(std::as_bytes(std::span{frame.bytes}));
}

void add_nodes(sim::Digest& digest, const sim::Medium& medium) {
  digest.add(medium.nodes().size());
  for (const sim::Medium::NodeState& node : medium.nodes()) {
    digest.add(node.backoff_draws | static_cast<std::uint64_t>(node.damage_draws) << 32);
    digest.add(
        (node.component == sim::Medium::dead ? 0xffff : digest.narrow(node.component)) |
        static_cast<std::uint64_t>(node.powered) << 16 | static_cast<std::uint64_t>(node.sending) << 24 |
        static_cast<std::uint64_t>(node.attempts) << 32 | static_cast<std::uint64_t>(node.waiting) << 40 |
        static_cast<std::uint64_t>(node.deaf_for) << 48);
  }
}

void add_frames(sim::Digest& digest, const sim::Medium& medium) {
  digest.add(medium.waiting().size());
  for (const sim::Medium::Waiting& waiting : medium.waiting()) {
    digest.add(digest.narrow(waiting.node) | static_cast<std::uint64_t>(waiting.cause) << 32);
    add_frame(digest, waiting.frame);
  }
  digest.add(medium.on_the_medium().size());
  for (const sim::Medium::Transmission& sent : medium.on_the_medium()) {
    digest.add(static_cast<std::uint64_t>(sent.begin.time_since_epoch().count()));
    digest.add(static_cast<std::uint64_t>(sent.end.time_since_epoch().count()));
    digest.add(digest.narrow(sent.node) | static_cast<std::uint64_t>(sent.ended) << 16 |
               static_cast<std::uint64_t>(sent.cause) << 32);
    add_frame(digest, sent.frame);
  }
}

void add_damage(sim::Digest& digest, const sim::Medium& medium) {
  digest.add(medium.missed().size());
  for (const sim::Medium::Missed& missed : medium.missed()) {
    const std::uint64_t sender = digest.narrow(missed.sender);  // in this order, on every compiler
    const std::uint64_t receiver = digest.narrow(missed.receiver, 16);
    digest.add(sender | receiver | static_cast<std::uint64_t>(missed.loss) << 32);
  }
  digest.add(medium.impairments().size());
  for (const sim::Medium::Impairment& impairment : medium.impairments()) {
    digest.add(impairment.link | static_cast<std::uint64_t>(impairment.state) << 32);
    digest.add(impairment.bit_error_ppb);
  }
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
  digest.add(static_cast<std::uint64_t>(world.now.time_since_epoch().count()));
  digest.add(world.seed);
  struct Pending {
    sim::Instant at;
    std::uint64_t order;
    sim::Event event;
  };
  std::vector<Pending> pending;
  pending.reserve(world.queue.size());
  world.queue.for_each(
      [&](sim::Instant at, std::uint64_t order, const sim::Event& event, sim::EventQueue::Handle) {
        pending.push_back({at, order, event});
      });
  std::sort(pending.begin(), pending.end(), [](const Pending& a, const Pending& b) {
    return a.at != b.at ? a.at < b.at : a.order < b.order;
  });
  digest.add(pending.size());
  for (const Pending& p : pending) {
    digest.add(static_cast<std::uint64_t>(p.at.time_since_epoch().count()));
    digest.add(p.event.kind | digest.narrow(p.event.who, 16) | static_cast<std::uint64_t>(p.event.arg) << 32);
    digest.add(p.event.cause);
  }
  add_nodes(digest, world.medium);
  add_frames(digest, world.medium);
  add_damage(digest, world.medium);
  digest.add(world.devices.size());
  for (const DeviceState& device : world.devices) {
    digest.add(device.contacts | static_cast<std::uint64_t>(device.stuck) << 16 |
               static_cast<std::uint64_t>(device.powered) << 32 |
               static_cast<std::uint64_t>(device.setup_ended_by) << 40 |
               static_cast<std::uint64_t>(device.indicator) << 48 |
               static_cast<std::uint64_t>(device.believed_in_setup) << 56);
    digest.add(static_cast<std::uint64_t>(device.mode) | static_cast<std::uint64_t>(device.was_in_setup)
                                                             << 8);
  }
  add_values(digest, std::span{world.plates});
  add_values(digest, std::span{world.modules});
  digest.add(world.loads.size());
  for (const LoadState& load : world.loads) {
    digest.add(static_cast<std::uint64_t>(load.begin.time_since_epoch().count()));
    digest.add(static_cast<std::uint64_t>(load.duration.count()));
    digest.add(load.from | static_cast<std::uint64_t>(load.to) << 16);
  }
  add_values(digest, std::span{world.people});
  if (!world.firmware.empty()) digest.add_bytes(world.firmware);
}

}  // namespace drybus::model
