// Facts of devices as text, in the words of the output.
#pragma once

#include <span>
#include <string>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

/// "blink", "40 %", "setup", "23/4/1" or "none", "3", "off"; "-" where the device has no such fact.
/// REQUIRES: fact is not Fact::findings.
std::string fact_text(const Scenario& scenario, const World& world, DeviceId device, Fact fact);

/// Whether a fact is what a check wants; for loads, "lit" and "dark" stand for any level and none.
bool fact_is(const Scenario& scenario, const World& world, const Check& check);

/// What a load shows, or is on its way to show.
inline Level heading(const LoadState& load) {
  return load.flash != 0 ? static_cast<Level>(load.flash - 1) : load.to;
}

/// The facts of a device by which two logics can be told apart.
std::span<const Fact> telling_facts(const Site& site, DeviceId device);

}  // namespace drybus::model
