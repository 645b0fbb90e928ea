// Fault-finding: a site that was built right, with something hidden in it that a person on site can find and put right.
//
// What is hidden comes out of the work that the site's plan is, with a slip or fault of the catalogue in it. It is taken only when
// the engines prove it: a round of every press and look on site tells it from the right site; diagnosis, told what that round
// shows, has it among its first explanations; and recover has a cure that was run.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/handover/install.h"
#include "model/handover/round.h"
#include "model/recovery/recover.h"
#include "sim/enumeration.h"

namespace drybus::model {

BOOST_DEFINE_FIXED_ENUM_CLASS(Difficulty, std::uint8_t,
                              easy,    ///< one thing, put right with buttons alone
                              middle,  ///< one thing, behind a cover: the supply is isolated for it
                              hard)    ///< two things at once

struct Exercise {
  Scenario scenario;               ///< as it should be, with one person who has done nothing yet
  World start;                     ///< as it is
  std::vector<std::string> truth;  ///< what was hidden, each in words
  Cure cure;                       ///< the shortest way from there
  std::size_t rank = 0;            ///< of the truth among what diagnosis makes of a whole round, from 1
  sim::Duration round_takes{};     ///< to press everything and look everywhere
  std::size_t round_steps = 0;
};

struct ExerciseBounds {
  std::size_t most_tried = 60;          ///< things that are looked at before giving up
  std::size_t most_slips = 4'000;       ///< slips and faults that are run
  std::size_t most_hypotheses = 2'000;  ///< for each diagnosis
  std::size_t best_explanations = 3;    ///< among which the truth has to be
};

/// Draws one from the seed. Nothing when none of those tried is provable. REQUIRES: `built` is the site of `problem`, built.
std::optional<Exercise> make_exercise(const BuiltSite& built, const RouteProblem& problem,
                                      const Catalogue& catalogue, Difficulty difficulty, std::uint64_t seed,
                                      const ExerciseBounds& bounds = {});

}  // namespace drybus::model
