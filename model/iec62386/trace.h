// What an entry of a line's record says. `who` is a device of the site (controllers, then gear, then lines), or a person for
// steps, walks and checks.
#pragma once

#include "model/iec62386/script.h"
#include "sim/enumeration.h"
#include "sim/record.h"

namespace drybus::iec62386 {

BOOST_DEFINE_FIXED_ENUM_CLASS(What, std::uint16_t,
                              began,         // the run
                              step,          // a = its number
                              walked,        // a = from, b = to
                              checked,       // a = the check, b = passed
                              sent,          // a: see SentBits; b = data
                              answered,      // by gear; a = to which controller, b = value
                              garbled,       // several answered at once; who = the asker, b = how many
                              unheard,       // an answer too weak where it was asked for; who = gear
                              collided,      // who = the second sender, a = the first
                              broken,        // both found their edges destroyed
                              cannot_send,   // the line is low
                              job_begun,     // a = Controller::Job
                              job_ended,     // a = Controller::Job, b = found | unverified << 32
                              found,         // a = short address given, b = random address
                              no_number,     // b = random address
                              not_verified,  // a = short address
                              named,         // a = short address
                              read_back,     // a = read (256 silence, 257 garbled), b = should be
                              did,           // gear: a = Did, b = value
                              mains,         // gear: a = on
                              line,          // a = low
                              fault,         // a = FaultKind, b = on
                              plugged,       // a = on
                              swapped)       // gear: another one hangs there

/// What the `a` of a sent frame holds.
struct SentBits {
  static constexpr std::uint32_t bits(std::uint32_t a) { return a & 0xFFU; }
  static constexpr std::uint32_t priority(std::uint32_t a) { return (a >> 8U) & 0xFFU; }
  static constexpr std::uint32_t again = 1U << 16U;   ///< the second of two
  static constexpr std::uint32_t search = 1U << 17U;  ///< one of the many of a search
};

inline What what(const sim::Entry& entry) {
  return static_cast<What>(entry.kind);
}

inline BitFrame frame_of(const sim::Entry& entry) {
  return {static_cast<std::uint32_t>(entry.b), static_cast<std::uint8_t>(SentBits::bits(entry.a))};
}

}  // namespace drybus::iec62386
