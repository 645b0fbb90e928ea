#include "model/iec62386/commands.h"

namespace drybus::iec62386 {

namespace {

using Rows = std::array<const Command*, 256>;

/// Where each code's row is, so that gear need not look for it.
template <std::size_t count>
Rows by_code(const std::array<Command, count>& table) {
  Rows rows{};
  for (const Command& command : table) {
    for (unsigned code = command.code; code <= command.last; ++code) rows.at(code) = &command;
  }
  return rows;
}

Rows opcode_rows() {
  Rows rows = by_code(opcodes);
  for (unsigned code = of_type_command.code; code <= of_type_command.last; ++code)
    rows.at(code) = &of_type_command;
  return rows;
}

}  // namespace

const Command* find_opcode(std::uint8_t code) {
  static const Rows rows = opcode_rows();
  return rows[code];
}

const Command* find_special(std::uint8_t code) {
  static const Rows rows = by_code(specials);
  return rows[code];
}

}  // namespace drybus::iec62386
