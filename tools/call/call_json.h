// Where a guided repair stands, for programs.
#pragma once

#include <boost/json.hpp>
#include <string_view>

#include "model/call/guide.h"
#include "tools/call/call_file.h"

namespace drybus::tools {

/// "check", "cure", "proof", "proved", "no-cure".
std::string_view stage_word(model::CallState::Stage stage);

/// The question or the step that stands, what may be answered to it, and what could explain what was told.
/// REQUIRES: the file has a report.
boost::json::object call_json(const CallFile& file, const model::CallState& state);

}  // namespace drybus::tools
