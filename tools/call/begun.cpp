#include "tools/call/begun.h"

#include <fmt/format.h>

#include <algorithm>

#include "tools/call/written.h"
#include "tools/script/writer.h"

namespace drybus::tools {

namespace {

constexpr std::string_view scenario_head = "drybus: 1\n";
constexpr std::string_view report_head = "drybus-report: 1\n";

void set_before(model::Site& site, Before before) {
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    model::ModuleSpec& module = site.modules[i];
    if (module.neighbour || !module.intended || before == Before::as_the_site_says) continue;
    const model::ModuleFamily& family = site.module_family(site.module_id(i));
    module.memory = model::factory_memory(family);
    if (before == Before::fresh) continue;
    module.memory.address = *module.intended;
    // As if it had been assigned: a changed site number turned the power-up mode off.
    if (module.intended->site != family.factory_site) module.memory.power_up = model::PowerUp::off;
  }
}

}  // namespace

std::string begun_with(const LoadedScenario& site, Before before, const std::filesystem::path& path) {
  LoadedScenario begun = site;
  begun.scenario.people.resize(1);
  begun.scenario.people[0].script.clear();
  begun.scenario.checks.clear();
  set_before(begun.scenario.site, before);
  std::string text = write_scenario(begun, {std::filesystem::absolute(path).parent_path(), {}});
  const std::size_t at = text.find(scenario_head);
  return text.replace(at, scenario_head.size(), report_head);
}

std::string begun_on(const std::filesystem::path& site, const std::filesystem::path& path,
                     const std::string& title) {
  const auto folder = std::filesystem::absolute(path).parent_path();
  return fmt::format("{}title: {}\nsite: {}\nscript: []\n", report_head, in_quotes(title),
                     in_quotes(std::filesystem::absolute(site).lexically_relative(folder).generic_string()));
}

Before before_of(const LoadedReport& report) {
  std::size_t ours = 0;
  std::size_t addressed = 0;
  for (const model::ModuleSpec& module : report.call.believed.site.modules) {
    if (module.neighbour || !module.intended) continue;
    ++ours;
    if (module.memory.address == module.intended) ++addressed;
  }
  if (addressed == ours) return Before::addressed;
  return addressed == 0 ? Before::fresh : Before::as_the_site_says;
}

}  // namespace drybus::tools
