// Text as XML can hold it.
#pragma once

#include <string>
#include <string_view>

namespace drybus::tools {

/// Text for XML, with what XML 1.0 cannot hold replaced.
std::string xml_escaped(std::string_view text);

}  // namespace drybus::tools
