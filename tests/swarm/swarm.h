// Random sites, families, scripts and faults, run against what must hold of the simulator itself, whatever
// people do. Each case leaves most kinds of step and fault out and does the others often: swarm testing
// (Groce, Zhang, Eide, Chen and Regehr, "Swarm testing", ISSTA 2012).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "model/run/run.h"

namespace drybus::tests {

/// The scenario of a seed, of one of the families.
model::Scenario swarm_scenario(const std::vector<model::Family>& families, std::uint64_t seed);

/// What does not hold of a run, in words; empty when all does.
std::string broken_invariant(const model::Scenario& scenario, const model::RunResult& result);

/// How often cases met each kind of entry, by its number: what never happens proves nothing.
using SwarmTally = std::array<std::uint64_t, 64>;

/// Makes the scenario of a seed, runs it, and says what does not hold; empty when all does.
std::string swarm_case(const std::vector<model::Family>& families, std::uint64_t seed, SwarmTally& met);

}  // namespace drybus::tests
