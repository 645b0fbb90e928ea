#include "tests/swarm/correct_install.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/record/trace.h"
#include "model/planning/ways_into_setup.h"
#include "sim/random.h"
#include "tools/load/load.h"

namespace drybus::tests {

namespace {

using model::Address;
using model::DeviceId;
using model::Step;
using model::StepKind;
using std::chrono::milliseconds;
using std::chrono::seconds;

struct Zone {
  std::size_t bus = 0;
  std::uint8_t number = 0;
  std::vector<DeviceId> plates;
  std::vector<DeviceId> modules;  ///< that are to be addressed
};

class InstallMaker {
 public:
  InstallMaker(const std::vector<model::Family>& families, std::uint64_t seed)
      : draws_{seed, sim::Purpose::generator, 1} {
    scenario_.title = fmt::format("correct install {}", seed);
    scenario_.seed = seed;
    scenario_.site.family = families[below(families.size())];
  }

  model::Scenario make() {
    make_places();
    make_zones();
    make_neighbour();
    model::build_network(site(), wired() ? buses() : std::vector{reach()});
    share_out_the_work();
    neighbour_at_work();
    return std::move(scenario_);
  }

 private:
  model::Site& site() { return scenario_.site; }
  [[nodiscard]] const model::PlateFamily& plate_family() const { return scenario_.site.family.plate; }
  [[nodiscard]] bool wired() const { return scenario_.site.family.medium == sim::MediumKind::line; }
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(draws_.below(n)); }
  bool one_in(std::size_t n) { return below(n) == 0; }

  // --- the site ---

  void make_places() {
    const std::size_t places = 1 + below(4);
    for (std::size_t i = 0; i < places; ++i) site().places.push_back({fmt::format("room {}", i + 1)});
    site().walks = model::shortest_walks(places, {}, seconds{3 + below(20)});
    intended_told_ = !one_in(5);
    scenario_.times.pause = milliseconds{200 + below(600)};
  }

  model::PlaceId some_place() { return static_cast<model::PlaceId>(below(site().places.size())); }

  /// Plates have the lower numbers, so all of them are made before the modules.
  void make_zones() {
    const std::size_t count = 1 + below(3);
    buses_ = wired() ? 1 + below(count) : 1;
    number_ = some_site_number(0);
    // Separate buses may well have the same numbers on them: nobody hears both.
    const bool numbers_again = buses_ > 1 && one_in(3);
    const std::size_t most = plate_family().zone_switches.largest();
    const std::size_t first = below(most);
    for (std::size_t i = 0; i < count; ++i) {
      Zone zone;
      zone.bus = i % buses_;
      const std::size_t place = numbers_again ? i / buses_ : i;
      zone.number = static_cast<std::uint8_t>(1 + (first + place) % most);
      for (std::size_t plates = one_in(4) ? 2 : 1; plates > 0; --plates)
        zone.plates.push_back(add_plate(zone));
      zones_.push_back(std::move(zone));
    }
    neighbour_plate_ = one_in(3);
    if (neighbour_plate_) {
      site().plates.push_back({"N1", "", some_place(), some_site_number(number_),
                               static_cast<std::uint8_t>(1 + below(most)), true});
    }
    for (std::size_t i = 0; i < zones_.size(); ++i) {
      for (std::size_t modules = 1 + below(4); modules > 0; --modules) add_module(zones_[i], ++channels_[i]);
    }
  }

  /// Neither the factory's nor `taken`.
  std::uint8_t some_site_number(std::uint8_t taken) {
    const std::size_t most = plate_family().site_switches.largest();
    for (;;) {
      const auto number = static_cast<std::uint8_t>(2 + below(most - 1));
      if (number != taken && number != site().family.module.factory_site) return number;
    }
  }

  DeviceId add_plate(const Zone& zone) {
    site().plates.push_back(
        {fmt::format("P{}", site().plates.size() + 1), "", some_place(), number_, zone.number, false});
    bus_of_plate_.push_back(zone.bus);
    return static_cast<DeviceId>(site().plates.size() - 1);
  }

  void add_module(Zone& zone, std::uint8_t channel) {
    model::ModuleSpec module;
    module.name = fmt::format("M{}", site().modules.size() + 1);
    module.place = some_place();
    module.memory = model::factory_memory(site().family.module);
    const Address address{number_, zone.number, channel};
    if (intended_told_) module.intended = address;
    const bool is_there = one_in(5);  // it has its address from an earlier day
    if (is_there) {
      module.memory.address = address;
      module.memory.power_up = model::PowerUp::off;
    }
    site().modules.push_back(std::move(module));
    bus_of_module_.push_back(zone.bus);
    if (!is_there) zone.modules.push_back(site().module_id(site().modules.size() - 1));
    addresses_.push_back(address);
  }

  void make_neighbour() {
    if (!neighbour_plate_) return;
    bus_of_plate_.push_back(below(buses_));
    if (one_in(2)) return;
    const model::PlateSpec& plate = site().plates.back();
    model::ModuleSpec module;
    module.name = "N2";
    module.place = some_place();
    module.neighbour = true;
    module.memory = model::factory_memory(site().family.module);
    module.memory.address = {plate.site, plate.zone, 1};
    module.memory.power_up = model::PowerUp::off;
    addresses_.push_back(module.memory.address);
    site().modules.push_back(std::move(module));
    bus_of_module_.push_back(bus_of_plate_.back());
  }

  [[nodiscard]] std::size_t bus_of(DeviceId device) {
    return site().is_plate(device) ? bus_of_plate_[device] : bus_of_module_[site().module_index(device)];
  }

  /// Each a tree; on one that has no plate nothing would happen, so every bus has one.
  std::vector<sim::MediumSpec> buses() {
    std::vector<sim::MediumSpec> all(buses_, {site().family.medium, site().family.bus, {}, {}});
    for (DeviceId device = 0; device < site().device_count(); ++device) {
      sim::MediumSpec& bus = all[bus_of(device)];
      if (!bus.nodes.empty()) bus.links.push_back({bus.nodes[below(bus.nodes.size())], device});
      bus.nodes.push_back(device);
    }
    return all;
  }

  /// Zones hear themselves; whether they hear each other is settled once for each pair, so that nobody hears only half of
  /// those who talk at the same time.
  sim::MediumSpec reach() {
    sim::MediumSpec radio{site().family.medium, site().family.bus, {}, {}};
    for (DeviceId device = 0; device < site().device_count(); ++device) radio.nodes.push_back(device);
    const bool all_hear_all = one_in(2);
    for (DeviceId a = 0; a < site().device_count(); ++a) {
      for (DeviceId b = a + 1; b < site().device_count(); ++b) {
        if (all_hear_all || zone_of(a) == zone_of(b)) radio.links.push_back({a, b});
      }
    }
    return radio;
  }

  [[nodiscard]] std::uint8_t zone_of(DeviceId device) {
    if (site().is_neighbour(device)) return zones_.front().number;  // next door to the first
    return site().is_plate(device) ? site().plates[device].zone
                                   : addresses_[site().module_index(device)].zone;
  }

  // --- the neighbour's work ---

  /// Switches the lights next door while ours are installed; addresses a module there when ours are all done.
  void neighbour_at_work() {
    if (!neighbour_plate_ || one_in(3)) return;
    const auto plate = static_cast<DeviceId>(site().plates.size() - 1);
    sim::Instant all_done = free_at_;
    for (std::size_t person = 0; person < scenario_.people.size(); ++person)
      all_done = std::max(all_done, ends(person));
    model::Person neighbour{"neighbour", site().plates.back().place, {}};
    const auto whole = static_cast<std::size_t>((all_done - sim::start_of_run) / milliseconds{1});
    if (whole == 0) return;
    std::vector<std::size_t> hours;
    for (std::size_t presses = 1 + below(6); presses > 0; --presses) hours.push_back(below(whole));
    std::sort(hours.begin(), hours.end());
    for (std::size_t i = 0; i < hours.size(); ++i) {
      if (i > 0 && hours[i] < hours[i - 1] + 3000) continue;
      Step lights = press(plate, static_cast<model::Button>(below(plate_family().buttons.size())));
      lights.at = sim::start_of_run + milliseconds{hours[i]};
      neighbour.script.push_back(std::move(lights));
    }
    if (site().modules.back().neighbour) {
      neighbour.script.push_back(setup(plate));
      neighbour.script.back().at = all_done + std::chrono::hours{1};
      const auto module = static_cast<DeviceId>(site().device_count() - 1);
      std::size_t channel = model::first_channel(plate_family());
      address_one(plate, module, channel, false, neighbour.script);
      neighbour.script.push_back(press(plate, plate_family().leave));
    }
    scenario_.people.push_back(std::move(neighbour));
  }

  // --- the work ---

  void share_out_the_work() {
    const std::size_t people = 1 + below(3);
    for (std::size_t i = 0; i < people; ++i)
      scenario_.people.push_back({i == 0 ? "installer" : fmt::format("colleague {}", i), some_place(), {}});
    std::size_t person = 0;
    for (std::size_t z = 0; z < zones_.size(); ++z) {
      while (person + 1 < people && one_in(2)) next_person(person);
      do_zone(zones_[z], person, people);
    }
    check_what_answers(person);
  }

  [[nodiscard]] std::vector<Step>& script(std::size_t person) { return scenario_.people[person].script; }

  [[nodiscard]] sim::Instant ends(std::size_t person) {
    return model::timetable(site(), scenario_.times, scenario_.people[person]).ends;
  }

  /// The next of them comes when this one has gone, sometimes on another day.
  void next_person(std::size_t& person) {
    const sim::Instant gone = std::max(ends(person), free_at_);
    ++person;
    Step arrives;
    arrives.kind = StepKind::note;
    arrives.text = "arrives";
    arrives.at = gone + seconds{1 + below(one_in(3) ? 90'000 : 600)};
    free_at_ = *arrives.at;
    script(person).push_back(std::move(arrives));
  }

  void do_zone(const Zone& zone, std::size_t& person, std::size_t people) {
    std::vector<DeviceId> todo = zone.modules;
    for (std::size_t i = todo.size(); i > 1; --i) std::swap(todo[i - 1], todo[below(i)]);
    while (!todo.empty()) {
      const DeviceId plate = zone.plates[below(zone.plates.size())];
      wait_for_those_who_hear(plate, person);
      const std::size_t many = 1 + below(todo.size());
      const std::size_t done = do_round(plate, todo, many, person);
      todo.erase(todo.begin(), todo.begin() + static_cast<std::ptrdiff_t>(done));
      end_round(plate, person);
      if (person + 1 < people && one_in(4)) next_person(person);
    }
  }

  [[nodiscard]] std::size_t channel_of(DeviceId module) {
    return addresses_[site().module_index(module)].channel;
  }

  Step setup(DeviceId device) {
    return model::push_step(StepKind::hold, device, site().setup_gesture(device),
                            site().setup_hold(device) + milliseconds{200 + below(800)});
  }
  Step press(DeviceId plate, model::Button button) {
    return model::push_step(StepKind::press, plate, model::only(button), scenario_.times.press);
  }

  [[nodiscard]] bool asks() const { return scenario_.site.family.module.ask > sim::Duration::zero(); }
  [[nodiscard]] bool confirms() const { return scenario_.site.family.module.confirm > sim::Duration::zero(); }

  /// By its button, or by its supply.
  void into_setup(DeviceId module, std::vector<Step>& steps) {
    if (!model::by_supply(site(), module)) return steps.push_back(setup(module));
    model::add_supply_steps(site(), module, steps);
  }

  /// With the plate in setup at a channel, and the module as well if it is `ready`.
  void address_one(DeviceId plate, DeviceId module, std::size_t& channel, bool ready, std::vector<Step>& steps) {
    const std::size_t wanted = channel_of(module) - (asks() ? 1 : 0);
    if (!ready && !asks()) into_setup(module, steps);
    for (; channel < wanted; ++channel) steps.push_back(press(plate, plate_family().next));
    for (; channel > wanted; --channel) steps.push_back(press(plate, plate_family().previous));
    if (asks()) {  // and the plate answers with the next channel
      into_setup(module, steps);
      ++channel;
      steps.push_back(model::wait_step(seconds{1}));
      return;
    }
    steps.push_back(press(plate, plate_family().assign));
    if (confirms()) steps.push_back(press(module, 0));
  }

  /// Puts the plate in setup and addresses so many modules, or fewer where the time would not do; says how many.
  std::size_t do_round(DeviceId plate, const std::vector<DeviceId>& todo, std::size_t many,
                       std::size_t person) {
    // One that asks is answered at once.
    const bool module_first = !asks() && one_in(2);
    for (;; --many) {
      std::vector<Step>& steps = script(person);
      const std::size_t before = steps.size();
      if (module_first) into_setup(todo[0], steps);
      steps.push_back(setup(plate));
      std::size_t channel = model::first_channel(plate_family());
      for (std::size_t i = 0; i < many; ++i) address_one(plate, todo[i], channel, i == 0 && module_first, steps);
      const auto table = model::timetable(site(), scenario_.times, scenario_.people[person]);
      const sim::Duration taken = table.ends - table.begins[before];
      const sim::Duration there_is =
          std::min(plate_family().time_out.after, site().family.module.time_out.after);
      if (many == 1 || taken + seconds{5} < there_is) return many;
      steps.resize(before);
    }
  }

  /// By its button, or left to its time-out.
  void end_round(DeviceId plate, std::size_t person) {
    if (one_in(2)) {
      script(person).push_back(press(plate, plate_family().leave));
      return;
    }
    left_.push_back({plate, ends(person) + plate_family().time_out.after + seconds{1}});
  }

  /// Nobody begins with a plate while another that it hears may still be in setup.
  void wait_for_those_who_hear(DeviceId plate, std::size_t person) {
    sim::Instant until = ends(person);
    for (const Left& each : left_) {
      const bool apart = wired() && bus_of(each.plate) != bus_of(plate);
      if (!apart) until = std::max(until, each.over);
    }
    if (until <= ends(person)) return;
    Step wait;
    wait.duration = until - ends(person) + seconds{below(one_in(3) ? 40'000 : 60)};
    script(person).push_back(std::move(wait));
  }

  /// When all is done, and no plate is in setup any more: does everybody answer?
  void check_what_answers(std::size_t person) {
    if (one_in(2)) return;
    std::vector<Step>& steps = script(person);
    Step wait;
    wait.duration = plate_family().time_out.after + seconds{1 + below(one_in(2) ? 30 : 90'000)};
    steps.push_back(std::move(wait));
    for (const Zone& zone : zones_) {
      for (const DeviceId plate : zone.plates) {
        const auto button = static_cast<model::Button>(below(plate_family().buttons.size()));
        steps.push_back(press(plate, button));
        if (one_in(2)) steps.push_back(press(plate, plate_family().next));
      }
    }
  }

  struct Left {
    DeviceId plate = 0;
    sim::Instant over{};
  };

  sim::Stream draws_;
  model::Scenario scenario_;
  std::uint8_t number_ = 0;
  bool intended_told_ = true;
  bool neighbour_plate_ = false;
  std::size_t buses_ = 1;
  std::vector<Zone> zones_;
  std::array<std::uint8_t, 3> channels_{};
  std::vector<std::size_t> bus_of_plate_;
  std::vector<std::size_t> bus_of_module_;
  std::vector<Address> addresses_;
  std::vector<Left> left_;
  sim::Instant free_at_ = sim::start_of_run;
};

}  // namespace

model::Scenario correct_install(const std::vector<model::Family>& families, std::uint64_t seed) {
  return InstallMaker{families, seed}.make();
}

std::vector<model::Family> families_in(const std::string& folder) {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator{folder}) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path().string());
  }
  std::sort(files.begin(), files.end());
  std::vector<model::Family> families;
  for (const std::string& file : files) {
    families.push_back(tools::load_family(file).family);
  }
  return families;
}

namespace {

/// The neighbour pressed at the very moment: what came of that is no fault of the findings.
bool collided(const sim::Record& record) {
  return std::any_of(record.entries().begin(), record.entries().end(), [](const sim::Entry& entry) {
    return model::what(entry) == model::What::lost && model::why_lost(entry) == sim::Loss::collision;
  });
}

}  // namespace

std::string accusation(const model::Scenario& scenario) {
  const model::RunResult result = model::run(scenario);
  if (result.unfinished) return "the install does not end";
  if (scenario.people.back().name == "neighbour" && collided(result.record)) return {};
  for (std::size_t i = 0; i < scenario.site.modules.size(); ++i) {
    const model::ModuleSpec& module = scenario.site.modules[i];
    const model::ModuleMemory& memory = result.world.modules[i].memory;
    if (!memory.addressed() || (module.intended && memory.address != *module.intended))
      return fmt::format("{} did not get its address", module.name);
  }
  if (result.findings.empty()) return {};
  const model::Finding& first = result.findings.front();
  return fmt::format("{}: {}", to_string(first.id), first.text);
}

}  // namespace drybus::tests
