#include "tools/base/reason.h"

#include <boost/system/system_error.hpp>

namespace drybus::tools {

std::string reason_of(const std::exception& error) {
  const auto* system = dynamic_cast<const boost::system::system_error*>(&error);
  return system == nullptr ? error.what() : system->code().message();
}

}  // namespace drybus::tools
