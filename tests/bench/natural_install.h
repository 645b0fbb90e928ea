// A small site and how somebody addressed and tried it, as it was meant: what a telephone call is about. Made without the
// planner and without anything of a diagnosis: an installer who goes from plate to plate, in one of a few manners.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "model/people/script.h"
#include "tests/bench/diagnosis_cases.h"
#include "tests/bench/draw.h"

namespace drybus::bench {

/// Where somebody could look, and would think of it.
struct Glimpse {
  /// Of the script as it was meant; nothing: now, when all is done.
  std::optional<std::uint32_t> after_step;
  model::DeviceId device = model::no_device;
  model::Fact fact = model::Fact::indicator;
  /// Looks with the same one are made together: after one press, or at the end.
  std::uint32_t occasion = 0;
  bool of_lights = false;  ///< is it on, is it off: what people ring up about
  bool striking = false;  ///< spoken of only if the lamp is steady: somebody who was not called shows himself
};

struct NaturalInstall {
  model::Scenario told;  ///< the steps are numbered by `mark.line`, from 1
  std::vector<Glimpse> glimpses;
};

/// Nothing when the manner that was drawn does not suit the time-outs: draw again.
std::optional<NaturalInstall> make_install(const Families& families, Draw& draw);

/// Whether every intended address is held in the end and nobody is left in setup.
bool works(const model::Scenario& scenario);

/// What shows at each glimpse when a scenario is run whose steps stand for those told; nothing where the step was never
/// done. And how it ends.
struct Shown {
  model::World world;
  std::vector<std::optional<std::string>> at;
};
Shown run_and_look(const model::Scenario& scenario, const std::vector<Glimpse>& glimpses);

model::Step waits(sim::Duration duration);
bool is_act(const model::Step& step);

}  // namespace drybus::bench
