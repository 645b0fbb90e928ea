// A load that a press left as it was: whether it was lit or dark nobody has said.
#pragma once

#include <string_view>

#include "model/words/words.h"

namespace drybus::model {

/// Seen::what of such a load, looked at after a press that should have changed it.
inline constexpr std::string_view as_it_was = msg("as it was");

}  // namespace drybus::model
