// What people do and look for: the steps of a script, as data. Where they were read from is kept beside each.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/shared_text.h"
#include "model/site/site.h"
#include "sim/enumeration.h"
#include "sim/time.h"

namespace drybus::model {

/// A place in a text that somebody wrote; `file` indexes Scenario::files. Lines and columns count from 1; 0 is unknown.
struct SourceMark {
  std::uint32_t file = 0;
  std::uint32_t line = 0;
  std::uint32_t column = 0;
};

enum class FaultKind : std::uint8_t {
  open,       ///< a link
  shorted,    ///< a link
  noisy,      ///< a link, with a bit error rate
  mend,       ///< a link is sound again
  stuck,      ///< a button stays down
  freed,      ///< and comes up again
  deaf,       ///< a device misses its next `count` telegrams
  dead_load,  ///< of a module: it gives no light, whatever the module does
  new_load,   ///< and was replaced: it shows what the module does
};

enum class StepKind : std::uint8_t {
  press,     ///< device, buttons, duration
  hold,      ///< device, buttons, duration: a gesture or a long press
  wait,      ///< duration
  walk,      ///< place
  switches,  ///< device; site and zone where given
  power,     ///< device (no_device: all); on
  fault,     ///< fault
  see,       ///< checks: what a person could observe
  expect,    ///< checks: what is really so
  note,      ///< text: a remark, or a teaching point
};

/// A fact of a device that can be seen or expected.
BOOST_DEFINE_FIXED_ENUM_CLASS(Fact, std::uint8_t, indicator, load, mode, address, level, channel, power_up,
                              site, zone, findings)

/// "power_up"
std::string_view to_string(Fact fact);

/// One thing to be checked. Values are kept as text, in the words of the output.
struct Check {
  Fact fact = Fact::indicator;
  DeviceId device = no_device;      ///< no_device for findings
  std::vector<std::string> wanted;  ///< one value; for findings, the exact set of ids
  bool seen = false;                ///< `see`: only within sight
  SourceMark mark;
};

struct Fault {
  FaultKind kind = FaultKind::open;
  std::uint32_t link = 0;
  std::uint32_t bit_error_ppb = 0;
  DeviceId device = no_device;
  Button button = no_button;
  std::uint16_t count = 0;
};

struct Step {
  StepKind kind = StepKind::wait;
  std::optional<sim::Instant> at;  ///< begins then, and not before
  DeviceId device = no_device;
  Buttons buttons = 0;  ///< bit 0 for a module's local button
  sim::Duration duration{};
  sim::Duration bounce{};  ///< the contact bounces this long at the start of a press
  PlaceId place = no_place;
  std::optional<std::uint8_t> site;
  std::optional<std::uint8_t> zone;
  bool on = true;
  Fault fault;
  std::vector<std::uint32_t> checks;  ///< indices into Scenario::checks
  SharedText text;                    ///< a remark on any step, told in the story
  SourceMark mark;
};

/// The step of pressing or holding buttons; everything else is as by default.
inline Step push_step(StepKind kind, DeviceId device, Buttons buttons, sim::Duration duration) {
  Step step;
  step.kind = kind;
  step.device = device;
  step.buttons = buttons;
  step.duration = duration;
  return step;
}

/// Somebody who does one thing at a time.
struct Person {
  std::string name;
  PlaceId place = 0;  ///< where they stand when the run begins
  std::vector<Step> script;
};

/// How long people take.
struct HumanTimes {
  sim::Duration press = std::chrono::milliseconds{200};
  sim::Duration pause = std::chrono::milliseconds{300};  ///< after each action
};

/// A whole scenario. People[0] is the installer, whose beliefs count; the others are neighbours, colleagues and the like.
struct Scenario {
  std::string title;
  std::string about;
  std::uint64_t seed = 1;
  Site site;
  HumanTimes times;
  std::vector<Person> people;
  std::vector<Check> checks;
  std::vector<std::string> files;  ///< [0] is the scenario's own
};

}  // namespace drybus::model
