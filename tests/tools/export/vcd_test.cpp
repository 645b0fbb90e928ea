#include "tools/export/vcd.h"

#include <doctest/doctest.h>

#include <map>
#include <optional>
#include <sstream>

#include "model/run/run.h"
#include "tests/support/small_site.h"

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;

namespace {

/// A dump read back: for every variable its values by time, in microseconds; bits are joined again. Values
/// that are not all 0 and 1 are kept as their first character.
struct Dump {
  struct Bit {
    std::string variable;
    unsigned index = 0;
  };
  std::map<std::string, Bit> bits;                      ///< by identifier code
  std::map<std::string, std::map<unsigned, char>> now;  ///< bit by bit
  std::map<std::string, std::map<long, std::string>> series;
  std::vector<std::string> scopes;
  long last = 0;

  explicit Dump(const std::string& text) {
    std::istringstream in{text};
    std::string word;
    while (in >> word && word != "$enddefinitions") {
      if (word == "$scope") {
        std::string kind, name;
        in >> kind >> name;
        scopes.push_back(name);
      }
      if (word == "$var") read_variable(in);
    }
    in >> word;
    REQUIRE(word == "$end");
    while (in >> word) read_change(word);
  }

  void read_variable(std::istringstream& in) {
    std::string kind, size, code, name;
    in >> kind >> size >> code >> name;
    REQUIRE(kind == "wire");
    REQUIRE(size == "1");
    const std::size_t bracket = name.find('[');
    const unsigned index =
        bracket == std::string::npos ? 0 : static_cast<unsigned>(std::stoul(name.substr(bracket + 1)));
    const bool fresh = bits.emplace(code, Bit{name.substr(0, bracket), index}).second;
    REQUIRE(fresh);
  }

  void read_change(const std::string& word) {
    if (word[0] == '$') return;
    if (word[0] == '#') {
      const long time = std::stol(word.substr(1));
      REQUIRE(time >= last);
      last = time;
      return;
    }
    REQUIRE(bits.count(word.substr(1)) == 1);
    const Bit& bit = bits.at(word.substr(1));
    now[bit.variable][bit.index] = word[0];
    series[bit.variable][last] = joined(now[bit.variable]);
  }

  static std::string joined(const std::map<unsigned, char>& bits_of_one) {
    unsigned long value = 0;
    for (const auto& [index, bit] : bits_of_one) {
      if (bit != '0' && bit != '1') return std::string(1, bit);
      value |= static_cast<unsigned long>(bit - '0') << index;
    }
    return std::to_string(value);
  }

  [[nodiscard]] std::string at(const std::string& variable, long microsecond) const {
    const auto& values = series.at(variable);
    const auto after = values.upper_bound(microsecond);
    return after == values.begin() ? "" : std::prev(after)->second;
  }
};

/// What a dump has to say of a moment.
using Facts = std::map<std::string, std::string>;

Facts facts_of(const model::Scenario& scenario, const model::World& world) {
  Facts facts;
  const model::Site& site = scenario.site;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<model::DeviceId>(i);
    const model::DeviceState& state = world.devices[i];
    const std::string name = site.name(device) + "_";
    facts[name + "power"] = std::to_string(state.powered);
    facts[name + "mode"] = state.mode == model::Mode::setup ? "1" : "0";
    facts[name + "indicator"] = std::to_string(static_cast<int>(state.indicator));
    if (site.is_plate(device)) {
      facts[name + "channel"] = std::to_string(world.plates[i].channel);
      facts[name + "zone"] = std::to_string(world.plates[i].zone);
      facts[name + "button_up"] = (state.contacts & model::only(up)) != 0 ? "1" : "0";
      continue;
    }
    const std::size_t module = site.module_index(device);
    facts[name + "channel"] = std::to_string(world.modules[module].memory.address.channel);
    facts[name + "site"] = std::to_string(world.modules[module].memory.address.site);
    facts[name + "power_up"] = std::to_string(static_cast<int>(world.modules[module].memory.power_up));
    facts[name + "button_local"] = (state.contacts & 1) != 0 ? "1" : "0";
    if (world.loads[module].arrival == sim::EventQueue::none) {
      facts[name + "level"] = std::to_string(world.loads[module].at(world.now));
    }
  }
  return facts;
}

struct Recorded {
  model::RunResult result;
  std::string text;
  std::map<long, Facts> facts;  ///< as the world stood at the end of each microsecond
};

Recorded recorded(const model::Scenario& scenario) {
  Recorded made;
  tools::VcdRecorder recorder{scenario};
  model::RunOptions options;
  options.after_event = [&](const model::World& world, const sim::Record& record) {
    recorder.observe(world, record);
    made.facts[world.now.time_since_epoch().count() / 1000] = facts_of(scenario, world);
  };
  made.result = model::run(scenario, options);
  made.text = recorder.finish(made.result.world);
  return made;
}

/// Addressing, fades, power cuts and two people who press at once.
model::Scenario busy_scenario() {
  model::Scenario scenario = small_scenario(3, 2);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.press("P1", up)
      .wait(2s)
      .hold("P1", down, 3s)
      .wait(300ms)
      .press("P1", up)
      .wait(350ms)
      .press("M1")
      .wait(1s);
  script.power("M2", false)
      .press("P1", up)
      .power("all", false)
      .wait(1s)
      .power("all", true)
      .switches("P1", 23, 9)
      .wait(5s);
  scenario.people.push_back({"mate", 0, {}});
  Script mate{scenario, 1};
  for (int i = 0; i < 8; ++i) mate.at(11s + 400ms * i).press("P2", up, 100ms);
  return scenario;
}

}  // namespace

TEST_SUITE("exports") {
  TEST_CASE("a value-change dump shows every device as the world had it after every event") {
    const model::Scenario scenario = busy_scenario();
    const Recorded made = recorded(scenario);
    const Dump dump{made.text};
    REQUIRE(made.facts.size() > 100);
    for (const auto& [microsecond, facts] : made.facts) {
      for (const auto& fact : facts) {
        const std::string at = fact.first + " at " + std::to_string(microsecond) + " us";
        CAPTURE(at);
        REQUIRE(dump.at(fact.first, microsecond) == fact.second);
      }
    }
    CHECK(dump.last == made.result.world.now.time_since_epoch().count() / 1000);
    CHECK(dump.scopes == std::vector<std::string>{"drybus", "hall", "P1", "P2", "M1", "M2", "M3", "bus"});
  }

  TEST_CASE("a value-change dump shows a fade on its way, and where it was stopped") {
    model::Scenario scenario = small_scenario(1);
    scenario.site.modules[0].memory.address = {23, 4, 1};
    // Full at power-up; lowered from 1 s after the press until the release: 2 s of the 4 s that the whole way
    // takes.
    Script{scenario}.at(1s).hold("P1", down, 3s).wait(3s);
    const Recorded made = recorded(scenario);
    const Dump dump{made.text};
    long previous = 1000;
    for (long ms = 2050; ms < 4000; ms += 20) {
      const long level = std::stol(dump.at("M1_level", ms * 1000));
      CHECK(level <= previous);
      // 1000 tenths of a percent in 4 s, seen at most one step late; the telegram takes about 7 ms.
      CHECK(level == doctest::Approx(1000.0 - (static_cast<double>(ms) - 2007.0) / 4.0).epsilon(0.02));
      previous = level;
    }
    const int stopped = made.result.world.loads[0].at(made.result.world.now);
    CHECK(stopped > 450);
    CHECK(stopped < 550);
    CHECK(dump.at("M1_level", 4'100'000) == std::to_string(stopped));
    CHECK(dump.at("M1_level", dump.last) == std::to_string(stopped));
  }

  TEST_CASE("the bus of a value-change dump is idle, carries a telegram, or carries several at once") {
    model::Scenario scenario = small_scenario(1, 2);
    scenario.site.family.bus.sense_delay = 1ms;
    sim::MediumSpec line = scenario.site.network.media[0];
    line.timing.sense_delay = 1ms;
    model::build_network(scenario.site, {line});
    Script{scenario}.at(1s).press("P1", off, 100ms).wait(2s);
    scenario.people.push_back({"mate", 0, {}});
    Script{scenario, 1}.at(1s).press("P2", off, 100ms);
    Script{scenario, 1}.at(2s).press("P2", accept, 100ms);
    const Recorded made = recorded(scenario);
    const Dump dump{made.text};
    CHECK(dump.at("bus_busy", 999'000) == "0");
    CHECK(dump.at("bus_telegram", 999'000) == "z");
    CHECK(dump.at("bus_busy", 1'003'000) == "1");
    CHECK(dump.at("bus_telegram", 1'003'000) == "x");
    CHECK(dump.at("bus_sender", 1'003'000) == "x");
    CHECK(dump.at("bus_telegram", 2'003'000) ==
          std::to_string(static_cast<int>(model::TelegramKind::recall)));
    CHECK(dump.at("bus_sender", 2'003'000) == "1");
    CHECK(dump.at("bus_busy", dump.last) == "0");
  }

  TEST_CASE("names become identifiers, each its own, and a title cannot end its comment") {
    CHECK(tools::vcd_identifier("Küche 1") == "K_che_1");
    CHECK(tools::vcd_identifier("2nd") == "_2nd");
    CHECK(tools::vcd_identifier("") == "_");
    model::Scenario scenario = small_scenario(3, 1);
    scenario.title = "five $end $var wire 1 ! boo $end\nand more";
    scenario.site.modules[0].name = "M-1";
    scenario.site.modules[1].name = "M 1";
    Script{scenario}.wait(1s);
    const Recorded made = recorded(scenario);
    const Dump dump{made.text};
    CHECK(dump.series.count("M_1_mode") == 1);
    CHECK(dump.series.count("M_1_mode_2") == 1);
    CHECK(dump.series.count("boo") == 0);
    CHECK(made.text.find("five _end _var") != std::string::npos);
  }

  TEST_CASE("a dump without any change still has its values and its end") {
    tools::VcdWriter writer{"test"};
    const auto lamp = writer.declare("lamp", 1);
    const auto number = writer.declare("number", 4);
    CHECK(writer.finish(sim::start_of_run + 2ms).find("#0\n$dumpvars\n") != std::string::npos);
    tools::VcdWriter other{"test"};
    other.declare("lamp", 1);
    other.declare("number", 4);
    other.set(sim::start_of_run, lamp, 1);
    other.set(sim::start_of_run, number, 9);
    other.set(sim::start_of_run + 1999ns, number, 3);
    other.set(sim::start_of_run + 1us, number, 5);
    const Dump dump{other.finish(sim::start_of_run + 5us)};
    CHECK(dump.at("number", 0) == "9");
    CHECK(dump.at("number", 1) == "5");
    CHECK(dump.at("lamp", 5) == "1");
    CHECK(dump.last == 5);
  }
}
