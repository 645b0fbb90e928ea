#include "tools/script/quantity.h"

#include <doctest/doctest.h>

#include "model/people/timetable.h"
#include "sim/random.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::tools;
using namespace std::chrono_literals;

sim::Duration time(std::string_view text) {
  const auto duration = parse_duration(text);
  CAPTURE(text);
  REQUIRE(duration);
  return *duration;
}

std::string wrong(std::string_view text) {
  const auto duration = parse_duration(text);
  CAPTURE(text);
  REQUIRE_FALSE(duration);
  return duration.error().message + " | " + duration.error().suggestion;
}

TEST_CASE("times are read with their units") {
  CHECK(time("200ms") == 200ms);
  CHECK(time("5s") == 5s);
  CHECK(time("5 s") == 5s);
  CHECK(time("3min") == 3min);
  CHECK(time("2 h") == 2h);
  CHECK(time("1h 30min") == 90min);
  CHECK(time("1h30min") == 90min);
  CHECK(time("1 h 30 min 2.5 s") == 90min + 2500ms);
  CHECK(time("1.5s") == 1500ms);
  CHECK(time("0.1 us") == 100ns);
  CHECK(time("200 µs") == 200us);
  CHECK(time("7ns") == 7ns);
  CHECK(time("0s") == 0s);
  CHECK(time("  5s ") == 5s);
}

TEST_CASE("what is no time is told why, and what was meant") {
  CHECK(wrong("200") == "a bare number; add a unit, e.g. 200 s | ");
  CHECK(wrong("2.5") == "a bare number; add a unit, e.g. 2.5 s | ");
  CHECK(wrong("3:42") == "'3:42' could be minutes or hours | 3min 42s");
  CHECK(wrong("1:03:42") == "'1:03:42' could be minutes or hours | 1h 03min 42s");
  CHECK(wrong("5 sec") == "unknown unit 'sec' | s");
  CHECK(wrong("5 minutes") == "unknown unit 'minutes' | min");
  CHECK(wrong("5m") == "unknown unit 'm' | min");
  CHECK(wrong("5 hours") == "unknown unit 'hours' | h");
  CHECK(wrong("5 mn") == "unknown unit 'mn' | min");
  CHECK(wrong("1,5s") == "a decimal comma | 1.5s");
  CHECK(wrong("-5s") == "it cannot be negative | ");
  CHECK(wrong("") == "a value is missing | ");
  CHECK(wrong("soon") == "'soon' is not a time | ");
  CHECK(wrong("30min 1h") == "units go from large to small | ");
  CHECK(wrong("1s 1s") == "units go from large to small | ");
  CHECK(wrong("5s later") == "'later' is not a time | ");
  CHECK(wrong("0.5ns") == "finer than a nanosecond | ");
  CHECK(wrong("11000000 h") == "longer than ten years | ");
  CHECK(wrong("999999999999999999 h") == "longer than ten years | ");
  CHECK(wrong("9999999999999999999 h") == "'9999999999999999999 h' is not a time | ");
  CHECK(wrong("5.s") == "'5.s' is not a time | ");
  CHECK(wrong(".5s") == "'.5s' is not a time | ");
  CHECK(wrong("inf s") == "'inf s' is not a time | ");
}

TEST_CASE("ten years are the most") {
  CHECK(time("87672 h") == model::longest_run);
  CHECK(wrong("87672 h 1ns") == "longer than ten years | ");
}

TEST_CASE("percentages go from 0 to 100, to a tenth") {
  CHECK(*parse_percent("40%") == 400);
  CHECK(*parse_percent("12.5 %") == 125);
  CHECK(*parse_percent("100.0%") == 1000);
  CHECK(*parse_percent("0%") == 0);
  CHECK(parse_percent("40").error().message == "a bare number; add a unit, e.g. 40 %");
  CHECK(parse_percent("100.1%").error().message == "more than 100 %");
  CHECK(parse_percent("33.33%").error().message == "finer than a tenth of a percent");
  CHECK(parse_percent("-1%").error().message == "it cannot be negative");
  CHECK(parse_percent("40 percent").error().message == "'40 percent' is not a percentage");
}

TEST_CASE("bit errors are a share of the bits") {
  CHECK(*parse_bit_errors("1e-3") == 1'000'000);
  CHECK(*parse_bit_errors("0.001") == 1'000'000);
  CHECK(*parse_bit_errors("0.1%") == 1'000'000);
  CHECK(*parse_bit_errors("0.1 %") == 1'000'000);
  CHECK(*parse_bit_errors("1 in 1000") == 1'000'000);
  CHECK(*parse_bit_errors("2 in 1000") == 2'000'000);
  CHECK(*parse_bit_errors("1 in 3") == 333'333'333);
  CHECK(*parse_bit_errors("50%") == 500'000'000);
  for (const char* text :
       {"51%", "0", "0%", "1e-10", "-1%", "1 in 0", "1 in -5", "nan", "inf", "1e999", "one", "", "1 of 3"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_bit_errors(text));
  }
}

TEST_CASE("bit rates, metres, megahertz and decibels carry their units") {
  CHECK(*parse_bit_rate("9600 bit/s") == 9600);
  CHECK(*parse_bit_rate("38.4 kbit/s") == 38'400);
  CHECK(*parse_bit_rate("1 Mbit/s") == 1'000'000);
  for (const char* text : {"9600", "9600 baud", "0 bit/s", "0.5 bit/s", "2000 Mbit/s", "-1 bit/s", ""}) {
    CAPTURE(text);
    CHECK_FALSE(parse_bit_rate(text));
  }
  CHECK(*parse_with_unit("10 m", "m") == 10);
  CHECK(*parse_with_unit("-2.5m", "m") == -2.5);
  CHECK(*parse_with_unit("868.3 MHz", "MHz") == 868.3);
  CHECK(parse_with_unit("10", "m").error().message == "a bare number; add a unit, e.g. 10 m");
  CHECK(parse_with_unit("-10", "m").error().message == "a bare number; add a unit, e.g. 10 m");
  CHECK_FALSE(parse_with_unit("10 km", "m"));
  CHECK_FALSE(parse_with_unit("1e999 m", "m"));
  CHECK_FALSE(parse_with_unit("nan m", "m"));
}

TEST_CASE("whole numbers have neither sign nor point") {
  CHECK(*parse_whole("0") == 0);
  CHECK(*parse_whole("18446744073709551615") == UINT64_MAX);
  CHECK(parse_whole("18446744073709551616").error().message == "'18446744073709551616' is too large");
  for (const char* text : {"-1", "+1", "1.0", "1e3", "0x10", "", "one", "1 2"}) {
    CAPTURE(text);
    CHECK_FALSE(parse_whole(text));
  }
}

TEST_CASE("what is written of a quantity reads back as the same") {
  CHECK(exact_duration(0s) == "0s");
  CHECK(exact_duration(200ms) == "200ms");
  CHECK(exact_duration(180s) == "180s");
  CHECK(exact_duration(600s) == "600s");
  CHECK(exact_duration(601s) == "10min 1s");
  CHECK(exact_duration(90min) == "1h 30min");
  CHECK(exact_duration(1500ms) == "1s 500ms");
  CHECK(exact_bit_errors(1'000'000) == "1 in 1000");
  CHECK(exact_percent(125) == "12.5%");
  for (const std::uint64_t seed : test::seeds(2000)) {
    CAPTURE(test::replay(seed, "what is written of a quantity reads back as the same"));
    sim::Stream stream{seed, sim::Purpose::generator, 0};
    const sim::Duration duration{static_cast<std::int64_t>(stream.below(1ull << stream.below(58)))};
    CHECK(*parse_duration(exact_duration(duration)) == duration);
    const auto ppb = static_cast<std::uint32_t>(1 + stream.below(500'000'000));
    CHECK(*parse_bit_errors(exact_bit_errors(ppb)) == ppb);
    const auto level = static_cast<model::Level>(stream.below(1001));
    CHECK(*parse_percent(exact_percent(level)) == level);
  }
}

}  // namespace
