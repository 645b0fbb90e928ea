#include "sim/medium.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <iterator>

#include "sim/node_groups.h"
#include "sim/random.h"

namespace drybus::sim {

namespace {

constexpr std::uint32_t certain_ppb = 1'000'000'000;

/// Collisions damage a burst of at most 16 bits, which a 16-bit CRC always detects.
Frame with_burst(Frame frame, Stream& stream) {
  const std::uint64_t bits = std::uint64_t{frame.size} * 8 - 15;
  const std::uint64_t first = stream.below(bits);
  const std::uint64_t pattern = 0x8001 | stream.below(0x10000);
  for (std::uint64_t i = 0; i < 16; ++i) {
    if ((pattern >> i & 1) != 0)
      frame.bytes[(first + i) / 8] ^= static_cast<std::uint8_t>(0x80 >> (first + i) % 8);
  }
  return frame;
}

Frame with_bit_errors(Frame frame, Stream& stream, std::uint32_t parts_ppb) {
  for (std::size_t bit = 0; bit < std::size_t{frame.size} * 8; ++bit) {
    if (stream.chance_ppb(parts_ppb)) frame.bytes[bit / 8] ^= static_cast<std::uint8_t>(0x80 >> bit % 8);
  }
  return frame;
}

/// The least that a CRC has to find.
Frame with_last_bit_wrong(Frame frame) {
  frame.bytes[frame.size - 1u] ^= 1;
  return frame;
}

/// A link that became sound in mid-frame is noisy for that frame all the same, but for none that comes after.
void forget_past_noise(std::vector<Medium::Impairment>& impairments,
                       const std::vector<Medium::Transmission>& transmissions) {
  if (impairments.empty() || std::any_of(transmissions.begin(), transmissions.end(),
                                         [](const Medium::Transmission& each) { return !each.ended; }))
    return;
  std::erase_if(impairments, [](const Medium::Impairment& each) { return each.state == LinkState::sound; });
}

}  // namespace

Medium::Medium(const Network& network) : nodes_(network.nodes.size()) {
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    nodes_[i].component = network.nodes[i].component;
    nodes_[i].powered = 1;
  }
}

void Medium::send(const MediumContext& context, NodeId node, const Frame& frame, EntryId cause) {
  NodeState& sender = nodes_[node];
  const std::uint8_t limit = context.network.media[context.network.nodes[node].medium].timing.outbox_limit;
  if (sender.powered == 0 || (sender.waiting >= limit && limit != 255)) {
    context.host.medium_note(MediumNote::dropped, node, node, sender.waiting, frame, cause);
    return;
  }
  if (sender.waiting < 255) ++sender.waiting;
  const EntryId queued =
      context.host.medium_note(MediumNote::queued, node, node, sender.waiting, frame, cause);
  waiting_.push_back({node, frame, queued});
  if (sender.sending != 0 || sender.pending != EventQueue::none) return;
  const Instant rested = rests_until(context, node);
  if (rested > context.now) {
    sender.pending = context.queue.push(rested, {medium_attempt_event, 0, node, queued});
  } else {
    attempt(context, node, queued);
  }
}

Instant Medium::rests_until(const MediumContext& context, NodeId node) const {
  const Duration gap = context.network.media[context.network.nodes[node].medium].timing.gap;
  Instant until = context.now;
  for (const Transmission& sent : transmissions_) {
    if (sent.node == node) until = std::max(until, sent.end + gap);
  }
  return until;
}

void Medium::on_attempt(const MediumContext& context, NodeId node, EntryId cause) {
  nodes_[node].pending = EventQueue::none;
  attempt(context, node, cause);
}

void Medium::attempt(const MediumContext& context, NodeId node, EntryId cause) {
  if (nodes_[node].attempts < 255) ++nodes_[node].attempts;
  if (context.network.media[context.network.nodes[node].medium].timing.sense && busy(context, node)) {
    back_off(context, node, cause);
  } else {
    begin(context, node);
  }
}

bool Medium::busy(const MediumContext& context, NodeId node) const {
  const MediumTiming& timing = context.network.media[context.network.nodes[node].medium].timing;
  return std::any_of(transmissions_.begin(), transmissions_.end(), [&](const Transmission& heard) {
    return heard.node != node && heard.begin + timing.sense_delay <= context.now &&
           context.now < heard.end + timing.sense_delay && path(context.network, heard.node, node);
  });
}

void Medium::back_off(const MediumContext& context, NodeId node, EntryId cause) {
  NodeState& sender = nodes_[node];
  const MediumTiming& timing = context.network.media[context.network.nodes[node].medium].timing;
  const auto head =
      std::find_if(waiting_.begin(), waiting_.end(), [&](const Waiting& w) { return w.node == node; });
  if (timing.attempts != 0 && sender.attempts >= timing.attempts) {
    context.host.medium_note(MediumNote::gave_up, node, node, sender.attempts, head->frame, head->cause);
    take_waiting(node);
    sender.attempts = 0;
    take_next(context, node, timing.gap);
    return;
  }
  const EntryId deferred =
      context.host.medium_note(MediumNote::deferred, node, node, sender.attempts, head->frame, cause);
  Stream stream{context.seed, Purpose::backoff, context.network.nodes[node].owner, sender.backoff_draws};
  const auto doublings = std::min({sender.attempts, timing.doublings, most_doublings});
  const std::uint64_t slots = 1 + stream.below(std::uint64_t{1} << doublings);
  sender.backoff_draws = static_cast<std::uint32_t>(stream.drawn);
  sender.pending = context.queue.push(context.now + timing.backoff_slot * static_cast<std::int64_t>(slots),
                                      {medium_attempt_event, 0, node, deferred});
}

void Medium::begin(const MediumContext& context, NodeId node) {
  NodeState& sender = nodes_[node];
  const std::uint32_t medium = context.network.nodes[node].medium;
  forget_silence(context);
  const Waiting next = take_waiting(node);
  const EntryId began =
      context.host.medium_note(MediumNote::began, node, node, sender.attempts, next.frame, next.cause);
  const Instant end = context.now + context.network.media[medium].timing.frame_time(next.frame);
  transmissions_.push_back({context.now, end, node, false, next.frame, began});
  sender.attempts = 0;
  sender.sending = 1;
  sender.pending = context.queue.push(end, {medium_end_event, 0, node, began});
}

void Medium::on_end(const MediumContext& context, NodeId node) {
  nodes_[node].pending = EventQueue::none;
  nodes_[node].sending = 0;
  const auto ending = std::find_if(transmissions_.begin(), transmissions_.end(),
                                   [&](const Transmission& t) { return t.node == node && !t.ended; });
  assert(ending != transmissions_.end());
  ending->ended = true;
  const Transmission transmission = *ending;  // deliveries may send, and so move the list
  const EntryId ended =
      context.host.medium_note(MediumNote::ended, node, node, 0, transmission.frame, transmission.cause);
  deliver(context, transmission, ended);
  forget_missed(node);
  forget_past_noise(impairments_, transmissions_);
  forget_silence(context);
  if (nodes_[node].pending == EventQueue::none && nodes_[node].sending == 0) {
    take_next(context, node, context.network.media[context.network.nodes[node].medium].timing.gap);
  }
}

void Medium::forget_missed(NodeId sender) {
  std::erase_if(missed_, [&](const Missed& missed) { return missed.sender == sender; });
}

void Medium::take_next(const MediumContext& context, NodeId node, Duration after) {
  if (nodes_[node].waiting == 0) return;
  const auto head =
      std::find_if(waiting_.begin(), waiting_.end(), [&](const Waiting& w) { return w.node == node; });
  if (head == waiting_.end()) return;
  nodes_[node].pending =
      context.queue.push(context.now + after, {medium_attempt_event, 0, node, head->cause});
}

void Medium::deliver(const MediumContext& context, const Transmission& transmission, EntryId cause) {
  const std::uint32_t medium = context.network.nodes[transmission.node].medium;
  std::vector<NodeId> rivals;
  for (const Transmission& other : transmissions_) {
    if (other.node == transmission.node || context.network.nodes[other.node].medium != medium) continue;
    if (overlap(other, transmission)) rivals.push_back(other.node);
  }
  const bool radio = context.network.media[medium].kind == MediumKind::radio;
  const std::vector<bool> hears = radio ? in_range(context.network, transmission.node) : std::vector<bool>{};
  const std::vector<std::uint32_t> errors = bit_errors_ppb(context.network, transmission.node);
  for (const NodeId receiver : context.network.media[medium].nodes) {
    if (receiver == transmission.node || context.network.nodes[receiver].passive) continue;
    const bool reached = radio ? hears[receiver] : path(context.network, transmission.node, receiver);
    const std::uint32_t errors_ppb = errors.empty() ? 0 : errors[receiver];
    deliver_to(context, receiver, {transmission, rivals, reached, errors_ppb}, cause);
  }
}

bool Medium::overlap(const Transmission& a, const Transmission& b) {
  return std::max(a.begin, b.begin) < std::min(a.end, b.end);
}

void Medium::deliver_to(const MediumContext& context, NodeId receiver, const Arrival& arrival,
                        EntryId cause) {
  const Transmission& transmission = arrival.transmission;
  const auto lose = [&](Loss loss) {
    return context.host.medium_note(MediumNote::lost, receiver, transmission.node,
                                    static_cast<std::uint32_t>(loss), transmission.frame, cause);
  };
  const auto damage = [&](Loss loss, const Frame& heard) {
    context.host.medium_damaged(receiver, transmission.node, heard, lose(loss));
  };
  NodeState& state = nodes_[receiver];
  if (state.powered == 0) {
    lose(Loss::unpowered);
    return;
  }
  if (!arrival.reached) {
    lose(Loss::no_path);
    return;
  }
  const auto late = std::find_if(missed_.begin(), missed_.end(), [&](const Missed& missed) {
    return missed.sender == transmission.node && missed.receiver == receiver;
  });
  if (late != missed_.end()) {
    if (late->loss == Loss::collision) return damage(late->loss, with_last_bit_wrong(transmission.frame));
    lose(late->loss);
    return;
  }
  if (state.deaf_for != 0) {
    --state.deaf_for;
    return damage(Loss::noise, with_last_bit_wrong(transmission.frame));
  }
  const bool overlapped = std::any_of(arrival.rivals.begin(), arrival.rivals.end(), [&](NodeId rival) {
    return rival == receiver || path(context.network, rival, receiver);
  });
  if (!overlapped && arrival.errors_ppb == 0) {
    context.host.medium_deliver(receiver, transmission.node, transmission.frame, cause);
    return;
  }
  const Purpose purpose = overlapped ? Purpose::collision : Purpose::bit_error;
  Stream stream{context.seed, purpose, context.network.nodes[receiver].owner, state.damage_draws};
  const Frame heard = overlapped ? with_burst(transmission.frame, stream)
                                 : with_bit_errors(transmission.frame, stream, arrival.errors_ppb);
  state.damage_draws = static_cast<std::uint32_t>(stream.drawn);
  if (!intact(heard)) return damage(overlapped ? Loss::collision : Loss::noise, heard);
  context.host.medium_deliver(receiver, transmission.node, heard, cause);
}

void Medium::set_power(const MediumContext& context, NodeId node, bool on, EntryId cause) {
  NodeState& state = nodes_[node];
  if ((state.powered != 0) == on) return;
  state.powered = on ? 1 : 0;
  if (on) return miss_what_is_under_way(context.network, node);
  if (state.pending != EventQueue::none) context.queue.cancel(state.pending);
  state.pending = EventQueue::none;
  if (state.sending != 0) {
    const auto cut = std::find_if(transmissions_.begin(), transmissions_.end(),
                                  [&](const Transmission& t) { return t.node == node && !t.ended; });
    cut->ended = true;
    cut->end = context.now;
    context.host.medium_note(MediumNote::lost, node, node, static_cast<std::uint32_t>(Loss::cut_short),
                             cut->frame, cause);
  }
  forget_past_noise(impairments_, transmissions_);
  state.sending = 0;
  state.attempts = 0;
  state.deaf_for = 0;
  forget_missed(node);
  empty_outbox(context, node, cause);
}

void Medium::empty_outbox(const MediumContext& context, NodeId node, EntryId cause) {
  const auto gone = std::stable_partition(waiting_.begin(), waiting_.end(),
                                          [&](const Waiting& waiting) { return waiting.node != node; });
  const std::vector<Waiting> dropped(gone, waiting_.end());
  waiting_.erase(gone, waiting_.end());
  nodes_[node].waiting = 0;
  // cppcheck-suppress invalidContainer // `dropped` holds copies
  for (const Waiting& waiting : dropped) {
    context.host.medium_note(MediumNote::dropped, node, node, 0, waiting.frame, cause);
  }
}

void Medium::miss_what_is_under_way(const Network& network, NodeId receiver) {
  for (const Transmission& transmission : transmissions_) {
    if (transmission.ended || !path(network, transmission.node, receiver)) continue;
    missed_.push_back({transmission.node, receiver, Loss::unpowered});
  }
}

bool Medium::path(const Network& network, NodeId from, NodeId to) const {
  if (network.nodes[from].medium != network.nodes[to].medium) return false;
  if (network.media[network.nodes[from].medium].kind == MediumKind::line) {
    return nodes_[from].component == nodes_[to].component && nodes_[from].component != dead;
  }
  const auto& links = network.nodes[from].links;
  return std::any_of(links.begin(), links.end(), [&](std::uint32_t index) {
    const Link& link = network.links[index];
    return (link.a == to || link.b == to) && link_state(index) != LinkState::open;
  });
}

const Medium::Impairment* Medium::impairment(std::uint32_t link) const {
  const auto at = std::lower_bound(impairments_.begin(), impairments_.end(), link,
                                   [](const Impairment& i, std::uint32_t l) { return i.link < l; });
  return at != impairments_.end() && at->link == link ? &*at : nullptr;
}

LinkState Medium::link_state(std::uint32_t link) const {
  const Impairment* found = impairment(link);
  return found == nullptr ? LinkState::sound : found->state;
}

void Medium::set_link(const Network& network, std::uint32_t link, LinkState state,
                      std::uint32_t bit_error_ppb) {
  const auto at = std::lower_bound(impairments_.begin(), impairments_.end(), link,
                                   [](const Impairment& i, std::uint32_t l) { return i.link < l; });
  const bool known = at != impairments_.end() && at->link == link;
  const MediumSpec& medium = network.media[network.nodes[network.links[link].a].medium];
  const std::vector<Missed> cut_off = out_of_reach(network, medium);
  const auto on_it = [&](const Transmission& t) {
    return &network.media[network.nodes[t.node].medium] == &medium;
  };
  // Where a rival is cut off in mid-frame, what it has spoilt until then stays spoilt.
  std::vector<std::pair<NodeId, Missed>> spoilt;
  for (const Transmission& sent : transmissions_) {
    if (sent.ended || !on_it(sent)) continue;
    for (const Transmission& rival : transmissions_) {
      if (rival.node == sent.node || !on_it(rival) || !overlap(rival, sent)) continue;
      for (const NodeId receiver : medium.nodes) {
        if (receiver == sent.node || receiver == rival.node || !path(network, sent.node, receiver)) continue;
        if (path(network, rival.node, receiver))
          spoilt.push_back({rival.node, {sent.node, receiver, Loss::collision}});
      }
    }
  }
  const bool in_mid_frame = std::any_of(transmissions_.begin(), transmissions_.end(),
                                        [&](const Transmission& t) { return !t.ended && on_it(t); });
  if (state == LinkState::sound && known && at->bit_error_ppb != 0 && in_mid_frame) {
    at->state = LinkState::sound;  // what noise there was has done its work; see forget_past_noise
  } else if (state == LinkState::sound) {
    if (known) impairments_.erase(at);
  } else {
    const Impairment now{link, state, state == LinkState::noisy ? std::min(bit_error_ppb, certain_ppb) : 0};
    if (known) {
      *at = now;
    } else {
      impairments_.insert(at, now);
    }
  }
  regroup(network, medium);
  std::copy_if(cut_off.begin(), cut_off.end(), std::back_inserter(missed_),
               [&](const Missed& missed) { return path(network, missed.sender, missed.receiver); });
  for (const auto& [rival, missed] : spoilt) {
    if (!path(network, rival, missed.receiver)) missed_.push_back(missed);
  }
}

std::vector<Medium::Missed> Medium::out_of_reach(const Network& network, const MediumSpec& medium) const {
  std::vector<Missed> found;
  for (const Transmission& transmission : transmissions_) {
    if (transmission.ended || &network.media[network.nodes[transmission.node].medium] != &medium) continue;
    for (const NodeId receiver : medium.nodes) {
      if (receiver == transmission.node || path(network, transmission.node, receiver)) continue;
      found.push_back({transmission.node, receiver, Loss::no_path});
    }
  }
  return found;
}

void Medium::regroup(const Network& network, const MediumSpec& medium) {
  if (medium.kind == MediumKind::radio) return;
  NodeGroups groups{nodes_.size()};
  std::vector<NodeId> shorted;
  for (const NodeId node : medium.nodes) {
    for (const std::uint32_t link : network.nodes[node].links) {
      const LinkState state = link_state(link);
      if (state != LinkState::open) groups.join(network.links[link].a, network.links[link].b);
      if (state == LinkState::shorted) shorted.push_back(node);
    }
  }
  for (const NodeId node : medium.nodes) nodes_[node].component = groups.of(node);
  for (const NodeId bad : shorted) {
    const NodeId group = groups.of(bad);
    for (const NodeId node : medium.nodes) {
      if (groups.of(node) == group) nodes_[node].component = dead;
    }
  }
}

std::vector<std::uint32_t> Medium::bit_errors_ppb(const Network& network, NodeId from) const {
  const bool noisy = std::any_of(impairments_.begin(), impairments_.end(),
                                 [](const Impairment& each) { return each.bit_error_ppb > 0; });
  if (!noisy) return {};
  // Walks the tree of links from `from`, adding up the error rates on the way.
  struct Reached {
    NodeId node;
    std::uint32_t via;
  };
  const bool radio = network.media[network.nodes[from].medium].kind == MediumKind::radio;
  std::vector<std::uint32_t> ppb(network.nodes.size(), 0);
  std::vector<Reached> frontier{{from, ~0u}};
  for (std::size_t i = 0; i < frontier.size(); ++i) {
    const Reached here = frontier[i];
    if (radio && i > 0) break;  // one hop only
    for (const std::uint32_t index : network.nodes[here.node].links) {
      if (index == here.via) continue;
      const Impairment* bad = impairment(index);
      if (bad != nullptr && bad->state == LinkState::open) continue;
      const Link& link = network.links[index];
      const NodeId next = link.a == here.node ? link.b : link.a;
      ppb[next] = std::min(ppb[here.node] + (bad != nullptr ? bad->bit_error_ppb : 0), certain_ppb);
      frontier.push_back({next, index});
    }
  }
  return ppb;
}

std::vector<bool> Medium::in_range(const Network& network, NodeId from) const {
  std::vector<bool> hears(network.nodes.size(), false);
  for (const std::uint32_t index : network.nodes[from].links) {
    const Link& link = network.links[index];
    if (link_state(index) != LinkState::open) hears[link.a == from ? link.b : link.a] = true;
  }
  return hears;
}

void Medium::forget_silence(const MediumContext& context) {
  Instant oldest_begin = never;
  for (const Transmission& t : transmissions_) {
    if (!t.ended) oldest_begin = std::min(oldest_begin, t.begin);
  }
  std::erase_if(transmissions_, [&](const Transmission& t) {
    const MediumTiming& timing = context.network.media[context.network.nodes[t.node].medium].timing;
    return t.ended && t.end + std::max(timing.sense_delay, timing.gap) <= context.now &&
           t.end <= oldest_begin;
  });
}

Medium::Waiting Medium::take_waiting(NodeId node) {
  const auto head =
      std::find_if(waiting_.begin(), waiting_.end(), [&](const Waiting& w) { return w.node == node; });
  assert(head != waiting_.end());
  const Waiting taken = *head;
  waiting_.erase(head);
  std::uint8_t& count = nodes_[node].waiting;
  if (count < 255) {
    --count;
  } else {  // the ceiling: it may stand for more
    const auto left =
        std::count_if(waiting_.begin(), waiting_.end(), [&](const Waiting& w) { return w.node == node; });
    count = static_cast<std::uint8_t>(std::min<std::ptrdiff_t>(left, 255));
  }
  return taken;
}

}  // namespace drybus::sim
