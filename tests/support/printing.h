// How doctest shows the model's values when a check fails.
#pragma once

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <string>
#include <vector>

#include "model/family/telegram.h"
#include "model/findings/findings.h"
#include "model/record/describe.h"

namespace doctest {

template <>
struct StringMaker<drybus::model::Telegram> {
  static String convert(const drybus::model::Telegram& telegram) {
    return String{to_string(telegram).c_str()};
  }
};
template <>
struct StringMaker<drybus::model::Pattern> {
  static String convert(drybus::model::Pattern pattern) {
    return String{std::string{to_string(pattern)}.c_str()};
  }
};
template <>
struct StringMaker<drybus::model::FindingId> {
  static String convert(drybus::model::FindingId id) { return String{std::string{to_string(id)}.c_str()}; }
};
template <>
struct StringMaker<drybus::sim::Instant> {
  static String convert(drybus::sim::Instant at) {
    return fmt::format("{} ns", at.time_since_epoch().count()).c_str();
  }
};
template <>
struct StringMaker<drybus::sim::Duration> {
  static String convert(drybus::sim::Duration duration) {
    return fmt::format("{} ns", duration.count()).c_str();
  }
};
template <>
struct StringMaker<drybus::sim::Fingerprint> {
  static String convert(const drybus::sim::Fingerprint& print) { return print.hex().c_str(); }
};
template <class T>
struct StringMaker<std::vector<T>> {
  static String convert(const std::vector<T>& values) {
    String text = "{";
    for (const T& value : values) text += (text == "{" ? String{} : String{", "}) + toString(value);
    return text + "}";
  }
};

}  // namespace doctest
