// Writes a value-change dump (IEEE 1364-2005, clause 18) of whole numbers.
//
// A number of several bits is declared bit by bit, as name[3] ... name[0]: viewers join them again, and
// readers that know only one-bit variables (libsigrok 0.5) read all of it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "sim/time.h"

namespace drybus::tools {

class VcdWriter {
 public:
  /// Names a variable by the order in which it was declared.
  enum class Variable : std::uint32_t {};

  /// What a variable holds: a number, or a state of all its bits.
  struct Value {
    enum class State : std::uint8_t { number, unknown, idle };  ///< idle: nobody drives it (z)
    State state = State::number;
    std::uint32_t number = 0;
    friend bool operator==(const Value&, const Value&) = default;
  };

  /// The time scale is 1 us; what happens within one microsecond is shown as it stands at that microsecond's
  /// end.
  explicit VcdWriter(std::string_view version);

  void comment(std::string_view text);
  /// Names are made into identifiers (letters, digits, underlines); those of variables also unique in the
  /// whole dump.
  void open_scope(std::string_view name);
  void close_scope();
  /// REQUIRES: no value was set yet; 1 <= bits <= 32.
  Variable declare(std::string_view name, std::uint8_t bits);

  /// REQUIRES: times never fall; the number fits the variable's bits.
  void set(sim::Instant at, Variable variable, const Value& value);
  void set(sim::Instant at, Variable variable, std::uint32_t number) { set(at, variable, Value{{}, number}); }

  /// The whole dump; its last time stamp is `end`. Nothing may be called afterwards.
  [[nodiscard]] std::string finish(sim::Instant end);

 private:
  struct Signal {
    std::uint32_t code = 0;  ///< of its first bit, the most significant
    std::uint8_t bits = 1;
    bool waiting = false;  ///< among `changed_`
    Value now;
    Value written;
  };

  void move_to(std::int64_t microsecond);
  void stamp();
  void write_first_values();
  void write_changes();
  void write_bits(const Signal& signal, bool all);
  [[nodiscard]] std::string unique(std::string name);

  std::string text_;
  std::vector<Signal> signals_;
  std::vector<Variable> changed_;   ///< since the last time stamp, in order
  std::vector<std::string> names_;  ///< taken ones, sorted
  std::uint32_t codes_ = 0;
  std::int64_t microsecond_ = 0;
  std::int64_t stamped_ = -1;  ///< the last time stamp written
  bool defined_ = false;       ///< the declarations are closed
};

/// Text as a VCD identifier.
std::string vcd_identifier(std::string_view text);

}  // namespace drybus::tools
