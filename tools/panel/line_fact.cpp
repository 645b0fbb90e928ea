#include "tools/panel/line_fact.h"

#include <bit>
#include <string>

#include "model/world/installer.h"
#include "tools/panel/exact_seconds.h"

namespace drybus::tools {

namespace json = boost::json;

using model::StepKind;
using model::What;

namespace {

std::string stored_text(std::uint64_t packed) {
  const auto part = [packed](unsigned shift) { return std::to_string((packed >> shift) & 0xff); };
  return part(0) + "/" + part(8) + "/" + part(16);
}

std::string value_of(const model::Scenario& scenario, const sim::Entry& entry) {
  switch (model::what(entry)) {
    case What::mode:
      return std::string{to_string(static_cast<model::Mode>(entry.a))};
    case What::indicator:
      return std::string{to_string(static_cast<model::Pattern>(entry.a))};
    case What::stored:
      return stored_text(entry.a);
    case What::channel:
      return std::to_string(entry.a);
    case What::power:
      return entry.a != 0 ? "on" : "off";
    case What::walked:
      return scenario.site.places[entry.b].name;
    case What::arrived:
      return scenario.site.places[entry.a].name;
    case What::step:
      return std::string{kind_text(scenario.people[entry.who].script[entry.a].kind)};
    case What::began:
    case What::contact:
    case What::misread:
    case What::gesture:
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
    case What::level:
    case What::level_reached:
    case What::store_begun:
    case What::store_torn:
    case What::power_up:
    case What::blips:
    case What::blip_unshown:
    case What::link:
    case What::switches:
    case What::stuck:
    case What::deaf:
    case What::checked:
    case What::said:
      return "";
  }
  return "";
}

}  // namespace

json::array buttons_json(const model::Site& site, model::DeviceId device, model::Buttons set) {
  json::array names;
  for (; set != 0; set = static_cast<model::Buttons>(set & (set - 1))) {
    const auto button = static_cast<std::size_t>(std::countr_zero(set));
    names.emplace_back(site.is_plate(device) ? site.plate_family(device).name_of(static_cast<model::Button>(button)) : site.module_family(device).button);
  }
  return names;
}

std::string_view kind_text(StepKind kind) {
  switch (kind) {
    case StepKind::press:
      return "press";
    case StepKind::hold:
      return "hold";
    case StepKind::wait:
      return "wait";
    case StepKind::walk:
      return "walk";
    case StepKind::switches:
      return "switches";
    case StepKind::power:
      return "power";
    case StepKind::fault:
      return "fault";
    case StepKind::see:
      return "see";
    case StepKind::expect:
      return "expect";
    case StepKind::note:
      return "note";
  }
  return "";
}

void add_fact(json::object& line, const Course& course, const sim::Entry& entry) {
  const model::Scenario& scenario = course.run->scenario();
  line["value"] = value_of(scenario, entry);
  if (model::what(entry) != What::step) return;
  const model::Step& step = scenario.people[entry.who].script[entry.a];
  if (step.kind != StepKind::press && step.kind != StepKind::hold) return;
  const bool is_open = entry.who == 0 && course.open_press && *course.open_press == entry.a;
  line["who"] = scenario.site.name(step.device);
  line["buttons"] = buttons_json(scenario.site, step.device, step.buttons);
  line["for_s"] = is_open ? json::value(nullptr) : json::value(exact_seconds(sim::Instant{} + step.duration));
}

}  // namespace drybus::tools
