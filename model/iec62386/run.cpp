#include "model/iec62386/run.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "model/iec62386/describe.h"
#include "model/iec62386/simulation.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::iec62386 {

using model::msg;

namespace {

std::vector<protocol::DeviceFacts> facts_of(const Scenario& scenario, const World& world) {
  std::vector<protocol::DeviceFacts> all;
  for (std::size_t i = 0; i < scenario.site.gear.size(); ++i) {
    protocol::DeviceFacts device{scenario.site.gear[i].name, {}};
    for (const Fact fact :
         {Fact::short_address, Fact::level, Fact::lamp, Fact::groups, Fact::initialised, Fact::max_level,
          Fact::min_level, Fact::power_on, Fact::system_failure, Fact::fade_time}) {
      Check check;
      check.fact = fact;
      check.device = static_cast<Index>(i);
      device.facts.emplace_back(to_string(fact), fact_value(scenario, world, check));
    }
    all.push_back(std::move(device));
  }
  return all;
}

/// How many have the number that the plan gives them, and how many any.
std::vector<std::pair<std::string, std::uint64_t>> figures_of(const Site& site, const World& world) {
  std::uint64_t planned = 0;
  std::uint64_t named = 0;
  std::uint64_t addressed = 0;
  for (std::size_t i = 0; i < site.gear.size(); ++i) {
    const ShortAddress address = world.gear[i].memory.short_address;
    planned += site.gear[i].intended ? 1U : 0U;
    named += site.gear[i].intended == address ? 1U : 0U;
    addressed += address != no_short ? 1U : 0U;
  }
  std::vector<std::pair<std::string, std::uint64_t>> figures = {
      {std::string{msg("gear with a short address")}, addressed}};
  if (planned > 0) figures.emplace_back(msg("gear with the short address on the plan"), named);
  return figures;
}

sim::Fingerprint digest_of(std::uint64_t seed, const World& world, const sim::Record& record,
                           const std::vector<protocol::Found>& findings) {
  sim::Digest digest;
  digest.add(std::string_view{"iec-62386"});
  digest.add(seed);
  record.add_to(digest);
  world.add_to(digest);
  for (const protocol::Found& found : findings) {
    digest.add(found.kind);
    digest.add(sim::as_number(found.at));
    digest.add(found.until ? sim::as_number(*found.until) : ~std::uint64_t{0});
    for (const std::string& device : found.devices) digest.add(device);
  }
  return digest.value();
}

}  // namespace

const protocol::Protocol& line_protocol() {
  static const protocol::Protocol protocol{"iec-62386", msg("IEC 62386: control gear on a two-wire line"),
                                           finding_kinds(), caution(), in_words};
  return protocol;
}

protocol::Run run(const Scenario& scenario, const protocol::RunOptions& options) {
  protocol::Run run;
  run.seed = options.seed.value_or(scenario.seed);
  World world = initial_world(scenario, run.seed);
  Simulation simulation{scenario, world, run.record, options};
  const sim::Instant last = sim::start_of_run + options.until;
  for (std::uint64_t events = 0; !simulation.scripts_over(); ++events) {
    if (events == options.most_events) run.broken_off = model::tr("more than {} events", options.most_events);
    if (world.queue.next_at() > last)
      run.broken_off = model::tr("the script is not over after {}", model::duration_text(options.until));
    if (!run.broken_off.empty() || !simulation.step()) break;
  }
  run.ended = world.now;
  run.findings = simulation.watch().findings();
  run.digest = digest_of(run.seed, world, run.record, run.findings);
  run.checks = simulation.checks();
  run.story = story(scenario, run.record, run.checks);
  run.carried = simulation.take_carried();
  run.devices = facts_of(scenario, world);
  run.figures = figures_of(scenario.site, world);
  return run;
}

protocol::Scenario as_any(Scenario scenario) {
  protocol::Scenario any;
  any.protocol = &line_protocol();
  any.title = scenario.title;
  any.about = scenario.about;
  any.seed = scenario.seed;
  any.files = scenario.files;
  for (const GearSpec& gear : scenario.site.gear) any.devices.push_back(gear.name);
  for (const Person& person : scenario.people)
    any.touches_wiring =
        any.touches_wiring || std::any_of(person.script.begin(), person.script.end(), touches_wiring);
  const auto shared = std::make_shared<const Scenario>(std::move(scenario));
  any.run = [shared](const protocol::RunOptions& options) { return iec62386::run(*shared, options); };
  any.describe = [shared](const sim::Record& record, sim::EntryId entry) {
    return iec62386::describe(*shared, record, entry);
  };
  return any;
}

}  // namespace drybus::iec62386
