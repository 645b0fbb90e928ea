// JSON as text, with decimals as people write them: 5 and 0.25, where Boost.JSON's own serializer prints 5E0
// and 2.5E-1.
#pragma once

#include <boost/json.hpp>
#include <span>
#include <string>

namespace drybus::tools {

/// On one line. Numbers read back exactly; one that is not finite becomes null, as JSON has no word for it.
std::string json_text(const boost::json::value& value);

/// An array of strings.
boost::json::array texts(std::span<const std::string> all);

}  // namespace drybus::tools
