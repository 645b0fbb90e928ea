// Quantities as people write them: a number and its unit. A bare number is nobody's guess: it is an error
// that says so.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

#include "model/devices/device.h"
#include "sim/time.h"

namespace drybus::tools {

struct QuantityError {
  std::string message;
  std::string expected;
  std::string suggestion;
};

/// A value, or what is wrong with the text; used like a std::optional.
template <class Value>
class Quantity {
 public:
  Quantity(Value value) : content_(std::move(value)) {}
  Quantity(QuantityError error) : content_(std::move(error)) {}

  explicit operator bool() const { return content_.index() == 0; }
  [[nodiscard]] bool has_value() const { return content_.index() == 0; }
  /// REQUIRES: has_value().
  const Value& operator*() const { return std::get<0>(content_); }
  /// REQUIRES: !has_value().
  [[nodiscard]] const QuantityError& error() const { return std::get<1>(content_); }

 private:
  std::variant<Value, QuantityError> content_;
};

/// "200ms", "5 s", "1.5s", "1h 30min"; units ns, us, ms, s, min, h, larger before smaller. 0 to ten years,
/// exact to the nanosecond.
Quantity<sim::Duration> parse_duration(std::string_view written);

/// "40%", "12.5 %": 0 to 100, exact to a tenth.
Quantity<model::Level> parse_percent(std::string_view written);

/// Bits that go wrong, per 10^9: "1 in 1000", "0.1%", "1e-3". More than none and at most half.
Quantity<std::uint32_t> parse_bit_errors(std::string_view written);

/// "9600 bit/s", "38.4 kbit/s": 1 to 10^9, whole bits a second.
Quantity<std::int64_t> parse_bit_rate(std::string_view written);

/// A decimal number with just this unit: "10 m", "-2.5 m", "868.3 MHz", "92 dB".
Quantity<double> parse_with_unit(std::string_view written, std::string_view unit);

/// A whole number without sign or unit.
Quantity<std::uint64_t> parse_whole(std::string_view written);

/// What the readers above read back exactly: "200ms", "180s", "1h 30min".
std::string exact_duration(sim::Duration duration);
std::string exact_percent(model::Level level);
std::string exact_bit_errors(std::uint32_t ppb);
std::string exact_decimal(double value);

}  // namespace drybus::tools
