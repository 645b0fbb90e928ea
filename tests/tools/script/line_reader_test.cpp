// Scenarios of an IEC 62386 line: what is wrong with them is told at its place, with the nearest right word; and the schema
// knows the keys and words of the reader.
#include "tools/script/line_reader.h"

#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <set>

#include "model/iec62386/finding_kinds.h"
#include "tests/support/files.h"
#include "tools/script/line_keys.h"

namespace {

using namespace drybus::tools;
namespace json = boost::json;

const std::string head =
    "drybus: 1\nprotocol: iec-62386\nsite:\n  controllers: {C1: {}}\n  gear: {M1: {}, M2: {}}\nscript:\n";

/// "5:3: unknown key 'x'; M1", of the first problem.
std::string problem(const std::string& text) {
  const auto reading = read_line_scenario_text(text, "x.yaml");
  if (reading.ok()) return "";
  const Problem& first = reading.problems().front();
  return std::to_string(first.line) + ":" + std::to_string(first.column) + ": " + first.message +
         (first.suggestion.empty() ? "" : " -> " + first.suggestion);
}

std::string step_problem(const std::string& step) {
  return problem(head + "  - " + step + "\n");
}

TEST_CASE("mistakes are told at their place") {
  CHECK(problem(
            "drybus: 1\nprotocol: iec-62368\nsite: {controllers: {C1: {}}, gear: {M1: {}}}\nscript: []\n") ==
        "2:11: unknown protocol 'iec-62368' -> iec-62386");
  CHECK(step_problem("sent: off") == "7:5: unknown key 'sent' -> send");
  CHECK(step_problem("send: of") == "7:11: unknown command 'of' -> off");
  CHECK(step_problem("send: go to scene 16") == "7:11: go to scene: which?");
  CHECK(step_problem("send: level 256") == "7:11: which level?");
  CHECK(step_problem("{send: off, to: group 16}") == "7:21: 'group 16' is nobody on a line");
  CHECK(step_problem("{send: off, by: C2}") == "7:21: unknown controller 'C2' -> C1");
  CHECK(step_problem("set: {max lavel: 3}") == "7:11: unknown setting 'max lavel' -> max level");
  CHECK(step_problem("expect: {M1.shrt: 3}") == "7:17: unknown fact 'shrt' -> short");
  CHECK(step_problem("expect: {M3.short: 3}") == "7:14: unknown gear 'M3' -> M1");
  CHECK(step_problem("expect: {findings: [random-twin]}") ==
        "7:25: unknown finding 'random-twin' -> random-twins");
  CHECK(step_problem("see: {M1.short: 3}") == "7:14: nobody can see that");
  CHECK(step_problem("wait: 5") == "7:11: a bare number; add a unit, e.g. 5 s");
  CHECK(step_problem("fault: {shorted: L1}") == "7:13: unknown key 'shorted' -> short");
  CHECK(step_problem("fault: {join: L1}") == "7:19: two lines are joined");
  CHECK(step_problem("power: {M1: of}") == "7:17: unknown state 'of' -> off");
  CHECK(step_problem("{send: off, wait: 3s}") ==
        "7:17: a step does one thing, and this one already has 'send'");
  CHECK(step_problem("press: C1 on") == "7:15: unknown button 'on'");
}

TEST_CASE("gear comes in ranges, with numbers that count up") {
  const auto reading = read_line_scenario_text(
      "drybus: 1\nprotocol: iec-62386\nsite: {controllers: {C1: {}}, gear: {M1 to M64: {intended: "
      "0}}}\nscript: []\n",
      "x.yaml");
  REQUIRE(reading.ok());
  REQUIRE(reading.value().site.gear.size() == 64);
  CHECK(reading.value().site.gear[63].name == "M64");
  CHECK(reading.value().site.gear[63].intended == 63);
  CHECK(problem("drybus: 1\nprotocol: iec-62386\nsite: {controllers: {C1: {}}, gear: {M1 to M99999: "
                "{}}}\nscript: []\n") == "3:38: 'M1 to M99999' is no range");
}

TEST_CASE("settings become a transaction that reads back") {
  const auto reading = read_line_scenario_text(head + "  - {set: {max level: 200}, to: 3}\n", "x.yaml");
  REQUIRE(reading.ok());
  const auto& sends = reading.value().people[0].script[0].sends;
  REQUIRE(sends.size() == 3);
  CHECK(drybus::iec62386::in_words(sends[0].frame) == "DTR0 200");
  CHECK(drybus::iec62386::in_words(sends[1].frame) == "set max level to short address 3");
  CHECK(sends[1].times == 2);
  CHECK(drybus::iec62386::in_words(sends[2].frame) == "query max level to short address 3");
  CHECK(sends[2].should_be == 200);
}

TEST_CASE("a protocol is named in a line of its own") {
  CHECK(protocol_named_in(DRYBUS_SOURCE_DIR "/scenarios/iec-62386/random-twins.yaml") == "iec-62386");
  CHECK_FALSE(protocol_named_in(DRYBUS_SOURCE_DIR "/scenarios/training/zone-zero.yaml").has_value());
  CHECK_FALSE(protocol_named_in(DRYBUS_SOURCE_DIR "/scenarios").has_value());
  CHECK_FALSE(protocol_named_in("/nowhere").has_value());
}

json::value schema() {
  return json::parse(drybus::tests::content_of(DRYBUS_SOURCE_DIR "/scenarios/schema/line.schema.json"));
}

using Keys = std::set<std::string>;

Keys keys_at(const json::value& in, const std::string& pointer) {
  Keys found;
  for (const auto& [key, value] : in.at_pointer(pointer + "/properties").as_object()) found.emplace(key);
  CHECK_FALSE(in.at_pointer(pointer + "/additionalProperties").as_bool());
  return found;
}

template <std::size_t count>
Keys keys_of(const keys::List<count>& list) {
  return {list.begin(), list.end()};
}

TEST_CASE("the schema has the keys and the findings of the reader") {
  const json::value line = schema();
  CHECK(keys_at(line, "") == keys_of(keys::line::scenario));
  CHECK(keys_at(line, "/properties/others/additionalProperties/anyOf/1") == keys_of(keys::line::person));
  CHECK(keys_at(line, "/$defs/site") == keys_of(keys::line::site));
  CHECK(keys_at(line, "/$defs/place") == keys_of(keys::line::place));
  CHECK(keys_at(line, "/$defs/line") == keys_of(keys::line::line));
  CHECK(keys_at(line, "/$defs/controller") == keys_of(keys::line::controller));
  CHECK(keys_at(line, "/$defs/button") == keys_of(keys::line::button));
  CHECK(keys_at(line, "/$defs/gear") == keys_of(keys::line::gear));
  CHECK(keys_at(line, "/$defs/holds") == keys_of(keys::line::holds));
  CHECK(keys_at(line, "/$defs/step") == keys_of(keys::line::step));
  CHECK(keys_at(line, "/$defs/fault") == keys_of(keys::line::fault));
  Keys ids;
  for (const auto& each : line.at_pointer("/$defs/finding/enum").as_array()) ids.emplace(each.as_string());
  Keys known;
  for (const auto& kind : drybus::iec62386::finding_kinds()) known.emplace(kind.id);
  CHECK(ids == known);
}

}  // namespace
