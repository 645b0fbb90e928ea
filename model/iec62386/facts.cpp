// Facts of a line in words, and looking for them.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "model/iec62386/simulation.h"
#include "model/words/words.h"

namespace drybus::iec62386 {

namespace {

std::string groups_text(std::uint16_t groups) {
  std::vector<unsigned> all;
  for (unsigned i = 0; i < 16; ++i) {
    if (((groups >> i) & 1U) != 0) all.push_back(i);
  }
  return all.empty() ? "none" : fmt::format("{}", fmt::join(all, " "));
}

std::string lamp_text(const GearState& state, sim::Instant now) {
  if (state.identifies && state.powered) return "identifies";
  const Level level = light(state, now);
  return level == 0 ? "off" : level == 254 ? "full" : "dimmed";
}

std::string line_text(const World& world, Index line) {
  return world.lines[line].low ? "low" : "idle";
}

std::string of_controller(const World& world, const Check& check) {
  const Controller& controller = world.controllers[check.device];
  if (check.fact == Fact::compares) return fmt::format("{}", controller.round.searcher.compares);
  if (check.fact == Fact::found) return fmt::format("{}", controller.round.found);
  if (check.fact == Fact::unverified) return fmt::format("{}", controller.round.unverified);
  return controller.answered  ? fmt::format("{}", *controller.answered)
         : controller.garbled ? "garbled"
                              : "silence";
}

}  // namespace

std::string_view to_string(Fact fact) {
  static const sim::ByEnum<Fact, std::string_view> words{
      "lamp",      "level",     "short",     "groups",         "initialised",
      "scene",     "max level", "min level", "power on level", "system failure level",
      "fade time", "compares",  "found",     "unverified",     "answer",
      "line",      "findings"};
  return words[fact];
}

std::string check_name(const Site& site, const Check& check) {
  if (check.fact == Fact::findings) return "findings";
  const std::string number = check.fact == Fact::scene ? fmt::format(" {}", check.number) : "";
  const std::string& device = check.of_controller        ? site.controllers[check.device].name
                              : check.fact == Fact::line ? site.lines[check.device].name
                                                         : site.gear[check.device].name;
  return fmt::format("{}.{}{}", device, to_string(check.fact), number);
}

std::string fact_value(const Scenario&, const World& world, const Check& check) {
  if (check.of_controller) return of_controller(world, check);
  if (check.fact == Fact::line) return line_text(world, check.device);
  const GearState& state = world.gear[check.device];
  const GearMemory& memory = state.memory;
  switch (check.fact) {
    case Fact::lamp:
      return lamp_text(state, world.now);
    case Fact::level:
      return fmt::format("{}", state.powered ? state.motion.at(world.now) : 0);
    case Fact::short_address:
      return memory.short_address == no_short ? "none" : fmt::format("{}", memory.short_address);
    case Fact::groups:
      return groups_text(memory.groups);
    case Fact::initialised:
      return state.initialised ? "yes" : "no";
    case Fact::scene:
      return memory.scenes.at(check.number) == mask ? "none"
                                                    : fmt::format("{}", memory.scenes.at(check.number));
    case Fact::max_level:
      return fmt::format("{}", memory.max_level);
    case Fact::min_level:
      return fmt::format("{}", memory.min_level);
    case Fact::power_on:
      return fmt::format("{}", memory.power_on);
    case Fact::system_failure:
      return fmt::format("{}", memory.system_failure);
    case Fact::fade_time:
      return fmt::format("{}", memory.fade_time);
    case Fact::compares:
    case Fact::found:
    case Fact::unverified:
    case Fact::answer:
    case Fact::line:
    case Fact::findings:
      break;
  }
  return "";
}

void Simulation::look(std::uint32_t who, const Step& step, sim::EntryId cause) {
  for (const std::uint32_t index : step.checks) {
    const Check& check = scenario_.checks[index];
    protocol::CheckOutcome outcome;
    outcome.mark = check.mark;
    outcome.at = world_.now;
    outcome.seen = check.seen;
    const bool in_sight = !check.seen || site_.gear[check.device].place == world_.people[who].place;
    if (check.fact == Fact::findings) {
      std::multiset<std::string> found;
      for (const protocol::Found& each : watch_.findings()) found.emplace(finding_kinds()[each.kind].id);
      const std::multiset<std::string> wanted{check.wanted.begin(), check.wanted.end()};
      outcome.passed = std::set<std::string>{found.begin(), found.end()} ==
                       std::set<std::string>{wanted.begin(), wanted.end()};
      outcome.actual =
          found.empty()
              ? model::tr("none")
              : fmt::format("{}", fmt::join(std::set<std::string>{found.begin(), found.end()}, ", "));
      outcome.what = wanted.empty()
                         ? model::tr("findings are none")
                         : model::tr("findings are {}", fmt::format("{}", fmt::join(wanted, ", ")));
    } else {
      outcome.actual = in_sight ? fact_value(scenario_, world_, check) : model::tr("out of sight");
      outcome.passed = in_sight && outcome.actual == check.wanted.front();
      outcome.what = model::tr("{} is {}", check_name(site_, check), check.wanted.front());
    }
    checks_.push_back(std::move(outcome));
    add(What::checked, who, cause, index, checks_.back().passed ? 1 : 0);
  }
}

}  // namespace drybus::iec62386
