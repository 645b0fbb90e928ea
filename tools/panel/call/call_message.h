// A call as its page shows it: what was told and answered, what could explain it, what is asked or dictated.
#pragma once

#include <boost/json.hpp>
#include <cstdint>
#include <string>
#include <vector>

#include "model/call/guide.h"
#include "tools/call/call_file.h"
#include "tools/call/told_text.h"

namespace drybus::tools {

struct CallMessage {
  const CallFile& file;
  std::uint64_t revision = 0;
  const model::CallState* state = nullptr;  ///< what is known of it; null: nothing
  std::string failed;
  std::vector<CallNote> told;
  bool working = false;  ///< it is being thought about: `state` is of a moment ago
  bool can_go_back = false;
};

boost::json::object call_message_json(const CallMessage& parts);

}  // namespace drybus::tools
