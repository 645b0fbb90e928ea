#include "tools/schedule/site_file.h"

#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "tools/schedule/csv.h"
#include "tools/script/quantity.h"
#include "tools/script/site_wishes.h"
#include "tools/script/words.h"

namespace drybus::tools {

namespace {

std::string dimming_word(model::Dimming dimming) {
  return std::string{words::dimmings()[static_cast<std::size_t>(dimming)]};
}

/// A plain word where YAML and our reader take it for one, else between quotation marks.
void put(YAML::Emitter& out, std::string_view key, const std::string& value) {
  out << YAML::Key << std::string{key} << YAML::Value << value;
}

void put_plates(YAML::Emitter& out, const Schedule& schedule) {
  out << YAML::Key << "plates" << YAML::Value << YAML::BeginMap;
  for (const SchedulePlate& plate : schedule.plates) {
    out << YAML::Key << plate.name << YAML::Value << YAML::Flow << YAML::BeginMap;
    put(out, "label", plate.label);
    put(out, "place", plate.room);
    if (plate.zone) {
      out << YAML::Key << "switches" << YAML::Value << YAML::Flow << YAML::BeginMap;
      out << YAML::Key << "site" << YAML::Value << unsigned{*plate.site};
      out << YAML::Key << "zone" << YAML::Value << unsigned{*plate.zone} << YAML::EndMap;
    }
    out << YAML::EndMap;
  }
  out << YAML::EndMap;
}

void put_module(YAML::Emitter& out, const Schedule& schedule, const Circuit& circuit) {
  out << YAML::Key << circuit.name << YAML::Value << YAML::Flow << YAML::BeginMap;
  put(out, "label", circuit.label);
  put(out, "place", circuit.room);
  if (circuit.plates.size() == 1) put(out, "plate", schedule.plates[circuit.plates.front()].name);
  if (circuit.plates.size() > 1) {
    out << YAML::Key << "plate" << YAML::Value << YAML::Flow << YAML::BeginSeq;
    for (const std::size_t plate : circuit.plates) out << schedule.plates[plate].name;
    out << YAML::EndSeq;
  }
  if (circuit.channel)
    put(out, "intended", fmt::format("{}/{}/{}", *circuit.site, *circuit.zone, *circuit.channel));
  if (circuit.watts) {
    out << YAML::Key << "load" << YAML::Value << YAML::Flow << YAML::BeginMap;
    put(out, "power", exact_decimal(*circuit.watts) + " W");
    put(out, "dimming", dimming_word(circuit.dimming));
    out << YAML::EndMap;
  }
  if (circuit.do_not_switch) put(out, "do_not_switch", "yes");
  out << YAML::EndMap;
}

const std::string& room_of(const model::Site& site, model::DeviceId device) {
  return site.places[site.place(device)].name;
}

Circuit circuit_of(const model::Site& site, const model::SiteWishes& wishes, std::size_t index,
                   const std::vector<std::size_t>& plate_index) {
  const model::ModuleSpec& module = site.modules[index];
  Circuit circuit;
  circuit.name = module.name;
  circuit.label = module.label.empty() ? module.name : module.label;
  circuit.room = room_of(site, site.module_id(index));
  for (const model::DeviceId plate : wishes.plates[index]) circuit.plates.push_back(plate_index[plate]);
  if (module.load) circuit.watts = module.load->watts, circuit.dimming = module.load->method;
  if (module.intended) {
    circuit.site = module.intended->site, circuit.zone = module.intended->zone,
    circuit.channel = module.intended->channel;
  }
  circuit.do_not_switch = wishes.left_alone(index);
  return circuit;
}

}  // namespace

std::string site_yaml(const Schedule& schedule, const std::string& family, const std::string& about) {
  YAML::Emitter out;
  out << YAML::BeginMap << YAML::Key << "drybus-site" << YAML::Value << 1;
  out << YAML::Key << "about" << YAML::Value << YAML::Literal << about;
  put(out, "family", family);
  out << YAML::Key << "places" << YAML::Value << YAML::BeginMap;
  for (const std::string& room : schedule.rooms)
    out << YAML::Key << room << YAML::Value << YAML::Flow << YAML::BeginMap << YAML::EndMap;
  out << YAML::EndMap;
  put_plates(out, schedule);
  out << YAML::Key << "modules" << YAML::Value << YAML::BeginMap;
  for (const Circuit& circuit : schedule.circuits) put_module(out, schedule, circuit);
  out << YAML::EndMap << YAML::EndMap;
  return std::string{out.c_str()} + "\n";
}

std::string schedule_csv(const Schedule& schedule) {
  static const std::array<std::string, 10> heading = {
      "Room", "Circuit", "Module", "Plate", "Load W", "Dimming", "Site", "Zone", "Channel", "Do not switch"};
  std::string text = csv_line(heading);
  const auto number = [](const std::optional<std::uint8_t>& value) {
    return value ? std::to_string(*value) : "";
  };
  for (const Circuit& circuit : schedule.circuits) {
    std::string plates;
    for (const std::size_t plate : circuit.plates)
      plates += (plates.empty() ? "" : " + ") + schedule.plates[plate].label;
    std::optional<std::uint8_t> site = circuit.site, zone = circuit.zone;
    if (!zone && !circuit.plates.empty()) {
      site = schedule.plates[circuit.plates.front()].site;
      zone = schedule.plates[circuit.plates.front()].zone;
    }
    const std::array<std::string, 10> cells = {circuit.room,
                                               circuit.label,
                                               circuit.name,
                                               plates,
                                               circuit.watts ? exact_decimal(*circuit.watts) : "",
                                               circuit.watts ? dimming_word(circuit.dimming) : "",
                                               number(site),
                                               number(zone),
                                               number(circuit.channel),
                                               circuit.do_not_switch ? "yes" : ""};
    text += csv_line(cells);
  }
  // Only by this mark do spreadsheets know that it is no Latin-1.
  const bool plain =
      std::all_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x80; });
  return plain ? text : "\xEF\xBB\xBF" + text;
}

Schedule schedule_of(const LoadedSite& loaded) {
  const model::Site& site = loaded.site;
  const model::SiteWishes wishes = site_wishes(loaded);
  Schedule schedule;
  for (const model::Place& place : site.places) schedule.rooms.push_back(place.name);
  std::vector<std::size_t> plate_index(site.plates.size());
  for (model::DeviceId id = 0; id < site.plates.size(); ++id) {
    const model::PlateSpec& plate = site.plates[id];
    if (plate.neighbour) continue;
    plate_index[id] = schedule.plates.size();
    schedule.plates.push_back(
        {plate.name, plate.label.empty() ? plate.name : plate.label, room_of(site, id), {}, {}, false});
    if (!wishes.open_plates[id]) {
      schedule.plates.back().site = plate.site;
      schedule.plates.back().zone = plate.zone;
    }
  }
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (!site.modules[i].neighbour) schedule.circuits.push_back(circuit_of(site, wishes, i, plate_index));
  }
  return schedule;
}

}  // namespace drybus::tools
