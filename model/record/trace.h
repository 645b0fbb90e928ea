// The words of a run's record: what each kind of entry means.
#pragma once

#include <cstdint>
#include <string_view>

#include "sim/network.h"
#include "sim/record.h"

namespace drybus::model {

/// Entry kinds. `who` is a device unless stated otherwise; `a` and `b` as stated.
enum class What : std::uint16_t {
  began = 1,   ///< the run begins
  step,        ///< who: person, a: step; begins
  walked,      ///< who: person, a: from, b: to; sets off
  arrived,     ///< who: person, a: place
  contact,     ///< a: button, b: 1 closed, 0 opened
  misread,     ///< a press meant for one mode met another; a: buttons, b: 1 it was believed to be in setup
  gesture,     ///< held long enough
  mode,        ///< a: Mode, b: ModeReason
  channel,     ///< a: channel
  refused,     ///< a: Refusal
  timer,       ///< a: Timer; came due
  queued,      ///< b: telegram; handed to the medium
  deferred,    ///< a: attempt, b: telegram; the medium was busy
  sent,        ///< a: attempt, b: telegram; first bit
  sent_whole,  ///< b: telegram; last bit
  gave_up,     ///< a: attempts, b: telegram
  dropped,     ///< b: telegram
  heard,       ///< a: sender, b: telegram
  lost,        ///< a: see `lost_by`, b: telegram; who: the one that missed it
  assign_ignored,  ///< because: why its mode is what it is
  obeyed,          ///< a telegram changed the load
  indicator,       ///< a: Pattern
  level,           ///< a: from | to << 16, b: duration, ns
  level_reached,   ///< a: level
  store_begun,
  stored,        ///< a: site | zone << 8 | channel << 16, b: 1 when the address changed
  store_torn,    ///< power went during a write; b: 1 when memory is as from the factory for it
  power_up,      ///< a: PowerUp
  blips,         ///< a: 1 awake, 0 asleep
  blip_unshown,  ///< a telegram came while blips slept
  power,         ///< a: 1 on, 0 off
  switches,      ///< a: site, b: zone
  link,          ///< who: node a of the link, a: link, b: LinkState | bit errors per 10^9 << 8
  stuck,         ///< a: button, b: 1 stuck, 0 freed
  deaf,          ///< a: telegrams it will miss
  checked,       ///< who: person, a: check, b: 1 passed
  said,          ///< its firmware logs a line; b: the number of its text (said.h)
};

constexpr What what(const sim::Entry& entry) {
  return static_cast<What>(entry.kind);
}
std::string_view to_string(What what);

/// Whether a power cut took what a module had remembered.
constexpr bool lost_memory(const sim::Entry& entry) { return what(entry) == What::store_torn && entry.b != 0; }

/// Who sent a telegram that was lost, and why it was, as one number: the sender's lower 16 bits, the reason in the next
/// 8, then the sender's upper 8 bits. REQUIRES: sender < 2^24.
constexpr std::uint32_t lost_by(sim::NodeId sender, sim::Loss loss) {
  return (sender & 0xffff) | static_cast<std::uint32_t>(loss) << 16 | sender >> 16 << 24;
}
constexpr sim::NodeId lost_sender(const sim::Entry& lost) {
  return (lost.a & 0xffff) | lost.a >> 24 << 16;
}
constexpr sim::Loss why_lost(const sim::Entry& lost) {
  return static_cast<sim::Loss>(lost.a >> 16 & 0xff);
}

}  // namespace drybus::model
