// Telephone calls whose truth is known: a random site, a script that would have been right, one or two slips
// or faults, and what somebody on site would mention of it. Nothing here knows how a diagnosis is made:
// sites, scripts and slips are made by editing plain values, and the truth is what the simulator says.
//
// What counts as a case
//
// - The script without the slip works: every intended address is held in the end and nobody is left in setup.
// - A slip leaves something out of step. One that makes no difference in the end (a repeated press that changes
//   nothing, a telegram lost that nobody needed) is no case, and another is drawn: nobody rings up about it, and no
//   answer about it could be called right or wrong. Of two slips each leaves its own difference: with either of
//   them alone the hidden state of the site would be another.
// - In the end the channels of every plate are called, the lights are tried, and every module's own button once.
// - A person could see it, and did so twice: among what is mentioned there are two truthful observations that the
//   script as told would not have led to; with two slips, two that are owed to each of them. People who ring up say
//   what is wrong, and they have looked again before they do: a single look is likelier to be a mistake (one in
//   fifty) than any slip.
// - Of everything else a third is not mentioned, and one in fifty observations is wrong.
// - What is told of times is loose: waits and walks really took somewhat longer or shorter than told.
//
// When an explanation is right
//
// It names the same slips and faults (their kind, device or link, and the step where one was done otherwise;
// not which of its switches stands wrong, or which button was pressed instead), or it ends in the same hidden
// state (addresses, modes, power-up modes, switches, power, links, stuck buttons), which is to say that
// nobody on site could tell it from the truth, and that the cure is the same. Addresses that no plate of the
// site speaks to are alike in this, for nothing on site tells one from another. A link that
// loses most telegrams and one that loses all are the same fault, and so are a press that was repeated and a contact
// that bounced.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/report.h"
#include "model/world/world.h"

namespace drybus::bench {

/// What was made to go wrong, as a catalogue would name it.
struct TrueCause {
  model::Mishap mishap = model::Mishap::forgot;
  model::DeviceId device = model::no_device;
  std::optional<std::uint32_t> link;
  std::optional<std::uint32_t> step;  ///< of the script as told, where that was done otherwise
  model::DeviceId other = model::no_device;
  std::string text;
};

struct DiagnosisCase {
  std::uint64_t seed = 0;
  model::Report report;
  model::Scenario truth;            ///< what really was and was done
  model::World world;               ///< where it ended
  std::vector<TrueCause> mischief;  ///< what was made to go wrong
};

/// Families that sites are made of.
struct Families {
  std::vector<model::Family> all;
};

/// The case of a seed; the same on every machine. `slips`: 1 or 2.
DiagnosisCase make_case(const Families& families, std::uint64_t seed, std::size_t slips);

/// What is hidden at the end of a run; equal where nobody on site could tell two worlds apart in the long
/// run.
std::vector<std::uint32_t> signature(const model::Site& site, const model::World& world);

}  // namespace drybus::bench
