// A pupil at work on an exercise: what they do on site, one action after another, as a plain value.
//
// Nobody works live. Whoever takes a cover off while the supply is not isolated, locked off and proved dead has ended the
// exercise.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/exercise/exercise.h"

namespace drybus::model {

struct SiteAction {
  enum class Kind : std::uint8_t {
    look,
    hands,    ///< steps: presses, holds, waits, walks
    isolate,  ///< the supply of everything of ours
    lock_off,
    prove_dead,
    restore,  ///< lock off, supply on
    work,     ///< steps: behind a cover, at a joint
    believe,  ///< text: what the pupil thinks is wrong
  };
  Kind kind = Kind::look;
  std::vector<Step> steps;
  std::string text;  ///< as it was said
};

/// What became of one action.
struct Done {
  sim::Instant at{};  ///< when it began
  SiteAction action;
  std::vector<std::string> seen;    ///< what looks otherwise than before, where the pupil stands
  std::vector<std::string> hidden;  ///< what became otherwise and nobody could see there
  bool needless = false;            ///< work that made no difference
};

struct Attempt {
  World world;
  std::vector<Done> done;
  std::vector<DeviceId> without_supply;  ///< whatever is on; a joint behind a cover has to be made good
  bool isolated = false;
  bool locked = false;
  bool proved_dead = false;
  std::optional<std::string> unsafe;  ///< why that was the end of it

  /// Safe to take a cover off.
  [[nodiscard]] bool is_dead() const { return isolated && locked && proved_dead; }
};

Attempt begin_attempt(const Exercise& exercise);

/// Why an action cannot be done now, in words; nothing: it was done (or was the end of the attempt). REQUIRES: not unsafe yet.
std::optional<std::string> act(const Exercise& exercise, Attempt& attempt, const SiteAction& action);

/// "Hall plate (P1): lamp dark", for every device where the pupil stands.
std::vector<std::string> what_shows(const Exercise& exercise, const World& world);

/// Four parts of a quarter each; everything is lost by unsafe work. Measured against a whole round and the shortest way after
/// it: common practice, no source.
struct Score {
  bool cured = false;
  double minutes = 0;
  double par_minutes = 0;
  std::size_t steps = 0;
  std::size_t par_steps = 0;
  std::size_t needless = 0;
  unsigned points = 0;             ///< of 100
  std::vector<std::string> amiss;  ///< what is still wrong
};
Score score_of(const Exercise& exercise, const Attempt& attempt);

}  // namespace drybus::model
