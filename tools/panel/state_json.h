// The bench as the page gets to see it. See PROTOCOL.md.
#pragma once

#include <boost/json.hpp>

#include "tools/panel/bench.h"
#include "tools/panel/curtain.h"
#include "tools/panel/looks.h"

namespace drybus::tools {

/// What never changes: site, family, patterns, bounds. Of a site that is told in parts only its rooms, and how much is in each.
boost::json::object hello_json(const Bench& bench, Curtain curtain = Curtain::open);

/// What never changes of the devices looked at, and how they stand: `part`.
boost::json::object part_json(const Bench& bench, Curtain curtain, const Looks& looks);

/// All there is of the chosen branch, the list of branches, the clock and the pause.
boost::json::object state_json(const Bench& bench, Curtain curtain = Curtain::open, const Looks& looks = {});

/// One branch as it stands: what `view` shows of another one.
boost::json::object course_json(const Bench& bench, const Course& course, Curtain curtain,
                                const Looks& looks = {});

// --- the parts, for telling what changed ---

boost::json::object clock_json(const Bench& bench, Curtain curtain);
boost::json::array branches_json(const Bench& bench, Curtain curtain);
boost::json::object device_json(const Branch& branch, model::DeviceId device, Curtain curtain);
boost::json::array people_json(const Course& course);
/// The installer's last step in words; empty where there is none.
std::string last_step_text(const Course& course);
boost::json::object links_json(const Branch& branch, Curtain curtain, const Looks& looks = {});
boost::json::value pause_json(const Bench& bench);
boost::json::object telegram_json(const Branch& branch, const SeenTelegram& seen, const Looks& looks = {});
/// No more than `most_findings_told`, the last ones, and of those that are about devices looked at.
boost::json::array findings_json(const Branch& branch, const std::vector<model::Observation>& observations,
                                 const Looks& looks = {});
inline constexpr std::size_t most_findings_told = 200;

/// Whether an entry of the record makes a line of the timeline.
bool is_told(const sim::Entry& entry);
/// Whether nobody on site sees what it tells, wherever they stand.
bool is_hidden_line(const model::Scenario& scenario, const sim::Entry& entry);
/// Whether it is about somebody, or a device looked at.
bool is_looked_at(const model::Scenario& scenario, const sim::Entry& entry, const Looks& looks);
/// REQUIRES: is_told.
boost::json::object line_json(const Course& course, sim::EntryId id);
/// Whether the line tells of a press that nobody has let go of: it will read otherwise when they do.
bool is_unfinished(const Course& course, const sim::Entry& entry);

}  // namespace drybus::tools
