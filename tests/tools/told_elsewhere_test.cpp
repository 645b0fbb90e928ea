// What the program enumerates is told again where no compiler looks: in the page, the schemas, the scenarios. Here each
// such place is held against the enumeration. tests/recipes tries that they do refuse.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <functional>
#include <regex>
#include <set>
#include <string>

#include "model/devices/device.h"
#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/retelling.h"
#include "model/family/telegram.h"
#include "model/findings/findings.h"
#include "model/record/trace.h"
#include "model/run/run.h"
#include "tests/support/catalogue.h"
#include "tests/support/printing.h"
#include "tests/support/source_tree.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/panel/bench.h"
#include "tools/panel/state_json.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
namespace json = boost::json;
using model::Pattern;
using Words = std::set<std::string>;

template <class Enum>
Words words_of() {
  Words words;
  for (const Enum each : sim::all_of<Enum>()) words.emplace(to_string(each));
  return words;
}

/// What the first group of `pattern` is, wherever it fits in the text.
Words found_in(const std::string& text, const std::string& pattern) {
  const std::regex expression{pattern};
  Words words;
  for (std::sregex_iterator at{text.begin(), text.end(), expression}, end; at != end; ++at)
    words.insert((*at)[1].str());
  return words;
}

/// The kinds of entries. They count from 1 without a gap.
Words entry_kinds() {
  Words kinds;
  for (std::uint16_t i = 1; to_string(model::What{i}) != "?"; ++i) kinds.emplace(to_string(model::What{i}));
  return kinds;
}

TEST_CASE("the page has a word for every pattern") {
  const std::string text = source_text("tools/panel/page/names.js");
  const std::size_t begin = text.find("const patterns = {");
  REQUIRE(begin != std::string::npos);
  Words words = found_in(text.substr(begin, text.find('}', begin) - begin), R"((\w+): tr\(')");
  CHECK(words.erase("unseen") == 1);
  CHECK(words == words_of<Pattern>());
}

TEST_CASE(
    "the page has a texture for every pattern, a still one for each that comes and goes, and a legend") {
  const std::string page = source_text("tools/panel/page/index.html");
  Words wanted = words_of<Pattern>();
  wanted.erase("dark");  // nothing is lit
  CHECK(found_in(page, R"re(id="(\w+)-texture")re") == wanted);

  const tools::Bench bench{tools::load_scenario(source_file("scenarios/training/setup-split.yaml").string())};
  const json::object hello = tools::hello_json(bench);
  Words that_turn;
  for (const auto& [pattern, rhythm] : hello.at("families").as_array()[0].at("patterns").as_object()) {
    if (rhythm.at("lit_s").as_double() > 0 && rhythm.at("dark_s").as_double() > 0) that_turn.emplace(pattern);
  }
  CHECK(found_in(page, R"re(id="(\w+)-still")re") == that_turn);

  // A blip is a dot in the legend, and dark needs none.
  wanted.erase("blip");
  CHECK(found_in(source_text("tools/panel/page/legend.js"), R"(#(\w+)-(?:texture|lane)\))") == wanted);
}

TEST_CASE("the page speaks of entries that there are") {
  const Words kinds = entry_kinds();
  const std::string lanes = source_text("tools/panel/page/timeline_lanes.js");
  Words spoken = found_in(lanes, R"(\bof\('([\w-]+)'\))");
  spoken.merge(found_in(lanes, R"(line\.kind === '([\w-]+)')"));
  const std::string announcer = source_text("tools/panel/page/announcer.js");
  const std::size_t end = announcer.find("].includes(kind)");
  REQUIRE(end != std::string::npos);
  const std::size_t begin = announcer.rfind('[', end);
  spoken.merge(found_in(announcer.substr(begin, end - begin), R"('([\w-]+)')"));
  CHECK(spoken.size() > 8);
  for (const std::string& each : spoken) {
    CAPTURE(each);
    CHECK(kinds.count(each) == 1);
  }
}

void each_enum(const json::value& value, const std::function<void(const Words&)>& visit) {
  if (const json::array* array = value.if_array()) {
    for (const json::value& each : *array) each_enum(each, visit);
  }
  const json::object* object = value.if_object();
  if (object == nullptr) return;
  for (const auto& [key, each] : *object) {
    if (key == "enum" && each.is_array()) {
      Words words;
      for (const json::value& word : each.as_array()) {
        if (word.is_string()) words.emplace(word.as_string());
      }
      visit(words);
    } else {
      each_enum(each, visit);
    }
  }
}

TEST_CASE("the schemas know every pattern wherever they name one") {
  for (const char* name : {"scenario", "report"}) {
    CAPTURE(name);
    int places = 0;
    each_enum(json::parse(source_text(std::string{"scenarios/schema/"} + name + ".schema.json")),
              [&](const Words& words) {
                if (words.count("blink") == 0) return;
                ++places;
                CHECK(words == words_of<Pattern>());
              });
    CHECK(places > 0);
  }
}

TEST_CASE("the schema of findings has every finding") {
  const json::value scenario = json::parse(source_text("scenarios/schema/scenario.schema.json"));
  Words words;
  for (const json::value& word : scenario.at_pointer("/$defs/finding/enum").as_array())
    words.emplace(word.as_string());
  CHECK(words == words_of<model::FindingId>());
}

TEST_CASE("the schema of records has every kind of entry") {
  Words kinds;
  const std::function<void(const json::value&)> look = [&](const json::value& value) {
    if (const json::array* array = value.if_array()) {
      for (const json::value& each : *array) look(each);
    }
    if (const json::object* object = value.if_object()) {
      const json::value* kind = object->if_contains("kind");
      if (kind != nullptr && kind->is_object() && kind->as_object().contains("const"))
        kinds.emplace(kind->at("const").as_string());
      for (const auto& [key, each] : *object) look(each);
    }
  };
  look(json::parse(source_text("scenarios/schema/record.schema.json")));
  CHECK(kinds == entry_kinds());
}

TEST_CASE("the dissector knows every kind of telegram") {
  const std::string text = source_text("tools/export/dissector.lua");
  const std::regex pair{R"re(\[(\d+)\] = "(\w+)")re"};
  std::set<unsigned long> known;
  for (std::sregex_iterator at{text.begin(), text.end(), pair}, end; at != end; ++at) {
    const unsigned long kind = std::stoul((*at)[1].str());
    known.insert(kind);
    CHECK((*at)[2].str() == to_string(model::TelegramKind{static_cast<std::uint8_t>(kind)}));
  }
  CHECK(known.size() == model::last_telegram_kind);
}

TEST_CASE("every finding has a training scenario that yields it and nothing else") {
  Words alone;
  for (const std::string& name : source_names("scenarios/training", ".yaml")) {
    const model::Scenario scenario = tools::load_scenario(source_file(name).string()).scenario;
    Words found;
    for (const model::Finding& finding : model::run(scenario).findings) found.emplace(to_string(finding.id));
    if (found.size() == 1) alone.merge(found);
  }
  CHECK(alone == words_of<model::FindingId>());
}

TEST_CASE("every cause is placed somewhere in the calls that ship") {
  const model::Catalogue catalogue = shipped_catalogue();
  Words placed;
  for (const std::string& name : source_names("scenarios/reports", ".yaml")) {
    const tools::LoadedReport loaded = tools::load_report(source_file(name).string());
    const model::Retelling retelling{loaded.report, catalogue};
    for (const model::PlacedChange& each : model::place_causes(retelling, catalogue))
      placed.emplace(to_string(each.placed.cause));
    for (const model::PlacedChange& each : model::place_causes_of_calls(retelling, catalogue))
      placed.emplace(to_string(each.placed.cause));
  }
  for (const auto& name : words_of<model::Mishap>()) CHECK_MESSAGE(placed.count(name) == 1, name);
}

TEST_CASE("every command has its line in the table of commands") {
  Words listed;
  for (const auto& table : {tools::commands(), tools::hidden_commands()}) {
    for (const tools::Command& each : table) listed.emplace(each.name);
  }
  Words defined;
  for (const std::string& name : source_names("tools/commands", ".cpp"))
    defined.merge(found_in(source_text(name), R"(\nint (\w+)_command\(Arguments\b)"));
  CHECK(defined == listed);
}

}  // namespace
