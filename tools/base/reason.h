// What an exception says to people.
#pragma once

#include <exception>
#include <string>

namespace drybus::tools {

/// Its message, without the place in some library's source that the message may carry.
std::string reason_of(const std::exception& error);

}  // namespace drybus::tools
