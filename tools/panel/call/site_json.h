// A site for the page of a call: rooms and who is in them, and what can be said of each device.
#pragma once

#include <boost/json.hpp>
#include <vector>

#include "model/site/site.h"

namespace drybus::tools {

/// `rooms`, each with its `devices`, and of each device its buttons and what is held to put it in setup.
boost::json::object call_site_json(const model::Site& site, const std::vector<model::DeviceId>& unread);

}  // namespace drybus::tools
