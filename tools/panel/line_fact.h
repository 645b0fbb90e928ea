// The fact behind a line of the timeline, for lanes that are drawn from the lines.
#pragma once

#include <boost/json.hpp>

#include "tools/panel/bench.h"

namespace drybus::tools {

/// Adds `value` to the line, and `who`, `buttons` and `for_s` where somebody pushes buttons; see PROTOCOL.md.
void add_fact(boost::json::object& line, const Course& course, const sim::Entry& entry);

/// "hold", as a scenario has it.
std::string_view kind_text(model::StepKind kind);

/// The names of a set of buttons.
boost::json::array buttons_json(const model::Site& site, model::DeviceId device, model::Buttons set);

}  // namespace drybus::tools
