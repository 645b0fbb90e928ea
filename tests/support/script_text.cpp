#include "tests/support/script_text.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <sstream>

#include "tools/load/scenario_files.h"

namespace drybus::tests {

using namespace model;

std::string scenario_with(const std::string& steps) {
  std::string text =
      "drybus: 1\n"
      "title: A test\n"
      "family: wired-keypad\n"
      "site:\n"
      "  places: {hall: {}, attic: {walk: {hall: 40s}}}\n"
      "  plates:\n"
      "    P1: {place: hall, switches: {site: 23, zone: 4}}\n"
      "  modules:\n"
      "    M1: {place: hall, intended: 23/4/1}\n"
      "    M2: {place: attic, intended: 23/4/2}\n"
      "script:\n";
  std::istringstream lines{steps};
  for (std::string line; std::getline(lines, line);) text += "  " + line + "\n";
  return text;
}

std::string scenario_with_line(int line, const std::string& replacement) {
  std::istringstream lines{scenario_with("- press: P1 up")};
  std::string text;
  int number = 0;
  for (std::string each; std::getline(lines, each);) text += (++number == line ? replacement : each) + "\n";
  return text;
}

tools::Reading<tools::LoadedScenario> read(const std::string& text) {
  return tools::read_scenario_text(text, DRYBUS_SOURCE_DIR "/scenarios/test.yaml");
}

tools::LoadedScenario must_read(const std::string& text) {
  auto reading = read(text);
  if (!reading.ok()) FAIL(tools::to_text(reading.problems()));
  return std::move(reading.value());
}

std::vector<std::string> problems_of(const std::string& text) {
  const auto reading = read(text);
  std::vector<std::string> lines;
  if (reading.ok()) return lines;
  for (const tools::Problem& p : reading.problems()) {
    lines.push_back(fmt::format("{}:{} {} | {} | {}", p.line, p.column, p.message, p.expected, p.suggestion));
  }
  return lines;
}

namespace {

std::string memory_said(const ModuleMemory& memory) {
  return fmt::format("{} power-up {} last {} scenes {}", to_string(memory.address),
                     to_string(memory.power_up), memory.last_level, fmt::join(memory.scenes, " "));
}

std::string network_said(const sim::Network& network) {
  std::string text;
  for (const sim::MediumSpec& medium : network.media) {
    text += fmt::format("medium {} at {} bit/s: {};", static_cast<int>(medium.kind), medium.timing.bit_rate,
                        fmt::join(medium.nodes, " "));
    for (const sim::Link& link : medium.links) text += fmt::format(" {}-{}", link.a, link.b);
    text += "\n";
  }
  for (const auto& node : network.nodes)
    text += fmt::format("node {} {} {}\n", node.owner, node.medium, node.passive);
  return text;
}

std::string step_said(const Step& step) {
  const auto& fault = step.fault;
  return fmt::format(
      "{} at {} device {} buttons {} for {} bounce {} place {} site {} zone {} {} fault {} {} {} {} {} {} "
      "checks {} '{}'\n",
      static_cast<int>(step.kind), step.at ? step.at->time_since_epoch().count() : -1, step.device,
      step.buttons, step.duration.count(), step.bounce.count(), step.place, step.site ? int{*step.site} : -1,
      step.zone ? int{*step.zone} : -1, step.on, static_cast<int>(fault.kind), fault.link,
      fault.bit_error_ppb, fault.device, fault.button, fault.count, fmt::join(step.checks, " "),
      step.text.str());
}

}  // namespace

std::string said_by(const tools::LoadedScenario& loaded) {
  const Scenario& scenario = loaded.scenario;
  const Site& site = scenario.site;
  std::string text =
      fmt::format("{}\n{}\n{} {} press {} pause {}\n", scenario.title, scenario.about, site.family.name,
                  scenario.seed, scenario.times.press.count(), scenario.times.pause.count());
  for (const auto& place : site.places) text += place.name + "\n";
  for (const auto walk : site.walks) text += fmt::format("{} ", walk.count());
  for (const auto& spot : loaded.spots) {
    text += spot ? fmt::format("\nspot {} {} {}", spot->x_m, spot->y_m, spot->floor) : "\nno spot";
  }
  for (const auto& p : site.plates) {
    text += fmt::format("\nplate {} '{}' {} {}/{} {}", p.name, p.label, p.place, p.site, p.zone, p.neighbour);
  }
  for (const auto& m : site.modules) {
    text += fmt::format("\nmodule {} '{}' {} {} {} {}", m.name, m.label, m.place,
                        m.intended ? to_string(*m.intended) : "-", memory_said(m.memory), m.neighbour);
  }
  text += "\n" + network_said(site.network);
  for (const auto& person : scenario.people) {
    text += fmt::format("person {} at {}\n", person.name, person.place);
    for (const Step& step : person.script) text += step_said(step);
  }
  for (const Check& check : scenario.checks) {
    text += fmt::format("check {} {} {} {}\n", to_string(check.fact), check.device,
                        fmt::join(check.wanted, " "), check.seen);
  }
  return text;
}

std::vector<std::string> shipped_scenarios() {
  const std::vector<std::string> folder = {DRYBUS_SOURCE_DIR "/scenarios"};
  return tools::scenario_files(folder);
}

}  // namespace drybus::tests
