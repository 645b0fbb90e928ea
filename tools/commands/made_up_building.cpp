#include "tools/commands/made_up_building.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <optional>

#include "sim/random.h"

namespace drybus::tools {

namespace {

using model::Command;
using model::DeviceId;
using namespace std::chrono_literals;

/// What happens in a room, on an average day.
struct DailyUse {
  sim::Duration at;
  Command command;
  sim::Duration spread;  ///< standard deviation of the time of day
};
constexpr std::array<DailyUse, 10> day = {{{7h + 30min, Command::on, 15min},
                                           {8h + 15min, Command::recall, 20min},
                                           {9h + 40min, Command::lower, 30min},
                                           {11h, Command::raise, 30min},
                                           {12h + 20min, Command::off, 10min},
                                           {13h + 10min, Command::on, 10min},
                                           {14h + 30min, Command::recall, 40min},
                                           {15h + 50min, Command::lower, 30min},
                                           {17h, Command::raise, 20min},
                                           {18h + 10min, Command::off, 30min}}};

class Builder {
 public:
  Builder(const model::Family& family, const BuildingSize& size, std::uint64_t seed) : size_(size) {
    scenario_.title = fmt::format("A building of {} plates and {} modules on an ordinary day", size.plates,
                                  size.plates * size.modules_per_plate);
    scenario_.seed = seed;
    scenario_.site.family = family;
  }

  model::Scenario build() {
    scenario_.site.plates.reserve(size_.plates);
    scenario_.site.modules.reserve(std::size_t{size_.plates} * size_.modules_per_plate);
    scenario_.people.reserve(size_.plates);
    for (std::uint32_t plate = 0; plate < size_.plates; ++plate) add_plate(plate);
    for (std::uint32_t module = 0; module < size_.plates * size_.modules_per_plate; ++module)
      add_module(module);
    model::Site& site = scenario_.site;
    site.walks = model::shortest_walks(1, {}, 30s);
    site.places = {{"building"}};
    std::vector<sim::MediumSpec> media;
    for (std::uint32_t first = 0; first < size_.plates; first += size_.plates_per_bus)
      media.push_back(bus(first));
    model::build_network(site, std::move(media));
    for (std::uint32_t plate = 0; plate < size_.plates; ++plate) add_person(plate);
    return std::move(scenario_);
  }

 private:
  /// Neither the factory's number nor beyond what the switches show; buses may share one.
  [[nodiscard]] std::uint8_t site_number(std::uint32_t plate) const {
    const unsigned largest = scenario_.site.family.plate.site_switches.largest();
    const std::uint8_t factory = scenario_.site.family.module.factory_site;
    const unsigned numbers = std::max(2U, largest) - 1;
    const auto number = static_cast<std::uint8_t>(1 + plate / size_.plates_per_bus % numbers);
    return number >= factory ? static_cast<std::uint8_t>(number + 1) : number;
  }
  [[nodiscard]] std::uint8_t zone_number(std::uint32_t plate) const {
    return static_cast<std::uint8_t>(1 + plate % size_.plates_per_bus);
  }

  void add_plate(std::uint32_t plate) {
    scenario_.site.plates.push_back(
        {fmt::format("P{}", plate + 1), "", 0, site_number(plate), zone_number(plate), false});
  }

  void add_module(std::uint32_t module) {
    const std::uint32_t plate = module / size_.modules_per_plate;
    const auto channel = static_cast<std::uint8_t>(1 + module % size_.modules_per_plate);
    model::ModuleSpec spec;
    spec.name = fmt::format("M{}", module + 1);
    spec.intended = model::Address{site_number(plate), zone_number(plate), channel};
    spec.memory = model::factory_memory(scenario_.site.family.module);
    spec.memory.address = *spec.intended;
    spec.memory.power_up = model::PowerUp::off;
    scenario_.site.modules.push_back(std::move(spec));
  }

  [[nodiscard]] sim::MediumSpec bus(std::uint32_t first) const {
    const model::Family& family = scenario_.site.family;
    sim::MediumSpec medium{family.medium, family.bus, {}, {}};
    const std::uint32_t end = std::min(first + size_.plates_per_bus, size_.plates);
    for (std::uint32_t plate = first; plate < end; ++plate)
      medium.nodes.push_back(static_cast<sim::NodeId>(plate));
    for (std::uint32_t module = first * size_.modules_per_plate; module < end * size_.modules_per_plate;
         ++module)
      medium.nodes.push_back(scenario_.site.module_id(module));
    for (std::size_t a = 0; a + 1 < medium.nodes.size(); ++a) {
      const std::size_t last = family.medium == sim::MediumKind::radio ? medium.nodes.size() - 1 : a + 1;
      for (std::size_t b = a + 1; b <= last; ++b) medium.links.push_back({medium.nodes[a], medium.nodes[b]});
    }
    medium.nodes.shrink_to_fit();
    medium.links.shrink_to_fit();
    return medium;
  }

  void add_person(std::uint32_t plate) {
    sim::Stream draws{scenario_.seed, sim::Purpose::generator, plate};
    model::Person person{fmt::format("room {}", plate + 1), 0, {}};
    person.script.reserve(day.size());
    sim::Instant earliest = sim::start_of_run;
    for (const DailyUse& use : day) {
      const double seconds = draws.normal() * std::chrono::duration<double>(use.spread).count();
      const auto off = std::chrono::milliseconds{static_cast<std::int64_t>(1000 * seconds)};
      const sim::Instant at = std::max(earliest, sim::start_of_run + use.at + off);
      if (auto step = step_for(use.command, static_cast<DeviceId>(plate), draws)) {
        step->at = at;
        person.script.push_back(std::move(*step));
        earliest = at + 1min;
      }
    }
    scenario_.people.push_back(std::move(person));
  }

  /// How the family's plates do it; nothing where they cannot.
  [[nodiscard]] std::optional<model::Step> step_for(Command command, DeviceId plate,
                                                    sim::Stream& draws) const {
    const model::PlateFamily& family = scenario_.site.family.plate;
    for (model::Button button = 0; button < family.buttons.size(); ++button) {
      if (family.press[button].gives(command))
        return model::push_step(model::StepKind::press, plate, model::only(button), scenario_.times.press);
    }
    for (model::Button button = 0; button < family.buttons.size(); ++button) {
      if (family.hold[button].command != command) continue;
      const auto dimming = std::chrono::milliseconds{200 + static_cast<std::int64_t>(draws.below(1500))};
      return model::push_step(model::StepKind::hold, plate, model::only(button), family.long_press + dimming);
    }
    return std::nullopt;
  }

  const BuildingSize& size_;
  model::Scenario scenario_;
};

}  // namespace

model::Scenario building(const model::Family& family, const BuildingSize& size, std::uint64_t seed) {
  return Builder{family, size, seed}.build();
}

}  // namespace drybus::tools
