// Words of a call on their way into its file, and what is wrong with them on the way back to whoever said them.
#pragma once

#include <string>
#include <string_view>

#include "tools/script/problem.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// As YAML has a text that may hold anything: between quotation marks.
std::string in_quotes(std::string_view text);

/// "unknown button 'ip': one of: up, down; did you mean 'up'?"
std::string in_a_sentence(const Problem& problem);
std::string in_a_sentence(const QuantityError& error);

}  // namespace drybus::tools
