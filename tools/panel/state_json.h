// The bench as the page gets to see it. See PROTOCOL.md.
#pragma once

#include <boost/json.hpp>

#include "tools/panel/bench.h"
#include "tools/panel/curtain.h"

namespace drybus::tools {

/// What never changes: site, family, patterns, bounds.
boost::json::object hello_json(const Bench& bench, Curtain curtain = Curtain::open);

/// All there is of the chosen branch, the list of branches, the clock and the pause.
boost::json::object state_json(const Bench& bench, Curtain curtain = Curtain::open);

/// One branch as it stands: what `view` shows of another one.
boost::json::object course_json(const Bench& bench, const Course& course, Curtain curtain);

// --- the parts, for telling what changed ---

boost::json::object clock_json(const Bench& bench, Curtain curtain);
boost::json::array branches_json(const Bench& bench, Curtain curtain);
boost::json::object device_json(const Branch& branch, model::DeviceId device, Curtain curtain);
boost::json::array people_json(const Course& course);
/// The installer's last step in words; empty where there is none.
std::string last_step_text(const Course& course);
boost::json::object links_json(const Branch& branch, Curtain curtain);
boost::json::value pause_json(const Bench& bench);
boost::json::object telegram_json(const Branch& branch, const SeenTelegram& seen);
boost::json::array findings_json(const Branch& branch, const std::vector<model::Observation>& observations);

/// Whether an entry of the record makes a line of the timeline.
bool is_told(const sim::Entry& entry);
/// Whether nobody on site sees what it tells, wherever they stand.
bool is_hidden_line(const model::Scenario& scenario, const sim::Entry& entry);
/// REQUIRES: is_told.
boost::json::object line_json(const Course& course, sim::EntryId id);
/// Whether the line tells of a press that nobody has let go of: it will read otherwise when they do.
bool is_unfinished(const Course& course, const sim::Entry& entry);

}  // namespace drybus::tools
