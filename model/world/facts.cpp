#include "model/world/facts.h"

#include <fmt/format.h>

#include <array>

#include "model/record/describe.h"

namespace drybus::model {

namespace {

std::string module_fact(const Scenario& scenario, const World& world, DeviceId device, Fact fact) {
  const std::size_t index = scenario.site.module_index(device);
  const ModuleMemory& memory = world.modules[index].memory;
  switch (fact) {
    case Fact::address:
      return memory.addressed() ? to_string(memory.address) : "none";
    case Fact::power_up:
      return std::string{to_string(memory.power_up)};
    case Fact::level:
    case Fact::load:
      return percent_text(world.loads[index].at(world.now));
    case Fact::site:
      return fmt::format("{}", memory.address.site);
    case Fact::zone:
      return fmt::format("{}", memory.address.zone);
    case Fact::channel:
      return fmt::format("{}", memory.address.channel);
    case Fact::indicator:
    case Fact::mode:
    case Fact::findings:
      break;
  }
  return "-";
}

std::string plate_fact(const World& world, DeviceId device, Fact fact) {
  const PlateState& plate = world.plates[device];
  switch (fact) {
    case Fact::site:
      return fmt::format("{}", plate.site);
    case Fact::zone:
      return fmt::format("{}", plate.zone);
    case Fact::channel:
      return fmt::format("{}", plate.channel);
    case Fact::address:
    case Fact::power_up:
    case Fact::level:
    case Fact::load:
    case Fact::indicator:
    case Fact::mode:
    case Fact::findings:
      break;
  }
  return "-";
}

}  // namespace

std::string fact_text(const Scenario& scenario, const World& world, DeviceId device, Fact fact) {
  if (fact == Fact::indicator) return std::string{to_string(world.devices[device].indicator)};
  if (fact == Fact::mode) return std::string{to_string(world.devices[device].mode)};
  return scenario.site.is_plate(device) ? plate_fact(world, device, fact)
                                        : module_fact(scenario, world, device, fact);
}

bool fact_is(const Scenario& scenario, const World& world, const Check& check) {
  const std::string& wanted = check.wanted.front();
  if (check.fact == Fact::load && (wanted == "lit" || wanted == "dark")) {
    const bool lit = world.loads[scenario.site.module_index(check.device)].at(world.now) > 0;
    return lit == (wanted == "lit");
  }
  return fact_text(scenario, world, check.device, check.fact) == wanted;
}

std::span<const Fact> telling_facts(const Site& site, DeviceId device) {
  static constexpr std::array of_plates = {Fact::mode, Fact::indicator, Fact::channel};
  static constexpr std::array of_modules = {Fact::mode, Fact::address, Fact::power_up, Fact::level,
                                            Fact::indicator};
  return site.is_plate(device) ? std::span<const Fact>{of_plates} : std::span<const Fact>{of_modules};
}

}  // namespace drybus::model
