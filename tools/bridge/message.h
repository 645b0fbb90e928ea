// What goes over the line between a bridge and the device at its other end, and how it lies in bytes.
//
// Two forms of the same messages. On byte streams: SLIP (RFC 1055), one message a packet, numbers with the high byte
// first:
//
//     type (1) | time, ns since the run began (8) | what belongs to the type
//
//     to the device    'H' version (1: 1), kind (1: plate 1, module 2), pace (1: real time 0, lock-step 1), name (the rest)
//                      'P' power (1: on 1, off 0)            'C' button (1), closed (1)
//                      'F' a frame that was heard (7)        'T' time may go on, until (8): answer with one message
//                      'B' the session is over: why (the rest)
//     from the device  'F' a frame to be sent (5, or 7 with its CRC)
//                      'I' its indicator shows (1: DRYBUS_DARK ... DRYBUS_REFUSE)
//                      'L' its load goes to (2: 0 to 1000), within (4: ms)
//                      'M' its mode is (1), because (1): DRYBUS_NORMAL, DRYBUS_SETUP, DRYBUS_BY_...
//                      'S' its memory holds site, zone, channel (3), power-up mode (1)
//                      'N' nothing until then
//
// For people (--lines): JSON Lines of the same; see `to_line`.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "model/firmware/outside.h"

namespace drybus::tools {

using Bytes = std::vector<std::uint8_t>;

enum class Pace : std::uint8_t { real_time, lock_step };

/// To the device.
struct Outgoing {
  enum class Kind : std::uint8_t { hello, power, contact, frame, time, bye };
  Kind kind = Kind::time;
  sim::Instant at{};
  bool plate = false;            ///< hello
  Pace pace = Pace::lock_step;   ///< hello
  bool on = false;               ///< power; contact: closed
  std::uint8_t button = 0;       ///< contact
  model::Telegram telegram{};    ///< frame
  sim::Instant until{};          ///< time
  std::string text;              ///< hello: the device's name; bye: why
};

/// From the device: an act, or nothing until the time that was told.
struct Incoming {
  sim::Instant at{};
  std::optional<model::OutsideAct> act;
};

/// What came cannot be read; the text says why.
struct Unreadable {
  std::string why;
};

Bytes to_packet(const Outgoing& message);
std::variant<Incoming, Unreadable> from_packet(const Bytes& packet);

/// {"t_ns": 3200000000, "frame": "05 17 04 01 00 1b 2c", "text": "on 23/4/1"} with its line end.
std::string to_line(const Outgoing& message);
/// One of: {"t_ns": N, "frame": "05 17 04 01 00"}, {"show": "blink"}, {"level": 40, "fade_ms": 700}, {"mode": "setup"},
/// {"stored": "23/4/1", "power_up": "off"}, {"nothing": true}. Without t_ns: now.
std::variant<Incoming, Unreadable> from_line(std::string_view line);

/// A message without a time, by people: as soon as it is there.
inline constexpr sim::Instant as_it_comes = sim::Instant{sim::Duration{-1}};

}  // namespace drybus::tools
