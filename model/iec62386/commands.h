// What control gear understands: the opcodes of IEC 62386-102 (edition 3, table 17, and two older ones) as one table,
// each row done or told as not done. Values only; what a command does here is our own account of it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace drybus::iec62386 {

/// What a row does. `none`: gear knows the opcode for one and does nothing here.
enum class Op : std::uint8_t {
  none,
  level,
  off,
  up,
  down,
  step_up,
  step_down,
  recall_max,
  recall_min,
  step_down_and_off,
  on_and_step_up,
  go_to_last,
  go_to_scene,
  reset,
  store_level_in_dtr0,
  identify,
  set_max,
  set_min,
  set_system_failure,
  set_power_on,
  set_fade_time,
  set_fade_rate,
  set_extended_fade,
  set_scene,
  remove_from_scene,
  add_to_group,
  remove_from_group,
  set_short_address,
  query_status,
  query_present,
  query_lamp_failure,
  query_lamp_on,
  query_limit_error,
  query_reset_state,
  query_missing_short,
  query_version,
  query_dtr0,
  query_dtr1,
  query_dtr2,
  query_type,
  query_physical_min,
  query_power_failure,
  query_gear_failure,
  query_level,
  query_max,
  query_min,
  query_power_on,
  query_system_failure,
  query_fade,
  query_extended_fade,
  query_next_type,
  query_scene,
  query_groups_low,
  query_groups_high,
  query_random_high,
  query_random_middle,
  query_random_low,
  of_type,
  query_extended_version,
  terminate,
  dtr0,
  dtr1,
  dtr2,
  initialise,
  randomise,
  compare,
  withdraw,
  ping,
  search_high,
  search_middle,
  search_low,
  program_short,
  verify_short,
  query_short,
  enable_type,
};

enum Traits : std::uint8_t {
  plain = 0,
  twice = 1,         ///< counts only when it comes twice within 100 ms
  answers = 2,       ///< gear may answer
  uses_dtr0 = 4,     ///< takes its value from DTR0
  numbered = 8,      ///< the number 0 to 15 is part of the opcode
  takes_value = 16,  ///< special: the second byte is a value; otherwise it is 00
};

struct Command {
  std::uint8_t code;      ///< opcode, or the first byte of a special command
  std::uint8_t last;      ///< of the numbered ones the last code; else as `code`
  std::string_view name;  ///< in lower case, as scripts write it
  Op op;                  ///< none: not done
  int traits;
  [[nodiscard]] constexpr bool is(Traits trait) const { return (traits & trait) != 0; }
  [[nodiscard]] constexpr bool done() const { return op != Op::none; }
};

constexpr Command row(std::uint8_t code, std::string_view name, Op op, int traits = plain) {
  return {code, code, name, op, traits};
}
constexpr Command row16(std::uint8_t code, std::string_view name, Op op, int traits = plain) {
  return {code, static_cast<std::uint8_t>(code + 15), name, op, traits | numbered};
}

/// By opcode, the second byte of a frame whose first byte ends in 1.
inline constexpr std::array opcodes = {
    row(0x00, "off", Op::off),
    row(0x01, "up", Op::up),
    row(0x02, "down", Op::down),
    row(0x03, "step up", Op::step_up),
    row(0x04, "step down", Op::step_down),
    row(0x05, "recall max level", Op::recall_max),
    row(0x06, "recall min level", Op::recall_min),
    row(0x07, "step down and off", Op::step_down_and_off),
    row(0x08, "on and step up", Op::on_and_step_up),
    row(0x09, "enable DAPC sequence", Op::none),
    row(0x0A, "go to last active level", Op::go_to_last),
    row(0x0B, "continuous up", Op::none),
    row(0x0C, "continuous down", Op::none),
    row16(0x10, "go to scene", Op::go_to_scene),
    row(0x20, "reset", Op::reset, twice),
    row(0x21, "store actual level in DTR0", Op::store_level_in_dtr0, twice),
    row(0x22, "save persistent variables", Op::none, twice),
    row(0x23, "set operating mode", Op::none, twice | uses_dtr0),
    row(0x24, "reset memory bank", Op::none, twice | uses_dtr0),
    row(0x25, "identify device", Op::identify, twice),
    row(0x2A, "set max level", Op::set_max, twice | uses_dtr0),
    row(0x2B, "set min level", Op::set_min, twice | uses_dtr0),
    row(0x2C, "set system failure level", Op::set_system_failure, twice | uses_dtr0),
    row(0x2D, "set power on level", Op::set_power_on, twice | uses_dtr0),
    row(0x2E, "set fade time", Op::set_fade_time, twice | uses_dtr0),
    row(0x2F, "set fade rate", Op::set_fade_rate, twice | uses_dtr0),
    row(0x30, "set extended fade time", Op::set_extended_fade, twice | uses_dtr0),
    row16(0x40, "set scene", Op::set_scene, twice | uses_dtr0),
    row16(0x50, "remove from scene", Op::remove_from_scene, twice),
    row16(0x60, "add to group", Op::add_to_group, twice),
    row16(0x70, "remove from group", Op::remove_from_group, twice),
    row(0x80, "set short address", Op::set_short_address, twice | uses_dtr0),
    row(0x81, "enable write memory", Op::none, twice),
    row(0x90, "query status", Op::query_status, answers),
    row(0x91, "query control gear present", Op::query_present, answers),
    row(0x92, "query lamp failure", Op::query_lamp_failure, answers),
    row(0x93, "query lamp power on", Op::query_lamp_on, answers),
    row(0x94, "query limit error", Op::query_limit_error, answers),
    row(0x95, "query reset state", Op::query_reset_state, answers),
    row(0x96, "query missing short address", Op::query_missing_short, answers),
    row(0x97, "query version number", Op::query_version, answers),
    row(0x98, "query content DTR0", Op::query_dtr0, answers),
    row(0x99, "query device type", Op::query_type, answers),
    row(0x9A, "query physical minimum", Op::query_physical_min, answers),
    row(0x9B, "query power failure", Op::query_power_failure, answers),
    row(0x9C, "query content DTR1", Op::query_dtr1, answers),
    row(0x9D, "query content DTR2", Op::query_dtr2, answers),
    row(0x9E, "query operating mode", Op::none, answers),
    row(0x9F, "query light source type", Op::none, answers),
    row(0xA0, "query actual level", Op::query_level, answers),
    row(0xA1, "query max level", Op::query_max, answers),
    row(0xA2, "query min level", Op::query_min, answers),
    row(0xA3, "query power on level", Op::query_power_on, answers),
    row(0xA4, "query system failure level", Op::query_system_failure, answers),
    row(0xA5, "query fade time and rate", Op::query_fade, answers),
    row(0xA6, "query manufacturer specific mode", Op::none, answers),
    row(0xA7, "query next device type", Op::query_next_type, answers),
    row(0xA8, "query extended fade time", Op::query_extended_fade, answers),
    row(0xAA, "query control gear failure", Op::query_gear_failure, answers),
    row16(0xB0, "query scene level", Op::query_scene, answers),
    row(0xC0, "query groups 0-7", Op::query_groups_low, answers),
    row(0xC1, "query groups 8-15", Op::query_groups_high, answers),
    row(0xC2, "query random address H", Op::query_random_high, answers),
    row(0xC3, "query random address M", Op::query_random_middle, answers),
    row(0xC4, "query random address L", Op::query_random_low, answers),
    row(0xC5, "read memory location", Op::none, answers),
    row(0xFF, "query extended version number", Op::query_extended_version, answers),
};

/// Codes E0 to FE belong to the device type that was named just before.
inline constexpr Command of_type_command = {0xE0, 0xFE, "command of a device type", Op::of_type, plain};

/// Special commands, by the first byte of a frame.
inline constexpr std::array specials = {
    row(0xA1, "terminate", Op::terminate),
    row(0xA3, "DTR0", Op::dtr0, takes_value),
    row(0xA5, "initialise", Op::initialise, twice | takes_value),
    row(0xA7, "randomise", Op::randomise, twice),
    row(0xA9, "compare", Op::compare, answers),
    row(0xAB, "withdraw", Op::withdraw),
    row(0xAD, "ping", Op::ping),
    row(0xB1, "search address H", Op::search_high, takes_value),
    row(0xB3, "search address M", Op::search_middle, takes_value),
    row(0xB5, "search address L", Op::search_low, takes_value),
    row(0xB7, "program short address", Op::program_short, takes_value),
    row(0xB9, "verify short address", Op::verify_short, answers | takes_value),
    row(0xBB, "query short address", Op::query_short, answers),
    row(0xBD, "physical selection", Op::none),
    row(0xC1, "enable device type", Op::enable_type, takes_value),
    row(0xC3, "DTR1", Op::dtr1, takes_value),
    row(0xC5, "DTR2", Op::dtr2, takes_value),
    row(0xC7, "write memory location", Op::none, answers | takes_value),
    row(0xC9, "write memory location without answer", Op::none, takes_value),
};

/// A direct level: the second byte of a frame whose first byte ends in 0.
inline constexpr Command level_command = {0x00, 0xFF, "level", Op::level, takes_value};

/// The row of an opcode or of a special command's first byte; null where there is none.
const Command* find_opcode(std::uint8_t code);
const Command* find_special(std::uint8_t code);

}  // namespace drybus::iec62386
