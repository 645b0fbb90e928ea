// What lines carried, as a value-change dump: a variable of one bit for each line, 1 while it is high.
#pragma once

#include <string>
#include <vector>

#include "model/protocol/protocol.h"

namespace drybus::tools {

/// Real half-bits, so that waveform viewers and bus decoders read them. REQUIRES: the run kept its waves.
std::string line_vcd(const protocol::Run& run);

}  // namespace drybus::tools
