#include "tools/export/vcd_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "tools/base/utf8.h"

namespace drybus::tools {

namespace {

/// Identifier codes are numbers in base 94, written with the printable characters '!' to '~'.
void append_code(std::string& text, std::uint32_t number) {
  constexpr std::uint32_t base = 94;
  do {
    text += static_cast<char>('!' + number % base);
    number /= base;
  } while (number != 0);
}

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// A comment ends at "$end": no word of it may begin with a dollar sign, and all of it is ASCII.
std::string comment_text(std::string_view text) {
  const std::string plain = harmless(text);
  std::string ascii;
  for (std::size_t i = 0; i < plain.size(); i += characters(std::string_view{plain}.substr(i), 0, 1).size()) {
    ascii += static_cast<unsigned char>(plain[i]) >= 0x80 ? '?' : plain[i] == '$' ? '_' : plain[i];
  }
  return ascii;
}

char bit_character(const VcdWriter::Value& value, unsigned bit) {
  switch (value.state) {
    case VcdWriter::Value::State::number:
      return (value.number >> bit & 1) != 0 ? '1' : '0';
    case VcdWriter::Value::State::unknown:
      return 'x';
    case VcdWriter::Value::State::idle:
      return 'z';
  }
  return 'x';
}

}  // namespace

std::string vcd_identifier(std::string_view text) {
  std::string name;
  for (std::size_t i = 0; i < text.size(); i += characters(text.substr(i), 0, 1).size()) {
    name += is_letter(text[i]) || is_digit(text[i]) ? text[i] : '_';
  }
  return name.empty() || is_digit(name[0]) ? "_" + name : name;
}

VcdWriter::VcdWriter(std::string_view version)
    : text_(fmt::format("$version\n  {}\n$end\n$timescale 1 us $end\n", comment_text(version))) {}

void VcdWriter::comment(std::string_view text) {
  text_ += fmt::format("$comment\n  {}\n$end\n", comment_text(text));
}

void VcdWriter::open_scope(std::string_view name) {
  text_ += fmt::format("$scope module {} $end\n", vcd_identifier(name));
}

void VcdWriter::close_scope() {
  text_ += "$upscope $end\n";
}

std::string VcdWriter::unique(std::string name) {
  const std::string wanted = name;
  for (int n = 2;; ++n) {
    const auto at = std::lower_bound(names_.begin(), names_.end(), name);
    if (at == names_.end() || *at != name) {
      names_.insert(at, name);
      return name;
    }
    name = fmt::format("{}_{}", wanted, n);
  }
}

VcdWriter::Variable VcdWriter::declare(std::string_view name, std::uint8_t bits) {
  assert(!defined_ && bits >= 1 && bits <= 32);
  const std::string identifier = unique(vcd_identifier(name));
  signals_.push_back({codes_, bits, false, {}, {}});
  for (unsigned bit = bits; bit-- > 0;) {
    text_ += "$var wire 1 ";
    append_code(text_, codes_++);
    text_ +=
        bits == 1 ? fmt::format(" {} $end\n", identifier) : fmt::format(" {}[{}] $end\n", identifier, bit);
  }
  return Variable{static_cast<std::uint32_t>(signals_.size() - 1)};
}

void VcdWriter::set(sim::Instant at, Variable variable, const Value& value) {
  move_to(at.time_since_epoch().count() / 1000);
  Signal& signal = signals_[static_cast<std::size_t>(variable)];
  assert(value.state != Value::State::number || signal.bits == 32 || value.number >> signal.bits == 0);
  signal.now = value;
  if (signal.waiting || signal.now == signal.written) return;
  signal.waiting = true;
  changed_.push_back(variable);
}

void VcdWriter::move_to(std::int64_t microsecond) {
  assert(microsecond >= microsecond_);
  if (microsecond == microsecond_) return;
  write_changes();
  microsecond_ = microsecond;
}

void VcdWriter::stamp() {
  if (stamped_ == microsecond_) return;
  text_ += fmt::format("#{}\n", microsecond_);
  stamped_ = microsecond_;
}

void VcdWriter::write_first_values() {
  text_ += "$enddefinitions $end\n";
  stamp();
  text_ += "$dumpvars\n";
  for (Signal& signal : signals_) {
    write_bits(signal, true);
    signal.written = signal.now;
  }
  text_ += "$end\n";
  defined_ = true;
}

void VcdWriter::write_changes() {
  if (!defined_) write_first_values();
  for (const Variable variable : changed_) {
    Signal& signal = signals_[static_cast<std::size_t>(variable)];
    signal.waiting = false;
    if (signal.now == signal.written) continue;
    stamp();
    write_bits(signal, false);
    signal.written = signal.now;
  }
  changed_.clear();
}

void VcdWriter::write_bits(const Signal& signal, bool all) {
  for (unsigned bit = signal.bits; bit-- > 0;) {
    const char now = bit_character(signal.now, bit);
    if (!all && now == bit_character(signal.written, bit)) continue;
    text_ += now;
    append_code(text_, signal.code + (signal.bits - 1u - bit));
    text_ += '\n';
  }
}

std::string VcdWriter::finish(sim::Instant end) {
  move_to(end.time_since_epoch().count() / 1000);
  write_changes();
  stamp();
  return std::move(text_);
}

}  // namespace drybus::tools
