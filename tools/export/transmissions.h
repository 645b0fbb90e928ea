// The telegrams of a run, each with what became of it, gathered from its record.
#pragma once

#include <vector>

#include "model/family/telegram.h"
#include "sim/network.h"
#include "sim/record.h"

namespace drybus::tools {

struct Transmission {
  sim::NodeId sender = sim::no_node;
  model::Telegram telegram;           ///< as it was sent
  sim::EntryId sent = sim::no_entry;  ///< first bit
  sim::EntryId ended =
      sim::no_entry;  ///< last bit, or the power cut that ended it; none: the run ended first
  bool cut_short = false;
  std::vector<sim::EntryId> heard;  ///< each receiver's entry, in order
  std::vector<sim::EntryId> lost;   ///< likewise, of those that missed it
};

/// In the order of their first bits.
std::vector<Transmission> transmissions(const sim::Record& record);

}  // namespace drybus::tools
