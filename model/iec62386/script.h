// What people do on a line, as data.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/iec62386/site.h"
#include "model/people/script.h"
#include "sim/enumeration.h"

namespace drybus::iec62386 {

/// Which gear INITIALISE is said to.
struct Which {
  enum class Kind : std::uint8_t { all, unaddressed, one };
  Kind kind = Kind::all;
  ShortAddress one = 0;
  friend bool operator==(const Which&, const Which&) = default;
};

/// One round of addressing.
struct AddressJob {
  Which which;
  ShortAddress from = 0;  ///< the first number to give
  bool randomise = true;
  bool terminate = true;
  bool naming = false;   ///< the installer walks to each lamp and names it
  sim::Duration each{};  ///< that takes, beside the way
  friend bool operator==(const AddressJob&, const AddressJob&) = default;
};

enum class StepKind : std::uint8_t {
  address,
  send,
  press,
  inventory,
  unplug,
  plug,
  power,
  fault,
  swap,
  replace,
  wait,
  walk,
  note,
  see,
  expect,
};

/// What somebody breaks or mends. `on`: it comes about, else it is put right.
BOOST_DEFINE_FIXED_ENUM_CLASS(FaultKind, std::uint8_t, shorted, mains, joined, second_supply, lamp, holds_low,
                              deaf)

struct Fault {
  FaultKind kind = FaultKind::shorted;
  bool on = true;
  Index first = no_index;    ///< a line, or a gear
  Index second = no_index;   ///< the other line
  std::uint32_t amount = 0;  ///< frames that are missed, mA of a second supply
};

BOOST_DEFINE_FIXED_ENUM_CLASS(Fact, std::uint8_t, lamp, level, short_address, groups, initialised, scene,
                              max_level, min_level, power_on, system_failure, fade_time, compares, found,
                              unverified, answer, line, findings)

struct Check {
  Fact fact = Fact::lamp;
  bool of_controller = false;
  Index device = no_index;  ///< gear, controller or line
  std::uint8_t number = 0;  ///< of the scene
  std::vector<std::string> wanted;
  bool seen = false;
  model::SourceMark mark;
};

struct Step {
  StepKind kind = StepKind::wait;
  std::optional<sim::Instant> at;
  Index controller = no_index;
  Index button = no_index;
  AddressJob address;
  std::vector<Send> sends;
  Priority priority = 0;     ///< 0: the controller's own
  std::vector<Index> gear;   ///< for power, swap, replace
  std::vector<Index> lines;  ///< for power
  bool on = true;
  std::optional<GearMemory> memory;  ///< of what is hung instead
  Fault fault;
  sim::Duration duration{};
  Index place = no_index;
  std::vector<std::uint32_t> checks;
  std::string said;  ///< what it does, as the script says it
  std::string text;  ///< a remark
  model::SourceMark mark;
};

struct Person {
  std::string name;
  Index place = 0;
  std::vector<Step> script;
};

struct Scenario {
  std::string title;
  std::string about;
  std::uint64_t seed = 1;
  Site site;
  std::vector<Person> people;
  std::vector<Check> checks;
  std::vector<std::string> files;
};

/// Whether it is work at which somebody opens a cover or has to do with the supply.
bool touches_wiring(const Step& step);

}  // namespace drybus::iec62386
