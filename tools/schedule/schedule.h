// A schedule: which circuits a building has, in which rooms, under which plates. Read off a table; everything doubtful is
// told with its cell.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/family/family.h"
#include "tools/schedule/columns.h"
#include "tools/schedule/table.h"

namespace drybus::tools {

/// More circuits than a site file of ours can hold.
inline constexpr std::size_t max_circuits = 5'000;

struct SchedulePlate {
  std::string name;   ///< P1
  std::string label;  ///< as the schedule has it
  std::string room;
  std::optional<std::uint8_t> site;  ///< both or neither
  std::optional<std::uint8_t> zone;
  bool made_up = false;  ///< no line names it: a room's circuits need one
};

struct Circuit {
  std::string name;   ///< M1
  std::string label;  ///< of its own in the whole schedule
  std::string room;
  std::vector<std::size_t> plates;  ///< indices into the schedule's; they share a zone
  std::optional<double> watts;
  model::Dimming dimming = model::Dimming::trailing_edge;
  std::optional<std::uint8_t> site, zone, channel;  ///< all or none
  bool do_not_switch = false;
};

/// Something to be told of a cell.
struct Remark {
  std::size_t row = 0;
  std::size_t column = 0;
  bool wrong = false;  ///< no site can be made of it
  std::string text;
  friend auto operator<=>(const Remark&, const Remark&) = default;
};

struct Schedule {
  std::vector<std::string> rooms;
  std::vector<SchedulePlate> plates;
  std::vector<Circuit> circuits;
  std::vector<Remark> remarks;     ///< in the order of the sheet
  std::vector<std::string> notes;  ///< what was taken for granted, about no cell in particular
};

struct ScheduleOptions {
  const model::Family* family = nullptr;      ///< null: what depends on one is not checked
  std::optional<std::uint8_t> site_number{};  ///< where the schedule tells zones and channels, and no site
};

/// Reads on whatever is wrong, so that all of it is told; a schedule with a wrong remark is none.
Schedule read_schedule(const Table& table, const Layout& layout, const ScheduleOptions& options = {});

/// Gives every circuit without a plate one of its room, and rooms without any a plate that is made up: as many as their
/// circuits need channels. What is made up is noted.
void give_plates(Schedule& schedule, const model::Family* family);

/// "B7: ...", the first of each kind of trouble first; at most 50 lines, and how many more there are.
std::string remarks_text(const std::vector<Remark>& remarks, bool wrong);

}  // namespace drybus::tools
