// Why a telegram was lost, in a word or two.
#pragma once

#include <string>

#include "sim/medium.h"

namespace drybus::tools {

/// As the pictures have it ("collision"), in the words that are spoken.
std::string spoken_loss(sim::Loss loss);

}  // namespace drybus::tools
