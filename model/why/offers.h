// What was offered to a module, and what became of each offer.
#pragma once

#include <string>
#include <vector>

#include "model/why/history.h"

namespace drybus::model {

/// An attempt to give somebody an address, and what became of it at one module.
struct Offer {
  enum class Fate {
    taken,        ///< by this module
    ignored,      ///< heard in normal mode
    unconfirmed,  ///< kept by the module in setup, until its time for that was over or another offer came
    lost,         ///< did not arrive
    unsent,       ///< never got onto the bus
    refused,      ///< the plate would not
    no_address,   ///< sent with zone 0, which is in no address
    misread,      ///< the plate was in normal mode and took the press for an ordinary one
  };
  Fate fate = Fate::ignored;
  sim::EntryId entry = sim::no_entry;  ///< of the fate
  sim::Instant at{};
  DeviceId plate = no_device;
  Address address;  ///< zero where none was offered
  bool taken_by_another = false;
};

/// Everything offered between two entries, as one module met it.
std::vector<Offer> offers_to(const History& history, DeviceId module, sim::EntryId after,
                             sim::EntryId before);

/// "P1 offered 23/4/2: M2 ignored it, being in normal mode".
std::string describe(const History& history, DeviceId module, const Offer& offer);

}  // namespace drybus::model
