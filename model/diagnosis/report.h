// What the support engineer is told on the telephone: the site as it is believed to be, what is said to have been done,
// and what is seen. Nothing inside a device can be read.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/family/telegram.h"
#include "model/people/script.h"

namespace drybus::model {

/// Something that somebody says they saw.
struct Seen {
  DeviceId device = no_device;
  Fact fact = Fact::indicator;  ///< indicator or load
  /// In the words of a scenario's `see`: a pattern; for loads "lit", "dark" or a level such as "40 %".
  std::string what;
  /// Index into the installer's script: seen when that step was over. Nothing: now, when all was done.
  std::optional<std::uint32_t> after_step;
  bool unsure = false;
  SourceMark mark;
};

/// A telegram that somebody captured on the bus.
struct Captured {
  sim::Instant at{};
  Telegram telegram;
};

struct Report {
  /// The site as it is believed to be. People[0] is the installer, whose script is what is said to have been done. It
  /// holds no looks: those are `seen`.
  Scenario believed;
  std::vector<Seen> seen;
  /// Steps of the installer's script whose duration is only about right ("about 4 min"), in ascending order.
  std::vector<std::uint32_t> loose;
  /// In order of time; empty: nobody captured anything.
  std::vector<Captured> capture;
};

/// "M4's lamp blinks", "M1's load is dark", as a person says it.
std::string describe(const Site& site, const Seen& seen);

}  // namespace drybus::model
