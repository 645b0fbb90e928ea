#include "tools/schedule/site_file.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <array>
#include <boost/algorithm/string.hpp>
#include <cmath>
#include <set>

#include "tools/base/utf8.h"
#include "tools/schedule/csv.h"
#include "tools/schedule/labels.h"
#include "tools/script/quantity.h"
#include "tools/script/site_wishes.h"
#include "tools/script/words.h"

namespace drybus::tools {

namespace {

std::string dimming_word(model::Dimming dimming) {
  return std::string{words::dimmings()[static_cast<std::size_t>(dimming)]};
}

/// Words that need no quotation marks: whatever YAML makes of the others, between quotation marks they are text.
bool is_plain(const std::string& text) {
  const auto is_of_a_word = [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == ' ' ||
           c == '-' || c == '/' || c == '_' || c == '.' || c == '(' || c == ')';
  };
  static const std::set<std::string> words = {"y", "n", "yes", "no", "on", "off", "true", "false", "null"};
  return !text.empty() && ((text[0] >= 'a' && text[0] <= 'z') || (text[0] >= 'A' && text[0] <= 'Z')) &&
         std::all_of(text.begin(), text.end(), is_of_a_word) && !words.contains(boost::to_lower_copy(text));
}

void put_text(YAML::Emitter& out, const std::string& text) {
  if (!is_plain(text)) out << YAML::DoubleQuoted;
  out << text;
}

/// What somebody else has written.
void put(YAML::Emitter& out, std::string_view key, const std::string& value) {
  out << YAML::Key << std::string{key} << YAML::Value;
  put_text(out, value);
}

/// A word of ours.
void put_word(YAML::Emitter& out, std::string_view key, const std::string& value) {
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
    put_word(out, "intended", fmt::format("{}/{}/{}", *circuit.site, *circuit.zone, *circuit.channel));
  if (circuit.watts) {
    out << YAML::Key << "load" << YAML::Value << YAML::Flow << YAML::BeginMap;
    put_word(out, "power", exact_decimal(*circuit.watts) + " W");
    put_word(out, "dimming", dimming_word(circuit.dimming));
    out << YAML::EndMap;
  }
  if (circuit.do_not_switch) put_word(out, "do_not_switch", "yes");
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
  circuit.do_not_switch = module.do_not_switch;
  return circuit;
}

/// The lines of a sheet. A plate has one of its own only where the circuits do not say as much.
class SheetWriter {
 public:
  explicit SheetWriter(const Schedule& schedule) : schedule_(schedule) {
    for (const SchedulePlate& plate : schedule.plates) {
      // Labels tell plates apart there.
      std::string label = plate.label;
      if (!taken_.insert(boost::to_lower_copy(label)).second) {
        label = fmt::format("{} ({})", label, plate.name);
        taken_.insert(boost::to_lower_copy(label));
      }
      labels_.push_back(std::move(label));
    }
  }

  std::string lines() {
    std::string plates;
    for (std::size_t i = 0; i < labels_.size(); ++i) {
      if (needs_line(i)) plates += plate_line(i);
    }
    std::string circuits;
    for (const Circuit& circuit : schedule_.circuits) {
      come_to(circuit.room);
      circuits += circuit_line(circuit);
    }
    return room_lines() + plates + circuits;
  }

 private:
  using Numbers = std::optional<std::pair<std::uint8_t, std::uint8_t>>;  ///< site and zone

  static std::string line(const std::array<std::string, 10>& cells) { return csv_line(cells); }
  static std::string number(const std::optional<std::uint8_t>& value) {
    return value ? std::to_string(*value) : "";
  }
  void come_to(const std::string& room) {
    if (std::find(rooms_.begin(), rooms_.end(), room) == rooms_.end()) rooms_.push_back(room);
  }

  static Numbers numbers_of(const SchedulePlate& plate) {
    if (!plate.site || !plate.zone) return std::nullopt;
    return std::pair{*plate.site, *plate.zone};
  }

  /// Of the circuit itself, or of all its plates where they agree.
  [[nodiscard]] Numbers numbers_of(const Circuit& circuit) const {
    if (circuit.site && circuit.zone) return std::pair{*circuit.site, *circuit.zone};
    if (circuit.plates.empty()) return std::nullopt;
    const Numbers first = numbers_of(schedule_.plates[circuit.plates.front()]);
    const bool alike = std::all_of(circuit.plates.begin(), circuit.plates.end(), [&](std::size_t plate) {
      return numbers_of(schedule_.plates[plate]) == first;
    });
    return alike ? first : std::nullopt;
  }

  /// Whether the circuits do not say where a plate is and how it is set.
  [[nodiscard]] bool needs_line(std::size_t index) const {
    const SchedulePlate& plate = schedule_.plates[index];
    std::vector<std::string> serves;
    Numbers numbers;
    for (const Circuit& circuit : schedule_.circuits) {
      if (std::find(circuit.plates.begin(), circuit.plates.end(), index) == circuit.plates.end()) continue;
      if (std::find(serves.begin(), serves.end(), circuit.room) == serves.end())
        serves.push_back(circuit.room);
      if (!numbers) numbers = numbers_of(circuit);
    }
    if (serves.empty() || numbers != numbers_of(plate) || has_label_separator(labels_[index])) return true;
    return room_named(labels_[index], serves, schedule_.rooms).value_or(serves.front()) != plate.room;
  }

  std::string plate_line(std::size_t index) {
    const SchedulePlate& plate = schedule_.plates[index];
    come_to(plate.room);
    return line({plate.room, "", "", labels_[index], "", "", number(plate.site), number(plate.zone), "", ""});
  }

  [[nodiscard]] std::string circuit_line(const Circuit& circuit) const {
    std::vector<std::string> plates;
    for (const std::size_t plate : circuit.plates) plates.push_back(labels_[plate]);
    std::string joined = fmt::format("{}", fmt::join(plates, " + "));
    if (character_count(joined) > max_cell_characters) joined = fmt::format("{}", fmt::join(plates, "+"));
    const Numbers numbers = numbers_of(circuit);
    return line(
        {circuit.room, circuit.label, circuit.name, joined, circuit.watts ? decimal_cell(*circuit.watts) : "",
         circuit.watts ? dimming_word(circuit.dimming) : "", numbers ? std::to_string(numbers->first) : "",
         numbers ? std::to_string(numbers->second) : "", number(circuit.channel),
         circuit.do_not_switch ? "yes" : ""});
  }

  /// Three digits behind a mark would be read as thousands.
  static std::string decimal_cell(double value) {
    std::string text = exact_decimal(value);
    const auto mark = text.find('.');
    return mark != std::string::npos && text.size() - mark == 4 ? text + "0" : text;
  }

  /// Rooms, where they come in another order than the other lines have them.
  [[nodiscard]] std::string room_lines() const {
    std::string lines;
    if (rooms_ == schedule_.rooms) return lines;
    for (const std::string& room : schedule_.rooms) lines += line({room, "", "", "", "", "", "", "", "", ""});
    return lines;
  }

  const Schedule& schedule_;
  std::vector<std::string> labels_;  ///< by plate
  std::set<std::string> taken_;      ///< labels, in lower case
  std::vector<std::string> rooms_;   ///< as the lines come to them
};

}  // namespace

std::string site_yaml(const Schedule& schedule, const std::string& family, const std::string& about) {
  YAML::Emitter out;
  out << YAML::BeginMap << YAML::Key << "drybus-site" << YAML::Value << 1;
  out << YAML::Key << "about" << YAML::Value << YAML::Literal << about;
  put(out, "family", family);
  out << YAML::Key << "places" << YAML::Value << YAML::BeginMap;
  for (const std::string& room : schedule.rooms) {
    out << YAML::Key;
    put_text(out, room);
    out << YAML::Value << YAML::Flow << YAML::BeginMap << YAML::EndMap;
  }
  out << YAML::EndMap;
  put_plates(out, schedule);
  out << YAML::Key << "modules" << YAML::Value << YAML::BeginMap;
  for (const Circuit& circuit : schedule.circuits) put_module(out, schedule, circuit);
  out << YAML::EndMap << YAML::EndMap;
  return std::string{out.c_str()} + "\n";
}

std::string schedule_csv(const Schedule& schedule) {
  std::vector<std::string> headings;
  for (const WrittenColumn& column : written_columns()) headings.emplace_back(column.heading);
  std::string text = csv_line(headings) + SheetWriter{schedule}.lines();
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
