#include "tools/panel/call/site_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "model/call/words.h"
#include "model/record/describe.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

namespace json = boost::json;

using model::Button;
using model::DeviceId;
using model::Site;

namespace {

/// Somewhat longer than the family asks for, as people hold a button until the lamp blinks.
constexpr sim::Duration held_on = std::chrono::milliseconds{500};

/// What a sentence calls the device: its label, unless somebody would misread that.
std::string name_in_a_sentence(const Site& site, DeviceId device) {
  const std::string& title = site.title(device);
  const bool plain = model::called(site, device) == title && title.find_first_of(",.:") == std::string::npos;
  return plain ? title : site.name(device);
}

std::string setup_of_plate(const Site& site, DeviceId plate) {
  const std::string text = model::buttons_text(site, plate, site.plate_family(plate).setup_gesture);
  return text.substr(std::min(text.size(), site.name(plate).size() + 1));
}

/// "on", "off": what people press a plate for; empty for everything else.
std::string_view what_it_does(const model::PlateFamily& family, Button button) {
  const model::Command command = family.press[button].command;
  if (command == model::Command::on) return "on";
  return command == model::Command::off ? "off" : "";
}

/// Those that switch first, as they are pressed most.
std::vector<Button> buttons_by_use(const model::PlateFamily& family) {
  std::vector<Button> buttons(family.buttons.size());
  std::iota(buttons.begin(), buttons.end(), Button{0});
  std::stable_partition(buttons.begin(), buttons.end(),
                        [&](Button button) { return !what_it_does(family, button).empty(); });
  return buttons;
}

json::object plate_json(const Site& site, DeviceId plate, bool unread) {
  const model::PlateSpec& spec = site.plates[plate];
  const model::PlateFamily& family = site.plate_family(plate);
  json::array buttons;
  json::object does;
  for (const Button button : buttons_by_use(family)) {
    buttons.push_back(json::value(family.name_of(button)));
    if (const auto word = what_it_does(family, button); !word.empty()) does[family.name_of(button)] = word;
  }
  return {{"kind", "plate"},
          {"does", std::move(does)},
          {"switches", unread ? std::string{"unknown"} : fmt::format("{}/{}", spec.site, spec.zone)},
          {"buttons", std::move(buttons)},
          {"setup", setup_of_plate(site, plate)},
          {"setup_for", exact_duration(family.setup_hold + held_on)}};
}

json::object module_json(const Site& site, DeviceId module) {
  const auto& intended = site.modules[site.module_index(module)].intended;
  const model::ModuleFamily& family = site.module_family(module);
  json::array buttons;
  if (!family.button.empty()) buttons.push_back(json::value(family.button));
  return {{"kind", "module"},
          {"intended", intended ? json::value(to_string(*intended)) : json::value(nullptr)},
          {"buttons", std::move(buttons)},
          {"setup", family.button},
          {"setup_for", exact_duration(site.setup_hold(module) + held_on)}};
}

}  // namespace

json::object call_site_json(const Site& site, const std::vector<DeviceId>& unread) {
  json::array rooms;
  for (std::size_t place = 0; place < std::max<std::size_t>(site.places.size(), 1); ++place) {
    json::array devices;
    for (DeviceId device = 0; device < site.device_count(); ++device) {
      if (site.place(device) != place) continue;
      const bool not_read = std::find(unread.begin(), unread.end(), device) != unread.end();
      json::object each =
          site.is_plate(device) ? plate_json(site, device, not_read) : module_json(site, device);
      each["name"] = site.name(device);
      each["label"] = model::called(site, device);
      each["say"] = name_in_a_sentence(site, device);
      each["neighbour"] = site.is_neighbour(device);
      devices.push_back(std::move(each));
    }
    const bool named = site.places.size() > 1;
    rooms.push_back(
        json::object{{"name", named ? json::value(site.places[place].name) : json::value(nullptr)},
                     {"devices", std::move(devices)}});
  }
  return {{"rooms", std::move(rooms)}};
}

}  // namespace drybus::tools
