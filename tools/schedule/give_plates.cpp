// Which plate addresses a circuit that names none.
#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <cstdint>
#include <map>
#include <set>

#include "model/words/words.h"
#include "tools/schedule/labels.h"
#include "tools/schedule/schedule.h"

namespace drybus::tools {

using model::plural;

namespace {

/// Channels of a plate that no circuit has taken yet.
std::size_t free_channels(const Schedule& schedule, std::size_t plate, std::size_t channels) {
  const auto taken =
      std::count_if(schedule.circuits.begin(), schedule.circuits.end(), [plate](const Circuit& circuit) {
        return std::find(circuit.plates.begin(), circuit.plates.end(), plate) != circuit.plates.end();
      });
  return channels - std::min(channels, static_cast<std::size_t>(taken));
}

/// "Hall plate", or "Hall plate 2" where another is called that.
std::string free_label(const Schedule& schedule, const std::string& room) {
  for (unsigned number = 1;; ++number) {
    std::string label = without_label_separators(number == 1 ? fmt::format("{} plate", room)
                                                             : fmt::format("{} plate {}", room, number));
    const bool taken =
        std::any_of(schedule.plates.begin(), schedule.plates.end(),
                    [&](const SchedulePlate& plate) { return boost::iequals(plate.label, label); });
    if (!taken) return label;
  }
}

/// As the circuits come to them, whatever named them first: so a sheet that is written comes back in the same order.
void order_plates(Schedule& schedule) {
  constexpr std::size_t open = SIZE_MAX;
  std::vector<std::size_t> place(schedule.plates.size(), open);
  std::vector<SchedulePlate> ordered;
  const auto put = [&](std::size_t plate) {
    if (place[plate] != open) return;
    place[plate] = ordered.size();
    ordered.push_back(std::move(schedule.plates[plate]));
  };
  for (const Circuit& circuit : schedule.circuits) {
    for (const std::size_t plate : circuit.plates) put(plate);
  }
  for (std::size_t plate = 0; plate < place.size(); ++plate) put(plate);
  schedule.plates = std::move(ordered);
  for (Circuit& circuit : schedule.circuits) {
    for (std::size_t& plate : circuit.plates) plate = place[plate];
  }
}

void name_plates(Schedule& schedule) {
  std::set<std::string> taken;
  for (const Circuit& circuit : schedule.circuits) taken.insert(circuit.name);
  const std::size_t digits = std::to_string(schedule.plates.size()).size();
  std::size_t next = 0;
  for (SchedulePlate& plate : schedule.plates) {
    while (plate.name.empty()) {
      const std::string name = fmt::format("P{:0{}}", ++next, digits);
      if (taken.insert(name).second) plate.name = name;
    }
  }
}

/// A circuit without a plate whose zone is known belongs to the plate of that zone.
bool take_by_zone(Schedule& schedule, Circuit& circuit) {
  if (!circuit.zone) return false;
  for (std::size_t i = 0; i < schedule.plates.size(); ++i) {
    const SchedulePlate& plate = schedule.plates[i];
    if (plate.site == circuit.site && plate.zone == circuit.zone) {
      circuit.plates = {i};
      return true;
    }
  }
  return false;
}

}  // namespace

void give_plates(Schedule& schedule, const model::Family* family) {
  const std::size_t channels = family == nullptr ? 12 : std::max<std::size_t>(family->plate.channels, 1);
  std::map<std::string, std::vector<std::size_t>> of_room;
  for (std::size_t i = 0; i < schedule.plates.size(); ++i) of_room[schedule.plates[i].room].push_back(i);
  for (Circuit& circuit : schedule.circuits) {
    if (!circuit.plates.empty() || take_by_zone(schedule, circuit)) continue;
    std::vector<std::size_t>& plates = of_room[circuit.room];
    const auto fits = std::find_if(plates.begin(), plates.end(), [&](std::size_t plate) {
      return free_channels(schedule, plate, channels) > 0 &&
             (!circuit.zone ||
              (schedule.plates[plate].site == circuit.site && schedule.plates[plate].zone == circuit.zone));
    });
    if (fits != plates.end()) {
      circuit.plates = {*fits};
      continue;
    }
    plates.push_back(schedule.plates.size());
    circuit.plates = {schedule.plates.size()};
    schedule.plates.push_back(
        {"", free_label(schedule, circuit.room), circuit.room, circuit.site, circuit.zone, true});
  }
  std::size_t count = 0;
  for (const SchedulePlate& plate : schedule.plates) count += plate.made_up ? 1u : 0u;
  if (count > 0) {
    schedule.notes.push_back(plural(
        "one plate is made up that no line names: each room has one of its own, and one more where it has "
        "more than {1} circuits",
        "{0} plates are made up that no line names: each room has one of its own, and one more where it "
        "has more than {1} circuits",
        count, count, channels));
  }
  order_plates(schedule);
  name_plates(schedule);
}

}  // namespace drybus::tools
