#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <sstream>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"
#include "tools/base/json_text.h"
#include "tools/base/xml.h"
#include "tools/export/junit.h"
#include "tools/export/record_lines.h"
#include "tools/export/run_json.h"

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;
namespace json = boost::json;

namespace {

model::Scenario addressing() {
  model::Scenario scenario = small_scenario(2);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(250ms).look("M1", model::Fact::indicator, "dark");
  return scenario;
}

}  // namespace

TEST_SUITE("exports") {
  TEST_CASE("decimals in JSON are plain, and read back as the very same number") {
    CHECK(tools::json_text(5.0) == "5");
    CHECK(tools::json_text(0.25) == "0.25");
    CHECK(tools::json_text(-266.5) == "-266.5");
    CHECK(tools::json_text(std::numeric_limits<double>::quiet_NaN()) == "null");
    CHECK(tools::json_text(std::numeric_limits<double>::infinity()) == "null");
    const std::string name = "decimals in JSON are plain, and read back as the very same number";
    for (const std::uint64_t seed : test::seeds(20)) {
      INFO(test::replay(seed, name));
      sim::Stream random{seed, sim::Purpose::generator, 2, 0};
      for (int i = 0; i < 500; ++i) {
        const std::uint64_t bits = random.below(std::numeric_limits<std::uint64_t>::max());
        double number = 0;
        std::memcpy(&number, &bits, sizeof number);
        if (!std::isfinite(number)) continue;
        CHECK(std::strtod(tools::json_text(number).c_str(), nullptr) ==
              number);  // Boost.JSON rounds less well
      }
    }
  }

  TEST_CASE("everything else in JSON is as the library has it") {
    const json::value value = json::parse(
        R"({"a":[],"b":{},"c":[1,-2,18446744073709551615],"d":{"e":null,"f":[true,false]},"g\"\n":"\u0001\\\"ü"})");
    CHECK(json::parse(tools::json_text(value)) == value);
    CHECK(tools::json_text(value) == json::serialize(value));
  }

  TEST_CASE("a run as JSON has the keys that programs rely on, and no exponents") {
    const model::Scenario scenario = addressing();
    const std::string text = tools::run_json("a\xff.yaml", scenario, 7, model::run(scenario));
    const json::object run = json::parse(text).as_object();
    for (const char* key :
         {"scenario", "title", "seed", "ended_at_s", "passed", "digest", "checks", "findings", "devices"}) {
      CHECK(run.contains(key));
    }
    CHECK(run.at("scenario") == "a?.yaml");
    CHECK(run.at("seed").to_number<int>() == 7);
    CHECK(run.at("devices").at("M1").at("address") == "23/4/1");
    CHECK(run.at("devices").at("M2").at("address").is_null());
    CHECK(text.find("\"level\":100,") != std::string::npos);
    CHECK(text.find("E0") == std::string::npos);
  }

  TEST_CASE("a record as JSON Lines has an entry a line, in order, each naming an earlier cause") {
    const model::Scenario scenario = addressing();
    const model::RunResult result = model::run(scenario);
    std::istringstream lines{tools::record_lines(scenario, result.record)};
    std::string line;
    sim::EntryId id = 0;
    while (std::getline(lines, line)) {
      const json::object entry = json::parse(line).as_object();
      REQUIRE(++id <= result.record.size());
      const sim::Entry& wanted = result.record[id];
      CHECK(entry.at("id").to_number<sim::EntryId>() == id);
      CHECK(entry.at("at_ns").to_number<std::int64_t>() == wanted.at.time_since_epoch().count());
      CHECK(entry.at("a").to_number<std::uint32_t>() == wanted.a);
      CHECK(entry.at("b").to_number<std::uint64_t>() == wanted.b);
      CHECK(entry.at("cause").to_number<sim::EntryId>() < id);
    }
    CHECK(id == result.record.size());
  }

  TEST_CASE("text for XML has no character that XML cannot hold") {
    CHECK(tools::xml_escaped("a<b>&\"c\"") == "a&lt;b&gt;&amp;&quot;c&quot;");
    CHECK(tools::xml_escaped("tab\tline\nend") == "tab\tline\nend");
    CHECK(tools::xml_escaped("bell\x07 nul" + std::string(1, '\0') + " half\xc3 ü") == "bell? nul? half? ü");
    CHECK(tools::xml_escaped("\xef\xbf\xbe\xef\xbf\xbf\xef\xbf\xbd") == "??\xef\xbf\xbd");
    CHECK(tools::xml_escaped("") == "");
  }

  TEST_CASE("a JUnit suite counts its cases by what became of them") {
    const std::vector<tools::JunitCase> cases = {{"a", 1.5, 60, "", ""},
                                                 {"b", 2, 60, "wrong", ""},
                                                 {"c", 0, 0, "", "no such file"},
                                                 {"d", 0, 0, "never told", "worse"}};
    const std::string xml = tools::junit_xml("suite", cases);
    CHECK(xml.find("tests=\"4\" failures=\"1\" errors=\"2\" skipped=\"0\" time=\"3.500\"") !=
          std::string::npos);
    CHECK(xml.find("<property name=\"simulated seconds\" value=\"60.000\"/>") != std::string::npos);
  }
}
