// The sheet that goes along on the round: what to do and see, room by room, a box for each line, and a line to sign.
#pragma once

#include <string>

#include "tools/view/handover_report.h"

namespace drybus::tools {

/// One HTML file that needs nothing else, for A4 or letter.
std::string handover_sheet(const HandoverReport& report, bool letter);

}  // namespace drybus::tools
