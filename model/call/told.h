// What callers say in a word, as the steps and looks that it stands for.
#pragma once

#include <chrono>
#include <span>
#include <vector>

#include "model/diagnosis/report.h"

namespace drybus::model {

/// Held somewhat longer than the family asks for, as people hold a button until the lamp blinks.
inline constexpr sim::Duration held_on = std::chrono::milliseconds{500};

/// How modules are addressed with a plate: it is put in setup and stepped to each one's channel (that of its intended
/// address, else the next free one from 1), with the module put in setup before it takes what is offered. As the modules'
/// generation has it: by the supply, asking for its address, or confirming it.
std::vector<Step> addressed_steps(const Site& site, DeviceId plate, std::span<const DeviceId> modules);

/// Something that never happens: a load that does nothing when its plates switch on and off, a lamp that never blips.
struct NeverSeen {
  DeviceId module = no_device;
  Fact fact = Fact::load;  ///< load or indicator
  bool believed = false;
  SourceMark mark;
};

/// Looks after every press that should have had an answer. The load stays as it was seen somewhere in the report, else
/// as it was before each press, whichever that is. A story without such a press gets one each way: it was tried.
void add_never(Report& report, const NeverSeen& never);

/// It is what somebody called for: marks what was seen already, or adds it.
void add_complaint(Report& report, const Seen& complaint);

}  // namespace drybus::model
