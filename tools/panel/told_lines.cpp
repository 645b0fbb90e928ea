// Which entries of a record are lines of the story, and which of these nobody on site can see.
#include "tools/panel/state_json.h"

namespace drybus::tools {

using model::Step;
using model::StepKind;
using model::What;

namespace {

bool is_hidden_step(StepKind kind) {
  return kind == StepKind::fault || kind == StepKind::expect;
}

}  // namespace

bool is_hidden_line(const model::Scenario& scenario, const sim::Entry& entry) {
  switch (model::what(entry)) {
    case What::began:
    case What::walked:
    case What::arrived:
    case What::indicator:
    case What::level:
    case What::power:
    case What::switches:
      return false;
    case What::step:
      return is_hidden_step(scenario.people[entry.who].script[entry.a].kind);
    case What::checked:
      return !scenario.checks[entry.a].seen;
    case What::contact:
    case What::misread:
    case What::gesture:
    case What::mode:
    case What::channel:
    case What::refused:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::sent:
    case What::sent_whole:
    case What::gave_up:
    case What::dropped:
    case What::heard:
    case What::lost:
    case What::assign_ignored:
    case What::obeyed:
    case What::level_reached:
    case What::store_begun:
    case What::stored:
    case What::store_torn:
    case What::power_up:
    case What::blips:
    case What::blip_unshown:
    case What::link:
    case What::stuck:
    case What::deaf:
    case What::said:
      return true;
  }
  return true;
}

/// Blips and breathing come with every telegram at every device: they are on the devices, not in the story.
static bool is_told(model::Pattern pattern) {
  switch (pattern) {
    case model::Pattern::blink:
    case model::Pattern::steady:
    case model::Pattern::refuse:
      return true;
    case model::Pattern::dark:
    case model::Pattern::blip:
    case model::Pattern::breathe:
      return false;
  }
  return false;
}

bool is_told(const sim::Entry& entry) {
  switch (model::what(entry)) {
    case What::began:
    case What::step:
    case What::walked:
    case What::arrived:
    case What::misread:
    case What::gesture:
    case What::mode:
    case What::channel:
    case What::refused:
    case What::gave_up:
    case What::dropped:
    case What::lost:
    case What::assign_ignored:
    case What::level:
    case What::stored:
    case What::store_torn:
    case What::power_up:
    case What::blips:
    case What::power:
    case What::switches:
    case What::link:
    case What::stuck:
    case What::deaf:
    case What::checked:
    case What::said:
      return true;
    case What::indicator:
      return is_told(static_cast<model::Pattern>(entry.a));
    case What::contact:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::sent:
    case What::sent_whole:
    case What::heard:
    case What::obeyed:
    case What::level_reached:
    case What::store_begun:
    case What::blip_unshown:
      return false;
  }
  return false;
}

}  // namespace drybus::tools
