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
  bool believed = false;  ///< the complaint itself, which somebody called for: hardly ever a wrong report
  /// Somebody was asked to watch this lamp for what a press does: what showed before is no answer, and a short blip since is.
  bool watched = false;
};

/// The numbers that somebody read off a plate's switches.
struct SwitchReading {
  DeviceId plate = no_device;
  std::uint8_t site = 0;
  std::uint8_t zone = 0;
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
  /// Steps of the installer's script of which nobody is sure that they were done, or done so, in ascending order.
  std::vector<std::uint32_t> unsure_steps;
  /// Plates whose switches nobody knows: `believed` has them as they are meant to be.
  std::vector<DeviceId> unread;
  /// In order of time; empty: nobody captured anything.
  std::vector<Captured> capture;
  /// The capture may begin after the first telegram and end before the last.
  bool capture_in_part = false;
  /// The first step of the installer's script that was done for an answer; nothing: there are no answers. How long after all
  /// that was told that was, nobody has said.
  std::optional<std::uint32_t> answers_from;
};

/// "M4's lamp blinks", "M1's load is dark", as a person says it.
std::string describe(const Site& site, const Seen& seen);

}  // namespace drybus::model
