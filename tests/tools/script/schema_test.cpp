// The JSON Schemas know the keys that the readers know, and no others. That they hold for the files is
// checked by an independent reader, tests/tools/schema_check.mjs.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <fstream>
#include <set>

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
  CHECK(keys_at(schema("site"), "") == keys_of(keys::site_file));
  CHECK(keys_at(schema("steps"), "") == keys_of(keys::steps_file));
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
}

TEST_CASE("the schemas of reports and catalogues have the keys of the reader") {
  const json::value report = schema("report");
  CHECK(keys_at(report, "") == keys_of(keys::report));
  Keys told = keys_of(keys::told_step);
  told.erase("expect");  // known, so that its refusal can say why
  CHECK(keys_at(report, "/$defs/told_step") == told);
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
