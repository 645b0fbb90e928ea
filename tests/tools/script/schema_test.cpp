// The JSON Schemas know the keys that the readers know, and no others. That they hold for the files is
// checked by an independent reader, tests/tools/schema_check.mjs.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <fstream>
#include <map>
#include <set>

#include "model/family/machine_words.h"
#include "tests/support/printing.h"
#include "tools/script/keys.h"
#include "tools/script/words.h"

namespace {

using namespace drybus::tools;
namespace json = boost::json;

json::value schema(const std::string& name) {
  std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/schema/" + name + ".schema.json"};
  REQUIRE(in);
  return json::parse(std::string{std::istreambuf_iterator<char>{in}, {}});
}

using Keys = std::set<std::string>;

Keys keys_at(const json::value& schema, const std::string& pointer) {
  Keys keys;
  for (const auto& [key, value] : schema.at_pointer(pointer + "/properties").as_object()) keys.emplace(key);
  CHECK_FALSE(schema.at_pointer(pointer + "/additionalProperties").as_bool());
  return keys;
}

template <std::size_t count>
Keys keys_of(const keys::List<count>& list) {
  return {list.begin(), list.end()};
}

TEST_CASE("the schemas of scenarios, sites and steps have the keys of the reader") {
  const json::value scenario = schema("scenario");
  CHECK(keys_at(scenario, "") == keys_of(keys::scenario));
  CHECK(keys_at(scenario, "/properties/people") == keys_of(keys::people));
  CHECK(keys_at(scenario, "/properties/others/additionalProperties/anyOf/1") == keys_of(keys::other_person));
  CHECK(keys_at(scenario, "/$defs/site") == keys_of(keys::site));
  CHECK(keys_at(scenario, "/$defs/place") == keys_of(keys::place));
  CHECK(keys_at(scenario, "/$defs/plate") == keys_of(keys::plate));
  CHECK(keys_at(scenario, "/$defs/switches") == keys_of(keys::switches));
  CHECK(keys_at(scenario, "/$defs/module") == keys_of(keys::module));
  CHECK(keys_at(scenario, "/$defs/load") == keys_of(keys::load));
  CHECK(keys_at(scenario, "/$defs/medium") == keys_of(keys::bus));
  CHECK(keys_at(scenario, "/$defs/cable") == keys_of(keys::cable));
  CHECK(keys_at(scenario, "/$defs/step") == keys_of(keys::step));
  CHECK(keys_at(scenario, "/$defs/fault") == keys_of(keys::fault));
  CHECK(keys_at(scenario, "/$defs/outside_step") == keys_of(keys::outside_step));
  CHECK(keys_at(scenario, "/$defs/outside_step/properties/send") == keys_of(keys::outside_telegram));
  CHECK(keys_at(scenario, "/$defs/outside_step/properties/stored") == keys_of(keys::outside_memory));
  CHECK(keys_at(schema("site"), "") == keys_of(keys::site_file));
  CHECK(keys_at(schema("steps"), "") == keys_of(keys::steps_file));
}

TEST_CASE("the schema of lessons has the keys of the reader") {
  const json::value lesson = schema("lesson");
  CHECK(keys_at(lesson, "") == keys_of(keys::lesson));
  CHECK(keys_at(lesson, "/$defs/question") == keys_of(keys::question));
  CHECK(keys_at(lesson, "/$defs/question/properties/choice/items") == keys_of(keys::lesson_option));
  CHECK(keys_at(lesson, "/$defs/question/properties/number") == keys_of(keys::lesson_number));
}

TEST_CASE("the schema of families has the keys of the reader") {
  const json::value family = schema("family");
  CHECK(keys_at(family, "") == keys_of(keys::family));
  CHECK(keys_at(family, "/properties/plate") == keys_of(keys::family_plate));
  CHECK(keys_at(family, "/properties/plate/properties/setup") == keys_of(keys::family_plate_setup));
  CHECK(keys_at(family, "/properties/plate/properties/normal/additionalProperties") ==
        keys_of(keys::binding));
  CHECK(keys_at(family, "/properties/module") == keys_of(keys::family_module));
  CHECK(keys_at(family, "/properties/module/properties/ratings/additionalProperties") ==
        keys_of(keys::rating));
  CHECK(keys_at(family, "/properties/bus/properties/supply") == keys_of(keys::supply));
  CHECK(keys_at(family, "/properties/module/properties/setup") == keys_of(keys::family_module_setup));
  CHECK(keys_at(family, "/properties/module/properties/factory") == keys_of(keys::factory));
  CHECK(keys_at(family, "/properties/indicator") == keys_of(keys::indicator));
  CHECK(keys_at(family, "/properties/contacts") == keys_of(keys::contacts));
  CHECK(keys_at(family, "/properties/bus") == keys_of(keys::family_bus));
  CHECK(keys_at(family, "/properties/bus/properties/backoff") == keys_of(keys::backoff));
  CHECK(keys_at(family, "/properties/module/properties/setup/properties/supply") ==
        keys_of(keys::supply_gesture));
  for (const std::string kind : {"plate", "module"}) {
    const std::string machine = "/$defs/" + kind + "_machine";
    CHECK(keys_at(family, machine) == keys_of(keys::machine));
    CHECK(keys_at(family, machine + "/properties/states/additionalProperties") == keys_of(keys::machine_state));
    CHECK(keys_at(family, machine + "/properties/rows/items") == keys_of(keys::machine_row));
  }
}

/// The phrases that a definition of the schema allows, each with what it says of them.
std::map<std::string, std::string> phrases_at(const json::value& schema, const std::string& name) {
  std::map<std::string, std::string> phrases;
  for (const json::value& phrase : schema.at("$defs").at(name).at("oneOf").as_array()) {
    const auto* means = phrase.as_object().if_contains("description");
    phrases[std::string{phrase.at("const").as_string()}] = means == nullptr ? "" : std::string{means->as_string()};
  }
  return phrases;
}

template <class Word>
std::map<std::string, std::string> phrases_of(std::span<const Word> words, bool plate, bool negated = false) {
  std::map<std::string, std::string> phrases;
  for (const Word& word : words) {
    if (!can_use(word.used_by, plate)) continue;
    phrases[std::string{word.phrase}] = word.means;
    if (negated) phrases["not " + std::string{word.phrase}] = "";
  }
  return phrases;
}

TEST_CASE("the schema of families has the words of machines, and says what they mean") {
  const json::value family = schema("family");
  for (const bool plate : {true, false}) {
    const std::string kind = plate ? "plate" : "module";
    CHECK(phrases_at(family, kind + "_event") == phrases_of(drybus::model::event_words(), plate));
    CHECK(phrases_at(family, kind + "_condition") == phrases_of(drybus::model::condition_words(), plate, true));
    CHECK(phrases_at(family, kind + "_action") == phrases_of(drybus::model::action_words(), plate));
  }
}

TEST_CASE("the schemas of reports and catalogues have the keys of the reader") {
  const json::value report = schema("report");
  CHECK(keys_at(report, "") == keys_of(keys::report));
  Keys told = keys_of(keys::told_step);
  told.erase("expect");  // known, so that its refusal can say why
  CHECK(keys_at(report, "/$defs/told_step") == told);
  CHECK(keys_at(report, "/$defs/told_step/properties/addressed") == keys_of(keys::addressed));
  CHECK(keys_at(report, "/$defs/answer") == keys_of(keys::answer));
  CHECK(keys_at(report, "/$defs/told_site") == keys_of(keys::site));
  CHECK(keys_at(report, "/$defs/told_plate") == keys_of(keys::plate));
  const json::value catalogue = schema("catalogue");
  CHECK(keys_at(catalogue, "") == keys_of(keys::catalogue));
  CHECK(keys_at(catalogue, "/properties/misreport") == keys_of(keys::misreport));
  CHECK(keys_at(catalogue, "/properties/slips") == keys_of(keys::slips));
  CHECK(keys_at(catalogue, "/properties/faults") == keys_of(keys::faults));
  CHECK(keys_at(catalogue, "/$defs/chance") == keys_of(keys::chance));
}

Keys words_at(const json::value& schema, const std::string& pointer) {
  Keys words;
  for (const json::value& word : schema.at_pointer(pointer + "/enum").as_array())
    words.emplace(word.as_string());
  return words;
}

Keys all_of(std::span<const std::string_view> words) {
  return {words.begin(), words.end()};
}

TEST_CASE("the schema has the words of the model") {
  const json::value scenario = schema("scenario");
  CHECK(words_at(scenario, "/$defs/finding") == all_of(words::findings()));
  CHECK(words_at(scenario, "/$defs/power_up") == all_of(words::power_ups()));
  Keys actions;
  for (const json::value& each : scenario.at_pointer("/$defs/step/oneOf").as_array()) {
    actions.emplace(each.at("required").at(0).as_string());
  }
  CHECK(actions == keys_of(keys::actions));
}

}  // namespace
