// What sanitizers report of a library that is built with them: told like any other fault, not printed.
#pragma once

#include <string>

namespace drybus::tools {

/// Has the sanitizers of a library that is loaded report here. Does nothing when it has none.
void take_reports(void* library);

/// Whether any library has them.
bool sanitizers_report();

/// Of a hook of theirs: before each report.
void come_before_it();

/// What has been reported in this process since it was asked last, in a line; empty when nothing has.
std::string new_report();

}  // namespace drybus::tools
