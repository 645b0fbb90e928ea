// A call on a page in the browser.
#pragma once

#include <string>

#include "tools/call/call_file.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

/// Offers --page and what goes with it.
void offer_page(CommandLine& line);

/// Begins a call on a site: its file with the addresses that `drybus plan` gives where the site leaves them open. Throws
/// Unusable where there is something in the file already, or the site cannot be planned.
void begin_on(CallFile& file, const std::string& site);

/// Serves the page until it is interrupted. The exit code.
int serve_page(CallFile file, const CommandLine& line);

}  // namespace drybus::tools
