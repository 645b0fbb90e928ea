// Places and walks, wiring, reach, and what modules remember when a run begins.
#include <doctest/doctest.h>

#include "tests/support/printing.h"
#include "tests/support/script_text.h"
#include "tools/script/site_reader.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;

model::Site site(const std::string& places, const std::string& devices, const std::string& bus = "",
                 const std::string& family = "wired-keypad") {
  std::string text = "drybus: 1\nfamily: " + family + "\nscript: []\nsite:\n";
  if (!places.empty()) text += "  places: " + places + "\n";
  text += devices;
  if (!bus.empty()) text += "  bus: " + bus + "\n";
  return must_read(text).scenario.site;
}

const char* const three = "  plates: {P1: {switches: {site: 1, zone: 1}}}\n  modules: {M1: {}, M2: {}}\n";

std::vector<std::string> link_names(const model::Site& site) {
  std::vector<std::string> names;
  for (std::uint32_t i = 0; i < site.network.links.size(); ++i) names.push_back(site.link_name(i));
  return names;
}
using Names = std::vector<std::string>;

// --- walks ---

const char* const in_a = "  plates: {P1: {place: a, switches: {site: 1, zone: 1}}}\n  modules: {}\n";

TEST_CASE("walks are as given, both ways, or by way of others") {
  const model::Site s = site("{a: {}, b: {walk: {a: 40s}}, c: {walk: {b: 10s}}}", in_a);
  CHECK(s.walk(0, 1) == 40s);
  CHECK(s.walk(1, 0) == 40s);
  CHECK(s.walk(0, 2) == 50s);
  CHECK(s.walk(2, 0) == 50s);
  CHECK(s.walk(1, 1) == 0s);
}

TEST_CASE("a walk that is given holds even where a way round is shorter") {
  const model::Site s = site("{a: {}, b: {walk: {a: 100s}}, c: {walk: {a: 10s, b: 10s}}}", in_a);
  CHECK(s.walk(0, 1) == 100s);
}

TEST_CASE("between spots people walk at 1.32 metres a second") {
  // Andrews et al.: 1.32 m/s on average; 13.2 m take 10 s.
  const model::Site s =
      site("{a: {at: [0 m, 0 m]}, b: {at: [13.2 m, 0 m]}, c: {at: [0 m, 0 m], floor: 1}}", in_a);
  CHECK(s.walk(0, 1) == 10s);
  CHECK(s.walk(0, 2) == sim::Duration{2'272'727'273});  // 3 m
}

TEST_CASE("where nothing says how far it is, a walk takes half a minute") {
  CHECK(site("{a: {}, b: {}}", in_a).walk(0, 1) == 30s);
}

// --- modules ---

model::ModuleMemory memory(const std::string& module) {
  return site("", "  plates: {P1: {switches: {site: 1, zone: 1}}}\n  modules: {M1: " + module + "}\n")
      .modules[0]
      .memory;
}

TEST_CASE("a module is as from the factory unless the file says otherwise") {
  CHECK(memory("{}").power_up == model::PowerUp::full);
  CHECK_FALSE(memory("{}").addressed());
  CHECK(memory("{}").address.site == 50);
  CHECK(memory("{power_up: last, last_level: 40%}").last_level == 400);
  CHECK(memory("{scenes: {2: 12.5%}}").scenes[1] == 125);
  CHECK(memory("{scenes: {2: 12.5%}}").scenes[0] == 1000);
}

TEST_CASE("a stored address of another site goes with a power-up mode of off") {
  // Common practice, no source: a changed site number turns the power-up mode off.
  CHECK(memory("{stored: 23/4/1}").power_up == model::PowerUp::off);
  CHECK(memory("{stored: 23/4/1}").address == model::Address{23, 4, 1});
  CHECK(memory("{stored: 50/4/1}").power_up == model::PowerUp::full);
  CHECK(memory("{stored: 23/4/1, power_up: full}").power_up == model::PowerUp::full);
}

// --- wiring ---

TEST_CASE("without a bus all wired devices are on one line, plates first") {
  CHECK(link_names(site("", three)) == Names{"P1-M1", "M1-M2"});
}

TEST_CASE("a line joins its devices in a row; others are on no bus") {
  const model::Site s = site("", three, "{line: [M2, P1]}");
  CHECK(link_names(s) == Names{"M2-P1"});
  REQUIRE(s.network.media.size() == 2);
  CHECK(s.network.media[1].nodes == std::vector<sim::NodeId>{1});
  CHECK(s.network.media[0].nodes == std::vector<sim::NodeId>{0, 2});
}

TEST_CASE("names in a tree that are no devices are junctions") {
  const model::Site s = site("", three, "{tree: [P1-J1, J1-M1, J1-J2, J2-M2]}");
  CHECK(s.junctions == Names{"J1", "J2"});
  CHECK(link_names(s) == Names{"P1-J1", "J1-M1", "J1-J2", "J2-M2"});
  CHECK(s.network.nodes[3].passive);
  CHECK_FALSE(s.network.nodes[0].passive);
}

TEST_CASE("a site may have several buses") {
  const model::Site s = site("", three, "[{line: [P1, M1]}, {line: [M2]}]");
  CHECK(s.network.media.size() == 2);
  CHECK(s.network.nodes[0].medium == 0);
  CHECK(s.network.nodes[2].medium == 1);
}

// --- radio ---

const char* const apart =
    "  plates: {P1: {place: a, switches: {site: 1, zone: 1}}}\n  modules: {M1: {place: b}, M2: {place: c}}\n";

TEST_CASE("radio reaches as far as the link budget allows, where the file has coordinates") {
  // 92 dB at 868 MHz: 71.7 m on one floor, 38.2 m through one (model/radio_test.cpp).
  const auto reached = [](const std::string& b, const std::string& c) {
    return link_names(
        site("{a: {at: [0 m, 0 m]}, b: " + b + ", c: " + c + "}", apart, "{radio: all}", "radio-keypad"));
  };
  CHECK(reached("{at: [70 m, 0 m]}", "{at: [140 m, 0 m]}") == Names{"P1-M1", "M1-M2"});
  CHECK(reached("{at: [50 m, 0 m], floor: 1}", "{at: [30 m, 0 m], floor: 1}") == Names{"P1-M2", "M1-M2"});
  CHECK(reached("{at: [500 m, 0 m]}", "{}") == Names{"P1-M2", "M1-M2"});  // c could be anywhere
}

TEST_CASE("blocked pairs do not hear each other") {
  CHECK(link_names(site("", three, "{radio: all, blocked: [M2-P1]}", "radio-keypad")) ==
        Names{"P1-M1", "M1-M2"});
  CHECK(link_names(site("", three, "{radio: [P1, M2]}", "radio-keypad")) == Names{"P1-M2"});
  CHECK(link_names(site("", three, "", "radio-keypad")) == Names{"P1-M1", "P1-M2", "M1-M2"});
}

TEST_CASE("mistakes in a radio bus are told") {
  const auto problem = [](const std::string& bus) {
    const auto problems = problems_of(std::string{"drybus: 1\nfamily: radio-keypad\nscript: []\nsite:\n"} +
                                      three + "  bus: " + bus + "\n");
    REQUIRE(problems.size() == 1);
    return problems[0];
  };
  CHECK(problem("{line: [P1, M1]}") ==
        "7:15 the devices of the family 'radio-keypad' are joined by radio | {radio: all} | ");
  CHECK(problem("{radio: everyone}") ==
        "7:16 whom the radio joins is not clear | all, or a list such as [P1, M1] | ");
  CHECK(problem("{radio: [P1, M1], blocked: [P1-M2]}") == "7:39 'M2' is not on this radio |  | ");
  CHECK(problem("{radio: all, blocked: [P1-M3]}") == "7:34 unknown device 'M3' | one of: P1, M1, M2 | M1");
}

}  // namespace
