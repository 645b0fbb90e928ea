// Findings: for each a scenario that yields it, with the right devices, times and evidence, and a near miss
// that does not.
#include "model/findings/findings.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <regex>
#include <set>
#include <utility>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

using Ids = std::vector<FindingId>;

constexpr sim::Instant at(sim::Duration since_the_start) {
  return sim::start_of_run + since_the_start;
}

/// A run and its findings; whatever they are, each must be fit to be read by somebody.
struct Judged {
  explicit Judged(Scenario of_scenario) : scenario(std::move(of_scenario)), result(run(scenario)) {
    for (const Finding& finding : result.findings) examine(finding);
  }

  [[nodiscard]] Ids ids() const {
    Ids all;
    for (const Finding& finding : result.findings) all.push_back(finding.id);
    std::sort(all.begin(), all.end());
    return all;
  }

  /// The finding of that id; there must be one and no other.
  [[nodiscard]] const Finding& the(FindingId id) const {
    const auto is = [id](const Finding& finding) { return finding.id == id; };
    REQUIRE(std::count_if(result.findings.begin(), result.findings.end(), is) == 1);
    return *std::find_if(result.findings.begin(), result.findings.end(), is);
  }

  [[nodiscard]] bool has(FindingId id) const {
    const Ids all = ids();
    return std::find(all.begin(), all.end(), id) != all.end();
  }

  [[nodiscard]] std::vector<std::string> devices(FindingId id) const {
    std::vector<std::string> names;
    for (const DeviceId device : the(id).devices) names.push_back(scenario.site.name(device));
    return names;
  }

  /// The evidence as it is told, in order.
  [[nodiscard]] std::vector<std::string> evidence(FindingId id) const {
    std::vector<std::string> all;
    for (const sim::EntryId entry : the(id).evidence) all.push_back(describe(scenario, result.record[entry]));
    return all;
  }

  /// When an entry first happened, told as it is.
  [[nodiscard]] sim::Instant when(const std::string& text) const {
    for (const sim::Entry& entry : result.record.entries()) {
      if (describe(scenario, entry) == text) return entry.at;
    }
    FAIL("never happened: " << text);
    return {};
  }

  void examine(const Finding& finding) const {
    CAPTURE(finding.text);
    CAPTURE(finding.remedy);
    CHECK(std::regex_search(finding.text, std::regex{R"(\b\d+:\d\d(:\d\d)?\.\d\b)"}));
    for (const std::string& text : {finding.text, finding.remedy}) {
      CHECK_FALSE(text.empty());
      CHECK(text.ends_with("."));
      CHECK(text.find("  ") == std::string::npos);
      CHECK(text.find("..") == std::string::npos);
      CHECK(text.find("::") == std::string::npos);
      CHECK(text.find("the others") == std::string::npos);
      CHECK(std::isupper(static_cast<unsigned char>(text.front())) != 0);
    }
    CHECK_FALSE(finding.devices.empty());
    CHECK((!finding.until || *finding.until >= finding.at));
    const std::set<DeviceId> different{finding.devices.begin(), finding.devices.end()};
    CHECK(different.size() == finding.devices.size());
    sim::Instant before{};
    for (const sim::EntryId entry : finding.evidence) {
      REQUIRE(entry != sim::no_entry);
      REQUIRE(entry <= result.record.size());
      CHECK(result.record[entry].at >= before);
      before = result.record[entry].at;
    }
  }

  Scenario scenario;
  RunResult result;
};

/// M1 ... already hold their intended addresses and come up dark.
Scenario addressed_scenario(std::size_t modules = 3, std::size_t plates = 1) {
  Scenario scenario = small_scenario(modules, plates);
  for (ModuleSpec& module : scenario.site.modules) {
    module.memory.address = *module.intended;
    module.memory.power_up = PowerUp::off;
  }
  return scenario;
}

Fault link_fault(const Scenario& scenario, FaultKind kind, const std::string& link) {
  Fault fault;
  fault.kind = kind;
  fault.link = scenario.site.find_link(link).value();
  return fault;
}

Fault button_fault(const Scenario& scenario, FaultKind kind, const std::string& device, Button button) {
  Fault fault;
  fault.kind = kind;
  fault.device = scenario.site.find_device(device).value();
  fault.button = button;
  return fault;
}

Fault deaf(const Scenario& scenario, const std::string& device, std::uint16_t telegrams) {
  Fault fault;
  fault.kind = FaultKind::deaf;
  fault.device = scenario.site.find_device(device).value();
  fault.count = telegrams;
  return fault;
}

bool carries_caution(const Finding& finding) {
  return finding.remedy.find(safety_caution) != std::string::npos;
}

bool mentions(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_SUITE("findings") {
  TEST_CASE("every id has a name, and every name is an id") {
    std::set<std::string_view> names;
    for (std::size_t i = 0; i < finding_count; ++i) {
      const auto id = static_cast<FindingId>(i);
      names.insert(to_string(id));
      CHECK(parse_finding(to_string(id)) == id);
    }
    CHECK(names.size() == 25);
    CHECK_FALSE(parse_finding("").has_value());
    CHECK_FALSE(parse_finding("setup_split").has_value());
  }

  TEST_CASE("a correct install of twelve modules yields no finding") {
    Scenario scenario = small_scenario(12);
    Script script{scenario};
    for (int channel = 1; channel <= 12; ++channel)
      address(script, "P1", "M" + std::to_string(channel), channel);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{});
    for (std::size_t i = 0; i < 12; ++i) {
      CHECK(judged.result.world.modules[i].memory.address == scenario.site.modules[i].intended);
    }
  }

  TEST_CASE("a correct install in one stay in setup yields no finding, either") {
    Scenario scenario = small_scenario(5);
    Script script{scenario};
    script.hold("P1", set, 3s);
    for (int channel = 1; channel <= 5; ++channel) {
      script.hold("M" + std::to_string(channel), 0, 4s).press("P1", up).press("P1", accept);
    }
    script.press("P1", one);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- setup-split ---

  TEST_CASE("setup-split: the plate's setup timed out, the module's goes on") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).wait(150s).hold("M1", 0, 4s).wait(100s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split});
    CHECK(judged.devices(FindingId::setup_split) == std::vector<std::string>{"P1", "M1"});
    CHECK(judged.the(FindingId::setup_split).at == at(2500ms + 240s));
    CHECK_FALSE(judged.the(FindingId::setup_split).until.has_value());
    CHECK(judged.evidence(FindingId::setup_split) ==
          std::vector<std::string>{"P1 entered setup: its button was held long enough",
                                   "M1 entered setup: its button was held long enough",
                                   "P1 left setup: its time-out ran out"});
    CHECK(mentions(judged.the(FindingId::setup_split).text, "P1 is out of setup while M1 is still in it"));
    CHECK(
        mentions(judged.the(FindingId::setup_split).text, "time-out is 240 s, counted from the last press"));
  }

  TEST_CASE("setup-split: the module's setup timed out, the plate's goes on") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).wait(100s).press("P1", up).wait(90s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split});
    CHECK(judged.devices(FindingId::setup_split) == std::vector<std::string>{"M1", "P1"});
    CHECK(judged.the(FindingId::setup_split).at == at(6800ms + 150s));
    CHECK(mentions(judged.the(FindingId::setup_split).text, "time-out is 150 s, counted from entry"));
  }

  TEST_CASE("setup-split closes when the other side's setup ends, too, or the first one's begins again") {
    Scenario scenario = addressed_scenario(1);
    SUBCASE("it ends") {
      Script{scenario}.hold("P1", set, 3s).wait(150s).hold("M1", 0, 4s).wait(100s).press("M1").wait(10s);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::setup_split).until == judged.when("M1 left setup: its button was pressed"));
      CHECK(
          mentions(judged.the(FindingId::setup_split).text, "P1 was out of setup while M1 was still in it"));
    }
    SUBCASE("it begins again") {
      Script{scenario}.hold("P1", set, 3s).wait(150s).hold("M1", 0, 4s).wait(100s).hold("P1", set, 3s);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::setup_split).until > at(250s));
      CHECK(judged.ids() == Ids{FindingId::setup_split});
    }
  }

  TEST_CASE("setup-split: one plate that left three modules behind is one finding") {
    Scenario scenario = addressed_scenario(3);
    Script{scenario}
        .hold("P1", set, 3s)
        .wait(150s)
        .hold("M1", 0, 4s)
        .hold("M2", 0, 4s)
        .hold("M3", 0, 4s)
        .wait(100s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split});
    CHECK(judged.devices(FindingId::setup_split) == std::vector<std::string>{"P1", "M1", "M2", "M3"});
    CHECK(judged.the(FindingId::setup_split).evidence.size() == 5);
    CHECK(mentions(judged.the(FindingId::setup_split).text,
                   "P1 is out of setup while M1, M2 and M3 are still in it"));
  }

  TEST_CASE("setup-split: power that goes on one side splits them") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).power("M1", false).wait(10s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split});
    CHECK(judged.devices(FindingId::setup_split) == std::vector<std::string>{"M1", "P1"});
    CHECK(mentions(judged.the(FindingId::setup_split).text, "M1 left setup: its power went"));
    CHECK_FALSE(mentions(judged.the(FindingId::setup_split).text, "time-out"));
  }

  TEST_CASE("no setup-split: power cut for all and restored leaves nobody behind, then or later") {
    Scenario scenario = addressed_scenario(2);
    Script{scenario}
        .hold("P1", set, 3s)
        .hold("M2", 0, 4s)
        .power("all", false)
        .power("all", true)
        .hold("P1", set, 3s)
        .wait(10s);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("no setup-split: a plate that times out with nobody in setup") {
    Scenario scenario = addressed_scenario(2);
    SUBCASE("nobody ever was") {
      Script{scenario}.hold("P1", set, 3s).wait(300s);
    }
    SUBCASE("everybody has taken an address") {
      Script script{scenario};
      script.hold("P1", set, 3s).hold("M1", 0, 4s).press("P1", up).press("P1", accept).wait(300s);
    }
    SUBCASE("the module was taken out by its button") {
      Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).press("M1").wait(300s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("setup-split: a press ended the plate's setup while a module waits") {
    Scenario scenario = addressed_scenario(2);
    std::string by = "press P1 one at 0:07.6";
    SUBCASE("the installer's") {
      Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).press("P1", one).wait(10s);
    }
    SUBCASE("somebody else's") {
      Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).wait(20s);
      scenario.people.push_back({"visitor", 0, {}});
      Script{scenario, 1}.at(12s).press("P1", one);
      by = "visitor: press P1 one at 0:12.0";
    }
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split});
    CHECK(judged.devices(FindingId::setup_split) == std::vector<std::string>{"P1", "M1"});
    const std::string& text = judged.the(FindingId::setup_split).text;
    CHECK(mentions(text, "P1 is out of setup while M1 is still in it"));
    CHECK(mentions(text, "P1 left setup: its button was pressed (" + by + ")"));
    CHECK_FALSE(mentions(text, "time-out"));
  }

  TEST_CASE("no setup-split: the plate was taken out of setup before the module was put in") {
    Scenario scenario = addressed_scenario(2);
    Script{scenario}.hold("P1", set, 3s).press("P1", one).hold("M1", 0, 4s).wait(10s);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("setup-split: of a plate that had given up before, once somebody goes on at it") {
    Scenario scenario = addressed_scenario(2);
    Script{scenario}.hold("P1", set, 3s).wait(260s).hold("M1", 0, 4s);
    SUBCASE("nobody does") {
      Script{scenario}.wait(10s);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
    SUBCASE("it is put in setup again") {
      Script{scenario}.hold("P1", set, 3s);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
    SUBCASE("it is pressed as if it were in setup") {
      Script{scenario}.press("P1", accept).wait(1s);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::setup_split, FindingId::press_misread});
      CHECK(judged.the(FindingId::setup_split).at == judged.the(FindingId::press_misread).at);
    }
  }

  TEST_CASE("setup-split: of a module that had given up before, once somebody offers it an address") {
    Scenario scenario = addressed_scenario(2);
    Script script{scenario};
    script.hold("M1", 0, 4s).wait(200s).hold("P1", set, 3s).press("P1", up);
    SUBCASE("nobody does") {
      script.wait(10s);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
    SUBCASE("the offer finds another") {
      script.hold("M2", 0, 4s).press("P1", up).press("P1", accept).wait(1s);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
    SUBCASE("the offer finds nobody") {
      script.press("P1", accept).wait(1s);
      CHECK(Judged{scenario}.ids() == Ids{FindingId::setup_split, FindingId::assign_unheard});
    }
  }

  // --- assign-unheard ---

  TEST_CASE("assign-unheard: the module had timed out") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}
        .hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .wait(100s)
        .press("P1", up)
        .wait(90s)
        .press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::setup_split, FindingId::assign_unheard});
    CHECK(judged.devices(FindingId::assign_unheard) == std::vector<std::string>{"P1", "M1"});
    CHECK(judged.the(FindingId::assign_unheard).at == judged.when("P1 sent \"assign 23/4/1\""));
    CHECK(judged.evidence(FindingId::assign_unheard).back() == "P1 sent \"assign 23/4/1\"");
    const std::string& text = judged.the(FindingId::assign_unheard).text;
    CHECK(mentions(text, "P1 offered 23/4/1 at "));
    CHECK(mentions(text, "M1 was in normal mode. At 2:36.8 M1 left setup: its time-out ran out"));
    CHECK(mentions(judged.the(FindingId::assign_unheard).remedy, "hold M1 local for 3.5 s"));
  }

  TEST_CASE("assign-unheard: no module was ever in setup") {
    Scenario scenario = addressed_scenario(2);
    Script{scenario}.hold("P1", set, 3s).press("P1", up).press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard});
    CHECK(judged.devices(FindingId::assign_unheard) == std::vector<std::string>{"P1"});
    CHECK(mentions(judged.the(FindingId::assign_unheard).text, "No module was in setup."));
  }

  TEST_CASE("assign-unheard: the one that was in setup has its address already") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .press("P1", up)
        .press("P1", accept)
        .press("P1", up)
        .press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard});
    CHECK(mentions(judged.the(FindingId::assign_unheard).text, "P1 offered 23/4/2"));
    CHECK(mentions(judged.the(FindingId::assign_unheard).text, "M1 was in normal mode."));
    CHECK(mentions(judged.the(FindingId::assign_unheard).text, "M1 left setup: it took an address"));
    CHECK(mentions(judged.the(FindingId::assign_unheard).remedy, "Put the module in setup first"));
    CHECK_FALSE(mentions(judged.the(FindingId::assign_unheard).text, "had been"));
  }

  TEST_CASE("assign-unheard: the module missed the telegram and still waits") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .press("P1", up)
        .fault(deaf(scenario, "M1", 1))
        .press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard, FindingId::telegram_lost});
    const Finding& finding = judged.the(FindingId::assign_unheard);
    CHECK(judged.devices(FindingId::assign_unheard) == std::vector<std::string>{"P1", "M1"});
    CHECK(mentions(finding.text, "M1 missed \"assign 23/4/1\" from P1: noise spoilt it"));
    CHECK_FALSE(mentions(finding.text, "normal mode"));
    CHECK_FALSE(mentions(finding.remedy, "Hold M1"));  // it blinks: a press would take it out
    CHECK_FALSE(carries_caution(finding));
  }

  TEST_CASE("assign-unheard: there was no way to the module; the remedy looks at the wiring, with caution") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .press("P1", up)
        .fault(link_fault(scenario, FaultKind::open, "P1-M1"))
        .press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard, FindingId::out_of_reach});
    CHECK(mentions(judged.the(FindingId::assign_unheard).text, "there was no way from one to the other"));
    CHECK(mentions(judged.the(FindingId::assign_unheard).remedy, "Check the bus from P1 to M1."));
    CHECK(carries_caution(judged.the(FindingId::assign_unheard)));
  }

  TEST_CASE("assign-unheard: an offer that never got onto the bus blames no module") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.family.bus.attempts = 1;
    sim::MediumSpec line = scenario.site.network.media[0];
    line.timing = scenario.site.family.bus;
    build_network(scenario.site, {line});
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).press("P1", up).at(20s).press("P1", accept);
    Script{scenario, 1}.at(19996ms).press("P2", off);  // a frame takes 7.3 ms: the bus is busy
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard, FindingId::telegram_lost});
    const std::string& text = judged.the(FindingId::assign_unheard).text;
    CHECK(mentions(text, "could not send it"));
    CHECK_FALSE(mentions(text, "M1"));
    CHECK(mentions(judged.the(FindingId::telegram_lost).text, "P1 gave up sending \"assign 23/4/1\""));
  }

  TEST_CASE("assign-unheard: the same offer pressed again is the same finding, until the last press of it") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).press("P1", up).press("P1", accept).wait(5s).press("P1", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::assign_unheard});
    CHECK(*judged.the(FindingId::assign_unheard).until > judged.the(FindingId::assign_unheard).at + 5s);
    CHECK(mentions(judged.the(FindingId::assign_unheard).text,
                   "It offered the same again, the last time at 0:09.3."));
  }

  TEST_CASE("no assign-unheard: somebody took it, be it from the neighbour") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.plates[1].neighbour = true;
    scenario.site.plates[1].site = 7;
    SUBCASE("ours offered") {
      Script{scenario}.hold("P1", set, 3s).hold("M1", 0, 4s).press("P1", up).press("P1", accept);
    }
    SUBCASE("the neighbour offered, and nobody of ours was concerned") {
      Script{scenario}.hold("P2", set, 3s).press("P2", up).press("P2", accept).press("P2", one);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- press-misread ---

  TEST_CASE("press-misread: meant for setup, but the device had timed out") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).wait(260s).press("P1", up);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::press_misread});
    const Finding& finding = judged.the(FindingId::press_misread);
    CHECK(judged.devices(FindingId::press_misread) == std::vector<std::string>{"P1"});
    CHECK(finding.at == at(263300ms));
    CHECK(mentions(finding.text,
                   "P1 up was pressed at 4:23.3 as if P1 were in setup, but it was in normal mode."));
    CHECK(mentions(finding.text, "At 4:02.5 P1 left setup: its time-out ran out"));
    CHECK(mentions(finding.remedy, "Hold P1 set for 2.5 s to enter setup again."));
  }

  TEST_CASE("press-misread: held too briefly, so that it never entered setup") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 2s).press("P1", up);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::press_misread});
    CHECK(mentions(judged.the(FindingId::press_misread).text, "It had never entered setup."));
    CHECK_FALSE(mentions(judged.the(FindingId::press_misread).remedy, "again"));
  }

  TEST_CASE("press-misread: meant for normal mode, but the device was still in setup") {
    Scenario scenario = addressed_scenario(2);
    Script script{scenario};
    // Two modules in setup, one assign lost to one of them: the installer takes both for done.
    script.hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .press("P1", up)
        .fault(deaf(scenario, "M1", 1))
        .press("P1", accept);
    script.press("M1");
    const Judged judged{scenario};
    CHECK(judged.has(FindingId::press_misread));
    const Finding& finding = judged.the(FindingId::press_misread);
    CHECK(judged.devices(FindingId::press_misread) == std::vector<std::string>{"M1"});
    CHECK(mentions(finding.text, "as if M1 were in normal mode, but it was in setup."));
    CHECK(mentions(finding.text, "M1 entered setup: its button was held long enough"));
  }

  TEST_CASE("no press-misread: who looks first is not misled") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.hold("P1", set, 3s).wait(260s).look("P1", Fact::indicator, "dark").press("P1", up);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- two-plates-in-setup ---

  TEST_CASE("two-plates-in-setup: from the second one's entry until one of them leaves") {
    Scenario scenario = addressed_scenario(1, 2);
    Script{scenario}.hold("P1", set, 3s).hold("P2", set, 3s).wait(5s).press("P1", one).wait(5s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::two_plates_in_setup});
    CHECK(judged.devices(FindingId::two_plates_in_setup) == std::vector<std::string>{"P1", "P2"});
    CHECK(judged.the(FindingId::two_plates_in_setup).at == at(3300ms + 2500ms));
    CHECK(judged.the(FindingId::two_plates_in_setup).until ==
          judged.when("P1 left setup: its button was pressed"));
    CHECK(mentions(judged.the(FindingId::two_plates_in_setup).remedy, "Take P2 out of setup"));
  }

  TEST_CASE("two-plates-in-setup: three of them are one finding") {
    Scenario scenario = addressed_scenario(1, 3);
    Script{scenario}.hold("P1", set, 3s).hold("P2", set, 3s).hold("P3", set, 3s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::two_plates_in_setup});
    CHECK(judged.devices(FindingId::two_plates_in_setup) == std::vector<std::string>{"P1", "P2", "P3"});
  }

  TEST_CASE(
      "two-plates-in-setup: two that reach each other count, though a third that reaches neither came "
      "first") {
    Scenario scenario = addressed_scenario(1, 3);
    Script script{scenario};
    script.fault(link_fault(scenario, FaultKind::open, "P1-P2"));
    script.hold("P1", set, 3s).hold("P2", set, 3s).hold("P3", set, 3s);
    const Judged judged{scenario};
    CHECK(judged.devices(FindingId::two_plates_in_setup) == std::vector<std::string>{"P2", "P3"});
  }

  TEST_CASE("two-plates-in-setup: a neighbour's plate counts, and it is the neighbour who is asked") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.plates[1].neighbour = true;
    scenario.site.plates[1].site = 7;
    Script{scenario}.hold("P1", set, 3s).hold("P2", set, 3s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::two_plates_in_setup});
    CHECK(mentions(judged.the(FindingId::two_plates_in_setup).remedy,
                   "Wait until the neighbour's P2 is out of setup"));
  }

  TEST_CASE(
      "no two-plates-in-setup: one after the other, out of each other's reach, or both the neighbour's") {
    Scenario scenario = addressed_scenario(1, 2);
    Script script{scenario};
    SUBCASE("one after the other") {
      script.hold("P1", set, 3s).press("P1", one).hold("P2", set, 3s);
    }
    SUBCASE("out of reach") {
      script.fault(link_fault(scenario, FaultKind::open, "P1-P2")).hold("P1", set, 3s).hold("P2", set, 3s);
    }
    SUBCASE("both the neighbour's") {
      for (PlateSpec& plate : scenario.site.plates) plate.neighbour = true;
      for (PlateSpec& plate : scenario.site.plates) plate.site = 7;
      script.hold("P1", set, 3s).hold("P2", set, 3s);
    }
    CHECK_FALSE(Judged{scenario}.has(FindingId::two_plates_in_setup));
  }

  // --- addresses ---

  TEST_CASE("shared-address: two modules at one address, until one gets its own") {
    Scenario scenario = small_scenario(2);
    for (ModuleSpec& module : scenario.site.modules) module.intended.reset();
    Script script{scenario};
    address(script, "P1", "M1", 1);
    address(script, "P1", "M2", 1);
    SUBCASE("it goes on") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::shared_address});
      CHECK(judged.devices(FindingId::shared_address) == std::vector<std::string>{"M1", "M2"});
      CHECK(judged.the(FindingId::shared_address).at == judged.when("M2 stored 23/4/1"));
      CHECK_FALSE(judged.the(FindingId::shared_address).until.has_value());
      CHECK(judged.evidence(FindingId::shared_address) ==
            std::vector<std::string>{"M1 stored 23/4/1", "M2 stored 23/4/1"});
      CHECK(mentions(judged.the(FindingId::shared_address).text, "M1 and M2 hold the same address 23/4/1"));
    }
    SUBCASE("it is mended") {
      address(script, "P1", "M2", 2);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::shared_address});
      CHECK(judged.the(FindingId::shared_address).until == judged.when("M2 stored 23/4/2"));
      CHECK(mentions(judged.the(FindingId::shared_address).text, "M1 and M2 held the same address 23/4/1"));
    }
    SUBCASE("a third joins them") {
      scenario = small_scenario(3);
      for (ModuleSpec& module : scenario.site.modules) module.intended.reset();
      Script again{scenario};
      for (const char* module : {"M1", "M2", "M3"}) address(again, "P1", module, 1);
      CHECK(Judged{scenario}.devices(FindingId::shared_address) ==
            std::vector<std::string>{"M1", "M2", "M3"});
    }
  }

  TEST_CASE("no shared-address: other channels, or two modules of the neighbour's") {
    SUBCASE("other channels") {
      Scenario scenario = small_scenario(2);
      Script script{scenario};
      address(script, "P1", "M1", 1);
      address(script, "P1", "M2", 2);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
    SUBCASE("the neighbour's") {
      Scenario scenario = addressed_scenario(2);
      for (ModuleSpec& module : scenario.site.modules) {
        module.neighbour = true;
        module.memory.address = {7, 1, 1};
      }
      CHECK(Judged{scenario}.ids() == Ids{});
    }
  }

  TEST_CASE("wrong-address: what was stored is not what was intended, until it is") {
    Scenario scenario = small_scenario(1);
    Script script{scenario};
    address(script, "P1", "M1", 2);
    SUBCASE("it goes on") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::wrong_address});
      CHECK(judged.devices(FindingId::wrong_address) == std::vector<std::string>{"M1"});
      CHECK(judged.the(FindingId::wrong_address).at == judged.when("M1 stored 23/4/2"));
      CHECK(judged.evidence(FindingId::wrong_address) == std::vector<std::string>{"M1 stored 23/4/2"});
      CHECK(mentions(judged.the(FindingId::wrong_address).text, "M1 holds 23/4/2, but 23/4/1 was intended."));
      CHECK(mentions(judged.the(FindingId::wrong_address).text, "(press P1 accept at "));
      CHECK(mentions(
          judged.the(FindingId::wrong_address).remedy,
          "hold P1 set for 2.5 s, step it to channel 1, hold M1 local for 3.5 s, then press P1 accept."));
    }
    SUBCASE("it is mended, and told as it was") {
      address(script, "P1", "M1", 1);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::wrong_address});
      CHECK(judged.the(FindingId::wrong_address).until == judged.when("M1 stored 23/4/1"));
      CHECK(mentions(judged.the(FindingId::wrong_address).text, "M1 held 23/4/2, but 23/4/1 was intended."));
    }
    SUBCASE("another wrong one is another finding") {
      address(script, "P1", "M1", 3);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::wrong_address, FindingId::wrong_address});
      CHECK(mentions(judged.result.findings[0].text, "M1 held 23/4/2"));
      CHECK(mentions(judged.result.findings[1].text, "M1 holds 23/4/3"));
      CHECK(judged.result.findings[0].until == judged.result.findings[1].at);
    }
    SUBCASE("it is lost again") {
      script.power("M1", false).power("M1", true);
      CHECK(Judged{scenario}.ids() == Ids{FindingId::wrong_address});  // memory is kept
    }
  }

  TEST_CASE("wrong-address: from the very beginning") {
    Scenario scenario = addressed_scenario(1);
    scenario.site.modules[0].memory.address = {23, 4, 9};
    Script{scenario}.wait(1s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::wrong_address});
    CHECK(judged.the(FindingId::wrong_address).at == sim::start_of_run);
    CHECK(mentions(judged.the(FindingId::wrong_address).text, "It has been so from 0:00.0 on."));
  }

  TEST_CASE("no wrong-address: nothing was intended") {
    Scenario scenario = addressed_scenario(1);
    scenario.site.modules[0].memory.address = {23, 4, 9};
    scenario.site.modules[0].intended.reset();
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("unaddressed: an address was intended and none is stored") {
    Scenario scenario = small_scenario(1);
    SUBCASE("nobody tried") {
      Script{scenario}.wait(42s);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::unaddressed});
      CHECK(judged.devices(FindingId::unaddressed) == std::vector<std::string>{"M1"});
      CHECK(judged.the(FindingId::unaddressed).at == sim::start_of_run);
      CHECK(mentions(judged.the(FindingId::unaddressed).text, "By 0:42.0 nobody had put it in setup."));
    }
    SUBCASE("it was in setup and out again") {
      Script{scenario}.hold("M1", 0, 4s).wait(200s);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::unaddressed});
      CHECK(judged.evidence(FindingId::unaddressed) ==
            std::vector<std::string>{"M1 entered setup: its button was held long enough",
                                     "M1 left setup: its time-out ran out"});
    }
  }

  TEST_CASE("no unaddressed: none was intended, or it is the neighbour's") {
    Scenario scenario = small_scenario(2);
    scenario.site.modules[0].intended.reset();
    scenario.site.modules[1].neighbour = true;
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("orphan-address: no plate has the site and zone that a module holds") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.wait(1s).switches("P1", 23, 5).wait(10s);
    SUBCASE("it goes on") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::orphan_address});
      CHECK(judged.devices(FindingId::orphan_address) == std::vector<std::string>{"M1"});
      CHECK(judged.the(FindingId::orphan_address).at == at(1s));
      CHECK(judged.evidence(FindingId::orphan_address) ==
            std::vector<std::string>{"P1's switches were set to site 23, zone 5"});
      CHECK(mentions(judged.the(FindingId::orphan_address).text,
                     "M1 holds 23/4/1, but no plate here has that site and zone"));
      CHECK(carries_caution(judged.the(FindingId::orphan_address)));
    }
    SUBCASE("it is mended") {
      script.switches("P1", 23, 4);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::orphan_address).until.has_value());
      CHECK(mentions(judged.the(FindingId::orphan_address).text,
                     "M1 held 23/4/1, but no plate here had that site and zone"));
    }
    SUBCASE("a neighbour's plate is no help") {
      scenario = addressed_scenario(1, 2);
      scenario.site.plates[0].neighbour = true;
      scenario.site.plates[0].zone = 9;
      scenario.site.modules[0].memory.address = {23, 9, 1};
      scenario.site.modules[0].intended.reset();
      CHECK(Judged{scenario}.has(FindingId::orphan_address));
    }
  }

  TEST_CASE("no orphan-address: another plate has the site and zone") {
    Scenario scenario = addressed_scenario(1, 2);
    Script{scenario}.switches("P2", 23, 4).switches("P1", 23, 5);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- sites and zones ---

  TEST_CASE("site-overlap: a neighbour within reach has our site number") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.plates[1].neighbour = true;
    Script script{scenario};
    SUBCASE("from the beginning") {
      script.wait(10s);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::site_overlap});
      CHECK(judged.devices(FindingId::site_overlap) == std::vector<std::string>{"P2", "P1"});
      CHECK(judged.the(FindingId::site_overlap).at == sim::start_of_run);
      CHECK(mentions(judged.the(FindingId::site_overlap).text, "has our site number 23"));
      CHECK(mentions(judged.the(FindingId::site_overlap).text, "from 0:00.0 on"));
      CHECK(carries_caution(judged.the(FindingId::site_overlap)));
    }
    SUBCASE("since the neighbour set it, until it is set otherwise; told by the number that it was") {
      scenario.site.plates[1].site = 7;
      script.wait(10s).switches("P2", 23, 1).wait(10s).switches("P2", 8, 1);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::site_overlap).at == at(10s));
      CHECK(judged.the(FindingId::site_overlap).until == at(20300ms));
      CHECK(mentions(judged.the(FindingId::site_overlap).text, "had our site number 23"));
      CHECK(mentions(judged.the(FindingId::site_overlap).text, "P2's switches were set to site 23, zone 1"));
    }
  }

  TEST_CASE("no site-overlap: another number, or out of reach") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.plates[1].neighbour = true;
    Script script{scenario};
    SUBCASE("another number") {
      scenario.site.plates[1].site = 24;
    }
    SUBCASE("out of reach") {
      std::vector<sim::MediumSpec> lines(2, {sim::MediumKind::line, scenario.site.family.bus, {}, {}});
      lines[0].nodes = {0, 2};
      lines[0].links = {{0, 2}};
      lines[1].nodes = {1};
      build_network(scenario.site, lines);
    }
    script.wait(10s);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE(
      "factory-site: a plate in setup with the factory's site number, until it leaves or is set otherwise") {
    Scenario scenario = addressed_scenario(1);
    scenario.site.modules[0].intended.reset();
    scenario.site.modules[0].memory = factory_memory(scenario.site.family.module);
    Script{scenario}.switches("P1", 50, 4).hold("P1", set, 3s).wait(5s).press("P1", one).wait(5s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::factory_site});
    CHECK(judged.devices(FindingId::factory_site) == std::vector<std::string>{"P1"});
    CHECK(judged.the(FindingId::factory_site).at == at(2800ms));
    CHECK(judged.the(FindingId::factory_site).until == judged.when("P1 left setup: its button was pressed"));
    CHECK(judged.evidence(FindingId::factory_site) ==
          std::vector<std::string>{"P1's switches were set to site 50, zone 4",
                                   "P1 entered setup: its button was held long enough"});
    CHECK(carries_caution(judged.the(FindingId::factory_site)));
  }

  TEST_CASE("no factory-site: a plate with that number that is not in setup, or a number more") {
    Scenario scenario = small_scenario(1);
    scenario.site.modules[0].intended.reset();
    SUBCASE("not in setup") {
      scenario.site.plates[0].site = 50;
    }
    SUBCASE("a number more") {
      scenario.site.plates[0].site = 51;
      Script{scenario}.hold("P1", set, 3s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("zone-zero: a plate in setup with its zone switches at 0") {
    Scenario scenario = small_scenario(1);
    scenario.site.modules[0].intended.reset();
    scenario.site.plates[0].zone = 0;
    Script script{scenario};
    script.hold("P1", set, 3s).hold("M1", 0, 4s).press("P1", up).press("P1", accept);
    SUBCASE("it goes on: nothing is offered, so nothing is unheard") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::zone_zero});
      CHECK(judged.devices(FindingId::zone_zero) == std::vector<std::string>{"P1"});
      CHECK(judged.the(FindingId::zone_zero).at == at(2500ms));
      CHECK(carries_caution(judged.the(FindingId::zone_zero)));
    }
    SUBCASE("it is mended") {
      script.switches("P1", 23, 1).press("P1", accept).press("P1", one);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::zone_zero});
      CHECK(judged.the(FindingId::zone_zero).until ==
            judged.when("P1's switches were set to site 23, zone 1"));
      CHECK(judged.result.world.modules[0].memory.address == Address{23, 1, 1});
    }
  }

  TEST_CASE("no zone-zero: a plate with its zone at 0 that is not in setup") {
    Scenario scenario = small_scenario(1);
    scenario.site.modules[0].intended.reset();
    scenario.site.plates[0].zone = 0;
    Script{scenario}.press("P1", up);
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- the medium ---

  TEST_CASE("out-of-reach: an open link, until it is mended") {
    Scenario scenario = addressed_scenario(3);
    Script script{scenario};
    script.wait(1s).fault(link_fault(scenario, FaultKind::open, "M1-M2")).wait(1s).press("P1", off);
    SUBCASE("it goes on: one finding with all that are cut off") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::out_of_reach});
      CHECK(judged.devices(FindingId::out_of_reach) == std::vector<std::string>{"P1", "M2", "M3"});
      CHECK(judged.the(FindingId::out_of_reach).at ==
            judged.when("M2 missed \"off 23/4\" from P1: there was no way from one to the other"));
      CHECK_FALSE(judged.the(FindingId::out_of_reach).until.has_value());
      CHECK(mentions(judged.the(FindingId::out_of_reach).text, "P1 cannot reach M2 and M3"));
      CHECK(mentions(judged.the(FindingId::out_of_reach).text, "Link M1-M2 was open from 0:01.0 on"));
      CHECK(carries_caution(judged.the(FindingId::out_of_reach)));
    }
    SUBCASE("it is mended, and another link breaks later: only the first is to blame") {
      script.wait(1s).fault(link_fault(scenario, FaultKind::mend, "M1-M2"));
      script.wait(1s).fault(link_fault(scenario, FaultKind::open, "P1-M1"));
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::out_of_reach});
      CHECK(judged.the(FindingId::out_of_reach).until == judged.when("link M1-M2 is sound"));
      CHECK(mentions(judged.the(FindingId::out_of_reach).text, "P1 could not reach M2 and M3"));
      CHECK(mentions(judged.the(FindingId::out_of_reach).text, "Link M1-M2 was open from 0:01.0 on"));
      CHECK_FALSE(mentions(judged.the(FindingId::out_of_reach).text, "P1-M1"));
    }
    SUBCASE("a short takes everybody on the wire") {
      scenario = addressed_scenario(2);
      Script again{scenario};
      again.fault(link_fault(scenario, FaultKind::shorted, "M1-M2")).press("P1", off);
      const Judged judged{scenario};
      CHECK(judged.devices(FindingId::out_of_reach) == std::vector<std::string>{"P1", "M1", "M2"});
      CHECK(mentions(judged.the(FindingId::out_of_reach).text, "Link M1-M2 was shorted from 0:00.0 on"));
    }
  }

  TEST_CASE("no out-of-reach: it has no power, it belongs to another plate, or nothing was sent") {
    Scenario scenario = addressed_scenario(2, 2);
    Script script{scenario};
    SUBCASE("no power") {
      script.power("M2", false).press("P1", off);
    }
    SUBCASE("another plate's zone") {
      script.fault(link_fault(scenario, FaultKind::open, "P1-P2")).press("P1", one, 100ms);
      for (ModuleSpec& module : scenario.site.modules) {
        module.memory.address.zone = 5;
        module.intended->zone = 5;
      }
    }
    SUBCASE("nothing sent") {
      script.fault(link_fault(scenario, FaultKind::open, "M1-M2")).wait(10s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("telegram-lost: to whom and why, all who missed one telegram in one finding") {
    Scenario scenario = addressed_scenario(3);
    Script script{scenario};
    script.fault(deaf(scenario, "M1", 1)).fault(deaf(scenario, "M3", 1)).press("P1", off);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::telegram_lost});
    const Finding& finding = judged.the(FindingId::telegram_lost);
    CHECK(judged.devices(FindingId::telegram_lost) == std::vector<std::string>{"P1", "M1", "M3"});
    CHECK(finding.at == judged.when("P1 sent \"off 23/4\""));
    CHECK(finding.until == finding.at);
    CHECK(mentions(finding.text, "M1 missed \"off 23/4\" from P1: noise spoilt it"));
    CHECK(mentions(finding.text, "M3 missed"));
    CHECK_FALSE(mentions(finding.text, "M2 missed"));
  }

  TEST_CASE("telegram-lost: two that collide are two findings") {
    Scenario scenario = addressed_scenario(1, 2);
    scenario.site.plates[1].zone = 4;
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario}.at(10s).press("P1", off);
    Script{scenario, 1}.at(10s).press("P2", accept);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::telegram_lost, FindingId::telegram_lost});
    for (const Finding& finding : judged.result.findings)
      CHECK(mentions(finding.text, "it collided with another telegram"));
  }

  TEST_CASE("telegram-lost: power that goes in the middle of a telegram") {
    Scenario scenario = addressed_scenario(1);
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario}.at(10s).press("P1", off);
    Script{scenario, 1}.at(10003ms).power("P1", false);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::telegram_lost});
    CHECK(judged.devices(FindingId::telegram_lost) == std::vector<std::string>{"P1"});
    CHECK(mentions(judged.the(FindingId::telegram_lost).text,
                   "P1 could not finish \"off 23/4\": its power went"));
  }

  TEST_CASE("no telegram-lost: nobody would have done anything on hearing it") {
    Scenario scenario = addressed_scenario(2, 2);
    Script script{scenario};
    SUBCASE("another zone's module") {
      script.fault(deaf(scenario, "M1", 1)).press("P2", off);
    }
    SUBCASE("a beacon") {
      script.hold("P1", set, 3s).fault(deaf(scenario, "M1", 1)).wait(7s).press("P1", one);
    }
    SUBCASE("a beacon that the sender's power cuts short") {
      scenario.people.push_back({"colleague", 0, {}});
      script.hold("P1", set, 3s);
      Script{scenario, 1}.at(2503ms).power("P1", false);
    }
    SUBCASE("a neighbour's telegram") {
      scenario.site.plates[1].neighbour = true;
      scenario.site.plates[1].site = 7;
      scenario.people.push_back({"neighbour", 0, {}});
      Script{scenario, 1}.at(1s).press("P2", off).wait(1s);
      scenario.people.push_back({"fuse", 0, {}});
      Script{scenario, 2}.at(1003ms).power("P2", false);
      script.wait(3s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- what one sees ---

  TEST_CASE("blip-asleep: somebody looked at a lamp that could not blip any more") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.wait(61min).press("P1", off).look("M1", Fact::indicator, "dark");
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::blip_asleep});
    CHECK(judged.devices(FindingId::blip_asleep) == std::vector<std::string>{"M1"});
    CHECK(judged.the(FindingId::blip_asleep).at == at(61min + 500ms));
    CHECK(judged.evidence(FindingId::blip_asleep).front() == "M1's blips fell asleep");
    CHECK(mentions(judged.the(FindingId::blip_asleep).text, "The wiring is not to blame."));
    CHECK(mentions(judged.the(FindingId::blip_asleep).remedy, "Press M1 local once"));
    CHECK_FALSE(carries_caution(judged.the(FindingId::blip_asleep)));
  }

  TEST_CASE("no blip-asleep: nobody looked, too late, awake again, or nothing to hear") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    SUBCASE("nobody looked") {
      script.wait(61min).press("P1", off);
    }
    SUBCASE("a blip would have been over by then") {
      script.wait(61min).press("P1", off).wait(1s).look("M1", Fact::indicator, "dark");
    }
    SUBCASE("woken") {
      script.wait(61min).press("M1").press("P1", off).look("M1", Fact::indicator, "blip");
    }
    SUBCASE("nothing to hear") {
      script.wait(61min).look("M1", Fact::indicator, "dark");
    }
    SUBCASE("they sleep forty minutes after, not before") {
      script.wait(39min).press("P1", off).look("M1", Fact::indicator, "blip");
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("powers-up-lit: an addressed module whose power-up mode is full") {
    Scenario scenario = addressed_scenario(1);
    scenario.site.modules[0].memory.power_up = PowerUp::full;
    SUBCASE("of our own site number") {
      Script{scenario}.power("all", false).wait(5s).power("all", true);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::powers_up_lit});
      CHECK(judged.devices(FindingId::powers_up_lit) == std::vector<std::string>{"M1"});
      CHECK(judged.the(FindingId::powers_up_lit).at == judged.when("M1's power came back"));
      CHECK(mentions(judged.the(FindingId::powers_up_lit).remedy, "once with another site number"));
    }
    SUBCASE("of the factory's, because the site number never changed") {
      scenario = small_scenario(1);
      scenario.site.plates[0].site = 50;
      scenario.site.modules[0].intended = Address{50, 4, 1};
      Script script{scenario};
      address(script, "P1", "M1", 1);
      script.power("M1", false).power("M1", true);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::factory_site, FindingId::powers_up_lit});
      CHECK(judged.evidence(FindingId::powers_up_lit).front() == "M1 stored 50/4/1");
      CHECK(mentions(judged.the(FindingId::powers_up_lit).remedy, "a site number other than the factory's"));
    }
  }

  TEST_CASE("no powers-up-lit: power-up mode off or last, unaddressed, or at the beginning of the run") {
    Scenario scenario = addressed_scenario(1);
    ModuleSpec& module = scenario.site.modules[0];
    Script script{scenario};
    SUBCASE("off") {
      script.power("M1", false).power("M1", true);
    }
    SUBCASE("last") {
      module.memory.power_up = PowerUp::last;
      module.memory.last_level = 800;
      script.power("M1", false).power("M1", true);
    }
    SUBCASE("unaddressed") {
      module.memory = factory_memory(scenario.site.family.module);
      module.intended.reset();
      script.power("M1", false).power("M1", true);
    }
    SUBCASE("at the beginning") {
      module.memory.power_up = PowerUp::full;
      script.wait(1s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  // --- things that break ---

  TEST_CASE("stuck-button: down for longer than anybody holds it, until it comes free") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.wait(1s).fault(button_fault(scenario, FaultKind::stuck, "P1", up)).wait(40s);
    SUBCASE("it goes on") {
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::stuck_button});
      CHECK(judged.devices(FindingId::stuck_button) == std::vector<std::string>{"P1"});
      CHECK(judged.the(FindingId::stuck_button).at == at(31s));
      CHECK_FALSE(judged.the(FindingId::stuck_button).until.has_value());
      CHECK(mentions(judged.the(FindingId::stuck_button).text, "P1 up has been down since 0:01.0"));
      CHECK(mentions(judged.the(FindingId::stuck_button).text, "(fault: P1 up sticks at 0:01.0)"));
      CHECK(mentions(judged.the(FindingId::stuck_button).remedy, "Free P1 up"));
      CHECK(carries_caution(judged.the(FindingId::stuck_button)));
    }
    SUBCASE("it comes free") {
      script.fault(button_fault(scenario, FaultKind::freed, "P1", up)).wait(1s);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::stuck_button).until == at(41s));
      CHECK(mentions(judged.the(FindingId::stuck_button).text, "P1 up was down from 0:01.0 to 0:41.0"));
    }
    SUBCASE("pressing and letting go another button of the plate does not free it") {
      script.press("P1", off).wait(1s);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::stuck_button});
      CHECK_FALSE(judged.the(FindingId::stuck_button).until.has_value());
    }
    SUBCASE("two of them are one finding, until the last comes free") {
      script.fault(button_fault(scenario, FaultKind::stuck, "P1", off)).wait(40s);
      script.fault(button_fault(scenario, FaultKind::freed, "P1", up)).wait(1s);
      script.fault(button_fault(scenario, FaultKind::freed, "P1", off)).wait(1s);
      const Judged judged{scenario};
      CHECK(judged.the(FindingId::stuck_button).until == at(82s));
    }
  }

  TEST_CASE("stuck-button: another button held meanwhile does not hide it") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.fault(button_fault(scenario, FaultKind::stuck, "P1", up)).wait(10s).press("P1", off).wait(25s);
    const Judged judged{scenario};
    CHECK(judged.the(FindingId::stuck_button).at == at(30s));
  }

  TEST_CASE("stuck-button: of a module") {
    Scenario scenario = addressed_scenario(1);
    Script script{scenario};
    script.fault(button_fault(scenario, FaultKind::stuck, "M1", 0)).wait(40s);
    CHECK(mentions(Judged{scenario}.the(FindingId::stuck_button).text, "M1 local has been down"));
  }

  TEST_CASE("no stuck-button: held for just less, or again and again") {
    Scenario scenario = addressed_scenario(1);
    SUBCASE("just less") {
      Script{scenario}.hold("P1", one, 30s - 1ns);
    }
    SUBCASE("again and again") {
      Script{scenario}.hold("P1", one, 20s).hold("P1", one, 20s).hold("P1", one, 20s);
    }
    CHECK(Judged{scenario}.ids() == Ids{});
  }

  TEST_CASE("write-lost: power goes while memory is written") {
    Scenario scenario = small_scenario(1);
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario}
        .hold("P1", set, 3s)
        .hold("M1", 0, 4s)
        .press("P1", up)
        .at(20s)
        .press("P1", accept)
        .press("P1", one);
    SUBCASE("in the middle of it") {
      Script{scenario, 1}.at(20030ms).power("M1", false);
      const Judged judged{scenario};
      CHECK(judged.ids() == Ids{FindingId::unaddressed, FindingId::write_lost});
      CHECK(judged.devices(FindingId::write_lost) == std::vector<std::string>{"M1"});
      CHECK(judged.the(FindingId::write_lost).at == at(20030ms));
      CHECK(judged.result.world.modules[0].memory == factory_memory(scenario.site.family.module));
      CHECK(
          judged.evidence(FindingId::write_lost) ==
          std::vector<std::string>{"M1's power went", "M1 lost a write: its memory is as from the factory"});
      CHECK(mentions(
          judged.the(FindingId::write_lost).text,
          "At 0:20.0 M1's power went (colleague). At 0:20.0 M1 lost a write: its memory is as from the "
          "factory."));
      CHECK(mentions(judged.the(FindingId::write_lost).remedy, "Restore M1's power."));
      CHECK(carries_caution(judged.the(FindingId::write_lost)));
      CHECK(judged.the(FindingId::unaddressed).at == at(20030ms));
    }
    SUBCASE("and is back by the end") {
      Script{scenario, 1}.at(20030ms).power("M1", false).power("M1", true).wait(5s);
      const Judged judged{scenario};
      CHECK_FALSE(mentions(judged.the(FindingId::write_lost).remedy, "Restore"));
      CHECK_FALSE(carries_caution(judged.the(FindingId::write_lost)));
    }
    SUBCASE("no write-lost: a moment later it is safe") {
      Script{scenario, 1}.at(20060ms).power("M1", false);
      CHECK(Judged{scenario}.ids() == Ids{});
    }
  }

  // --- the watch ---

  TEST_CASE("a watch that is copied with the world goes on alike") {
    Scenario scenario = addressed_scenario(2, 2);
    Script script{scenario};
    script.hold("P1", set, 3s).hold("M1", 0, 4s).hold("P2", set, 3s).wait(260s).press("P1", up).press("M1");
    script.fault(link_fault(scenario, FaultKind::open, "M1-M2")).press("P1", off);
    World world = initial_world(scenario);
    sim::Record record;
    FindingWatch watch{scenario};
    Simulation simulation{scenario, world, &record};
    simulation.begin();
    watch.observe(scenario, world, record);
    const auto finish = [&](World from, sim::Record beside, FindingWatch with) {
      Simulation rest{scenario, from, &beside};
      while (!rest.scripts_done()) {
        rest.step();
        with.observe(scenario, from, beside);
      }
      std::string text;
      for (const Observation& observation : with.observations(scenario, from)) {
        const Finding finding = in_words(scenario, from, beside, observation);
        text += finding.text + "\n" + finding.remedy + "\n";
      }
      return text;
    };
    const std::string expected = finish(world, record, watch);
    CHECK_FALSE(expected.empty());
    while (!simulation.scripts_done()) {
      REQUIRE(finish(world, record, watch) == expected);
      simulation.step();
      watch.observe(scenario, world, record);
    }
  }

  TEST_CASE("findings come by time, then in the order of their ids") {
    Scenario scenario = small_scenario(3, 2);
    Script script{scenario};
    script.hold("P1", set, 3s).hold("P2", set, 3s).press("P1", up).press("P1", accept).wait(200s);
    const Judged judged{scenario};
    CHECK(std::is_sorted(
        judged.result.findings.begin(), judged.result.findings.end(),
        [](const Finding& a, const Finding& b) { return a.at != b.at ? a.at < b.at : a.id < b.id; }));
    CHECK(judged.result.findings.size() > 3);
  }

  TEST_CASE("remedies that touch wiring or open a plate carry the caution, others do not") {
    CHECK(mentions(std::string{safety_caution},
                   "Isolate at the supply, lock off and prove dead with a checked tester"));
    CHECK(mentions(std::string{safety_caution}, "A dimmer turned off is not isolation"));
    // Radio: what is too far away has to be moved, and so disconnected.
    Scenario scenario = addressed_scenario(1);
    scenario.site.family.medium = sim::MediumKind::radio;
    sim::MediumSpec radio{sim::MediumKind::radio, scenario.site.family.bus, {0, 1}, {}};
    build_network(scenario.site, {radio});
    Script{scenario}.press("P1", off);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::out_of_reach});
    CHECK(mentions(judged.the(FindingId::out_of_reach).remedy, "too far from P1 to M1"));
    CHECK_FALSE(mentions(judged.the(FindingId::out_of_reach).remedy, "Check the bus"));
    CHECK(carries_caution(judged.the(FindingId::out_of_reach)));
  }

  TEST_CASE("stuck-button: after the time of the device's own family") {
    Scenario scenario = addressed_scenario(2);
    Family patient = scenario.site.family;
    patient.name = "patient";
    patient.stuck_after = 100s;
    scenario.site.other_families = {patient};
    scenario.site.modules[1].family = 1;
    Script script{scenario};
    script.hold("M1", Button{0}, 60s).hold("M2", Button{0}, 60s);
    const Judged judged{scenario};
    CHECK(judged.devices(FindingId::stuck_button) == std::vector<std::string>{"M1"});
    CHECK(mentions(judged.the(FindingId::stuck_button).text, "for longer than 30 s"));
  }

  TEST_CASE("not-understood: a command that a module of another generation has no row or no scene for") {
    Scenario scenario = addressed_scenario(2);
    Family older = scenario.site.family;
    older.name = "older";
    older.module.scenes = 1;
    std::erase_if(older.module.machine.rows,
                  [](const MachineRow& row) { return row.on == Event::heard_raise; });
    older.module.machine.compile();
    scenario.site.other_families = {older};
    scenario.site.modules[1].family = 1;
    Script script{scenario};
    // Scene 1 it has; scene 2 and raise it has not. Each is told of once.
    script.press("P1", one).press("P1", accept).press("P1", accept).hold("P1", up, 1500ms).wait(1s);
    const Judged judged{scenario};
    CHECK(judged.ids() == Ids{FindingId::not_understood, FindingId::not_understood});
    const Finding& scene = judged.result.findings.front();
    CHECK(scene.devices == std::vector<DeviceId>{scenario.site.find_device("M2").value(),
                                                 scenario.site.find_device("P1").value()});
    CHECK(mentions(scene.text, "it is of the family older, which has 1 scene only"));
    CHECK(mentions(scene.text, "Nothing is broken."));
    CHECK(mentions(scene.remedy, "use scenes 1 to 1 in this zone"));
    CHECK(carries_caution(scene));
    CHECK(mentions(judged.result.findings.back().text, "has no word for 'raise'"));
  }

  TEST_CASE("no not-understood: all of one generation, another zone, nothing stored yet") {
    Scenario scenario = addressed_scenario(1);
    Script{scenario}.press("P1", accept).wait(1s);
    CHECK(Judged{scenario}.ids().empty());
    scenario.site.other_families = {scenario.site.family};
    scenario.site.other_families[0].name = "older";
    scenario.site.other_families[0].module.scenes = 1;
    scenario.site.modules[0].family = 1;
    CHECK(Judged{scenario}.ids() == Ids{FindingId::not_understood});
    scenario.site.modules[0].memory.address.zone = 5;
    scenario.site.modules[0].intended.reset();
    CHECK_FALSE(Judged{scenario}.has(FindingId::not_understood));
    scenario.site.modules[0].memory = factory_memory(scenario.site.family.module);
    CHECK_FALSE(Judged{scenario}.has(FindingId::not_understood));
  }
}
