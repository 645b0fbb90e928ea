#include "tools/export/run_json.h"

#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/record/observables.h"
#include "model/world/facts.h"
#include "tools/base/json_text.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

json::array checks_json(const model::Scenario& scenario, const model::RunResult& result) {
  json::array all;
  for (const model::CheckResult& outcome : result.checks) {
    const model::Check& check = scenario.checks[outcome.check];
    all.push_back({{"line", check.mark.line},
                   {"at_s", sim::seconds(outcome.at)},
                   {"kind", check.seen ? "see" : "expect"},
                   {"what", describe(scenario, check)},
                   {"passed", outcome.passed},
                   {"actual", outcome.actual}});
  }
  return all;
}

json::array findings_json(const model::Scenario& scenario, const model::RunResult& result) {
  json::array all;
  for (const model::Finding& finding : result.findings) {
    json::array devices;
    for (const model::DeviceId device : finding.devices) devices.emplace_back(scenario.site.name(device));
    json::value until;
    if (finding.until) until = sim::seconds(*finding.until);
    all.push_back({{"id", to_string(finding.id)},
                   {"at_s", sim::seconds(finding.at)},
                   {"until_s", until},
                   {"devices", devices},
                   {"text", finding.text},
                   {"remedy", finding.remedy}});
  }
  return all;
}

json::object device_json(const model::Scenario& scenario, const model::World& world, model::DeviceId device) {
  const auto fact = [&](model::Fact f) { return fact_text(scenario, world, device, f); };
  json::object object{{"mode", fact(model::Fact::mode)},
                      {"indicator", fact(model::Fact::indicator)},
                      {"powered", world.devices[device].powered != 0}};
  if (scenario.site.is_plate(device)) {
    const model::PlateState& plate = world.plates[device];
    object["address"] = nullptr;
    object["level"] = nullptr;
    object["power_up"] = nullptr;
    object["channel"] = plate.channel;
    object["site"] = plate.site;
    object["zone"] = plate.zone;
    return object;
  }
  const std::size_t index = scenario.site.module_index(device);
  const model::ModuleMemory& memory = world.modules[index].memory;
  object["address"] = memory.addressed() ? json::value(to_string(memory.address)) : json::value(nullptr);
  object["level"] = world.loads[index].at(world.now) / 10.0;
  object["power_up"] = fact(model::Fact::power_up);
  return object;
}

}  // namespace

std::string run_json(const std::string& name, const model::Scenario& scenario, std::uint64_t seed,
                     const model::RunResult& result) {
  json::object devices;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    const auto device = static_cast<model::DeviceId>(i);
    devices[scenario.site.name(device)] = device_json(scenario, result.world, device);
  }
  const json::object run{
      {"scenario", harmless(name)},
      {"title", scenario.title},
      {"seed", seed},
      {"ended_at_s", sim::seconds(result.world.now)},
      {"passed", result.passed()},
      {"digest", result.digest.hex()},
      {"observables", model::observable_digest(result.record).hex()},
      {"broken_off",
       result.broken_off ? json::value(describe(scenario, *result.broken_off)) : json::value(nullptr)},
      {"checks", checks_json(scenario, result)},
      {"findings", findings_json(scenario, result)},
      {"devices", devices}};
  return json_text(run) + "\n";
}

}  // namespace drybus::tools
