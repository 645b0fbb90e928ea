// Commands that people are shown put what they make into /tmp. Tests run them in a folder of their own, as several may run at once.
#pragma once

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace drybus::tests {

/// As shell, but what the command has in /tmp lies in that folder; what is printed names /tmp again.
Ran shell_with_tmp(const Folder& folder, const std::string& command);

}  // namespace drybus::tests
