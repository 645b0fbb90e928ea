// Programming scenes by hand: which keys are pressed, so that every module of a zone stores the level that the site wants.
//
// A plate sets all levels of its zone alike; beside a module its own button makes it full or dark. So a scene can be stored
// with these keys if its levels are dark, full, and one other. What cannot be is said, and is not begun.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "model/people/script.h"

namespace drybus::model {

/// One line of it, as it is told.
struct SceneLine {
  std::string text;
  std::uint32_t first_step = 0;
  std::uint32_t steps = 0;
};

struct SceneWork {
  std::vector<Step> steps;
  std::vector<SceneLine> lines;
  std::vector<std::string> cannot;  ///< scenes that these keys cannot make so, and why
};

/// `wanted`: by module of the site, the scenes that it has not as it is to have them, a bit each; whatever is wanted of one
/// is stored for its whole zone, since all of a zone store together. Addresses are the intended ones, where there are any, and
/// plates' switches as the site says.
SceneWork scene_work(const Site& site, const HumanTimes& times, std::span<const unsigned> wanted);

}  // namespace drybus::model
