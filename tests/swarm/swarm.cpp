#include "tests/swarm/swarm.h"

#include <fmt/format.h>

#include <array>

#include "model/record/trace.h"
#include "sim/random.h"

namespace drybus::tests {

namespace {

using model::DeviceId;
using model::Step;
using model::StepKind;
using model::what;
using model::What;
using sim::Entry;
using sim::EntryId;

// --- making a case ---

/// What a case does, and how often as against the rest; most are left out of most cases.
enum Deed : std::size_t {
  press,
  hold,
  setup,
  install,
  wait,
  long_wait,
  switches,
  power,
  power_all,
  link,
  button,
  deaf,
  deeds
};

class CaseMaker {
 public:
  CaseMaker(const std::vector<model::Family>& families, std::uint64_t seed)
      : draws_{seed, sim::Purpose::generator, 0} {
    scenario_.title = fmt::format("swarm case {}", seed);
    scenario_.seed = seed;
    scenario_.site.family = families[below(families.size())];
  }

  model::Scenario make() {
    make_site();
    for (std::size_t& weight : weights_) weight = below(2) == 0 ? 0 : 1 + below(5);
    weights_[setup] += 2;
    weights_[press] += 2;
    weights_[wait] += 1;
    // Who hardly pauses cuts the power in the middle of things.
    scenario_.times.pause =
        up_to(below(2) == 0 ? std::chrono::milliseconds{5} : std::chrono::milliseconds{400});
    const std::size_t people = 1 + below(2);
    for (std::size_t i = 0; i < people; ++i) make_person(i);
    return std::move(scenario_);
  }

 private:
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(draws_.below(n)); }
  std::uint8_t byte_below(std::size_t n) { return static_cast<std::uint8_t>(below(n)); }

  // --- the site ---

  void make_site() {
    model::Site& site = scenario_.site;
    const std::size_t places = 1 + below(3);
    for (std::size_t i = 0; i < places; ++i) site.places.push_back({fmt::format("room {}", i + 1)});
    site.walks = model::shortest_walks(places, {}, std::chrono::seconds{5 + below(120)});
    const std::size_t plates = 1 + below(3), modules = 1 + below(6);
    for (std::size_t i = 0; i < plates; ++i) make_plate(i);
    for (std::size_t i = 0; i < modules; ++i) make_module(i);
    model::build_network(site,
                         {site.family.medium == sim::MediumKind::line ? random_tree() : random_reach()});
  }

  model::PlaceId some_place() { return static_cast<model::PlaceId>(below(scenario_.site.places.size())); }

  std::uint8_t some_site_number() {
    return byte_below(2) == 0 ? 1 : byte_below(scenario_.site.family.plate.site_switches.largest() + 1u);
  }

  void make_plate(std::size_t index) {
    const model::PlateFamily& family = scenario_.site.family.plate;
    scenario_.site.plates.push_back({fmt::format("P{}", index + 1), "", some_place(), some_site_number(),
                                     byte_below(family.zone_switches.largest() + 1u), below(8) == 0});
  }

  void make_module(std::size_t index) {
    const model::Family& family = scenario_.site.family;
    model::ModuleSpec module;
    module.name = fmt::format("M{}", index + 1);
    module.place = some_place();
    module.memory = model::factory_memory(family.module);
    const model::Address address{some_site_number(),
                                 static_cast<std::uint8_t>(1 + below(family.plate.zone_switches.largest())),
                                 static_cast<std::uint8_t>(1 + below(family.plate.channels))};
    if (below(2) == 0) module.intended = address;
    if (below(3) == 0) module.memory.address = address;
    module.memory.power_up = static_cast<model::PowerUp>(below(3));
    scenario_.site.modules.push_back(std::move(module));
  }

  [[nodiscard]] sim::MediumSpec empty_bus() const {
    const model::Site& site = scenario_.site;
    sim::MediumSpec bus{site.family.medium, site.family.bus, {}, {}};
    for (std::size_t i = 0; i < site.device_count(); ++i) bus.nodes.push_back(static_cast<sim::NodeId>(i));
    return bus;
  }

  sim::MediumSpec random_tree() {
    sim::MediumSpec bus = empty_bus();
    for (std::size_t i = 1; i < bus.nodes.size(); ++i)
      bus.links.push_back({static_cast<sim::NodeId>(below(i)), bus.nodes[i]});
    return bus;
  }

  sim::MediumSpec random_reach() {
    sim::MediumSpec bus = empty_bus();
    for (sim::NodeId a = 0; a < bus.nodes.size(); ++a) {
      for (auto b = static_cast<sim::NodeId>(a + 1); b < bus.nodes.size(); ++b) {
        if (below(5) != 0) bus.links.push_back({a, b});
      }
    }
    return bus;
  }

  // --- what people do ---

  void make_person(std::size_t index) {
    model::Person person{index == 0 ? "installer" : "visitor", some_place(), {}};
    for (std::size_t deeds_left = 5 + below(40); deeds_left > 0; --deeds_left) {
      const Deed deed = some_deed();
      if (deed == install) {
        add_install(person.script);
      } else {
        person.script.push_back(step_of(deed));
      }
    }
    scenario_.people.push_back(std::move(person));
  }

  DeviceId some_device() { return static_cast<DeviceId>(below(scenario_.site.device_count())); }

  model::Buttons some_buttons(DeviceId device) {
    if (!scenario_.site.is_plate(device)) return model::only(0);
    const std::size_t count = scenario_.site.family.plate.buttons.size();
    const model::Buttons one = model::only(byte_below(count));
    return below(6) == 0 ? static_cast<model::Buttons>(one | model::only(byte_below(count))) : one;
  }

  sim::Duration up_to(sim::Duration most) {
    return sim::Duration{1 +
                         static_cast<std::int64_t>(draws_.below(static_cast<std::uint64_t>(most.count())))};
  }

  Deed some_deed() {
    std::size_t all = 0;
    for (const std::size_t weight : weights_) all += weight;
    std::size_t drawn = below(all);
    for (std::size_t deed = 0; deed < deeds; ++deed) {
      if (drawn < weights_[deed]) return static_cast<Deed>(deed);
      drawn -= weights_[deed];
    }
    return wait;
  }

  /// A module and a plate in setup, a channel, an assign; sometimes with the power cut at once.
  void add_install(std::vector<Step>& script) {
    const model::Site& site = scenario_.site;
    const model::PlateFamily& family = site.family.plate;
    const auto plate = static_cast<DeviceId>(below(site.plates.size()));
    const DeviceId module = site.module_id(below(site.modules.size()));
    const auto short_press = [&](model::Button button) {
      return model::push_step(StepKind::press, plate, model::only(button),
                              site.family.debounce + up_to(std::chrono::milliseconds{40}));
    };
    script.push_back(setup_step(module));
    script.push_back(setup_step(plate));
    for (std::size_t presses = below(4); presses > 0; --presses)
      script.push_back(short_press(below(4) == 0 ? family.previous : family.next));
    script.push_back(short_press(family.assign));
    if (below(3) == 0) script.push_back(power_step(below(2) == 0 ? module : model::no_device));
  }

  Step setup_step(DeviceId device) {
    const model::Site& site = scenario_.site;
    return model::push_step(StepKind::hold, device, site.setup_gesture(device),
                            site.setup_hold(device) + up_to(std::chrono::milliseconds{300}));
  }

  Step step_of(Deed deed) {
    using std::chrono::milliseconds, std::chrono::seconds, std::chrono::minutes;
    const DeviceId device = some_device();
    switch (deed) {
      case press: {
        Step step = model::push_step(StepKind::press, device, some_buttons(device), up_to(milliseconds{600}));
        if (below(8) == 0) step.bounce = up_to(step.duration);
        return step;
      }
      case hold:
        return model::push_step(StepKind::hold, device, some_buttons(device), up_to(seconds{40}));
      case setup:
        return setup_step(device);
      case wait:
        return wait_step(up_to(seconds{8}));
      case long_wait:
        return wait_step(up_to(below(4) == 0 ? minutes{70} : minutes{8}));
      case switches:
        return switches_step();
      case power:
        return power_step(device);
      case power_all:
        return power_step(model::no_device);
      case link:
        return link_step();
      case button:
        return button_step(device);
      case deaf:
        return deaf_step(device);
      case install:
      case deeds:
        break;
    }
    return wait_step(seconds{1});
  }

  static Step wait_step(sim::Duration duration) {
    Step step;
    step.duration = duration;
    return step;
  }

  Step switches_step() {
    Step step;
    step.kind = StepKind::switches;
    step.device = static_cast<DeviceId>(below(scenario_.site.plates.size()));
    if (below(2) == 0) step.site = some_site_number();
    if (!step.site || below(2) == 0)
      step.zone = byte_below(scenario_.site.family.plate.zone_switches.largest() + 1u);
    return step;
  }

  Step power_step(DeviceId device) {
    Step step;
    step.kind = StepKind::power;
    step.device = device;
    step.on = below(2) == 0;
    return step;
  }

  static Step fault_step(const model::Fault& fault) {
    Step step;
    step.kind = StepKind::fault;
    step.fault = fault;
    return step;
  }

  Step link_step() {
    if (scenario_.site.network.links.empty()) return wait_step(std::chrono::seconds{1});
    model::Fault fault;
    fault.kind = std::array{model::FaultKind::open, model::FaultKind::shorted, model::FaultKind::noisy,
                            model::FaultKind::mend}[below(4)];
    fault.link = static_cast<std::uint32_t>(below(scenario_.site.network.links.size()));
    if (fault.kind == model::FaultKind::noisy)
      fault.bit_error_ppb = static_cast<std::uint32_t>(1 + below(20'000'000));
    return fault_step(fault);
  }

  Step button_step(DeviceId device) {
    model::Fault fault;
    fault.kind = below(2) == 0 ? model::FaultKind::stuck : model::FaultKind::freed;
    fault.device = device;
    fault.button = scenario_.site.is_plate(device) ? byte_below(scenario_.site.family.plate.buttons.size())
                                                   : model::Button{0};
    return fault_step(fault);
  }

  Step deaf_step(DeviceId device) {
    model::Fault fault;
    fault.kind = model::FaultKind::deaf;
    fault.device = device;
    fault.count = static_cast<std::uint16_t>(1 + below(3));
    return fault_step(fault);
  }

  sim::Stream draws_;
  model::Scenario scenario_;
  std::array<std::size_t, deeds> weights_{};
};

// --- what must hold ---

/// Goes through a record entry by entry and keeps what the next ones are held against.
class RecordJudge {
 public:
  RecordJudge(const model::Scenario& scenario, const sim::Record& record)
      : record_(record),
        plates_(scenario.site.plates.size()),
        factory_(model::factory_memory(scenario.site.family.module).address),
        on_(scenario.site.device_count(), true),
        sending_(on_.size(), sim::no_entry) {
    for (const model::ModuleSpec& module : scenario.site.modules) addresses_.push_back(module.memory.address);
  }

  /// Empty when all entries are in order.
  std::string judge() {
    for (EntryId id = 1; id <= record_.size(); ++id) {
      if (std::string wrong = judge(id, record_[id]); !wrong.empty())
        return fmt::format("entry {} ({} of {}): {}", id, model::to_string(what(record_[id])),
                           record_[id].who, wrong);
      at_ = record_[id].at;
    }
    return {};
  }

  [[nodiscard]] bool is_sending(DeviceId device) const { return sending_[device] != sim::no_entry; }
  [[nodiscard]] model::Address address(std::size_t module) const { return addresses_[module]; }

 private:
  std::string judge(EntryId id, const Entry& entry) {
    if (entry.at < at_) return "time runs back";
    if (entry.cause >= id || entry.because >= id) return "its cause comes after it";
    switch (what(entry)) {
      case What::power:
        on_[entry.who] = entry.a != 0;
        return {};
      case What::indicator:
        return on_[entry.who] || entry.a == 0 ? "" : "an indicator shines without power";
      case What::sent:
        return began_to_send(id, entry);
      case What::sent_whole:
        return sent_whole(entry);
      case What::lost:
        return lost(entry);
      case What::heard:
        return heard(entry);
      case What::stored:
        return stored(entry);
      case What::link:
        noisy_ = noisy_ || static_cast<sim::LinkState>(entry.b & 0xff) == sim::LinkState::noisy;
        return {};
      case What::store_torn:
        addresses_[entry.who - plates_] = factory_;
        return {};
      case What::timer:
      case What::gesture:
      case What::queued:
      case What::obeyed:
      case What::store_begun:
      case What::channel:
      case What::refused:
        return on_[entry.who] ? "" : "it does something without power";
      case What::level:
        return (entry.a & 0xffff) <= model::full_level && (entry.a >> 16) <= model::full_level
                   ? ""
                   : "a level beyond full";
      case What::began:
      case What::step:
      case What::walked:
      case What::arrived:
      case What::contact:
      case What::misread:
      case What::mode:
      case What::deferred:
      case What::gave_up:
      case What::dropped:
      case What::assign_ignored:
      case What::level_reached:
      case What::power_up:
      case What::blips:
      case What::blip_unshown:
      case What::switches:
      case What::stuck:
      case What::deaf:
      case What::checked:
      case What::said:
        return {};
    }
    return "an entry of no kind";
  }

  std::string began_to_send(EntryId id, const Entry& entry) {
    if (!on_[entry.who]) return "it sends without power";
    if (is_sending(entry.who)) return "it sends two telegrams at once";
    sending_[entry.who] = id;
    return {};
  }

  std::string sent_whole(const Entry& entry) {
    if (!is_sending(entry.who)) return "it ends what it never began";
    const Entry& began = record_[sending_[entry.who]];
    if (began.b != entry.b) return "it ends another telegram than it began";
    if (entry.at <= began.at) return "a telegram takes no time";
    sending_[entry.who] = sim::no_entry;
    return {};
  }

  std::string lost(const Entry& entry) {
    const auto sender = model::lost_sender(entry);
    if (model::why_lost(entry) == sim::Loss::cut_short && sender == entry.who)
      sending_[sender] = sim::no_entry;
    return {};
  }

  /// Conservation: what is heard was sent, whole, by that sender, just now. Of frames that noise damages, one
  /// in about 2^16 has a CRC that fits all the same (the residual error of any 16-bit CRC), and is heard as
  /// something else.
  std::string heard(const Entry& entry) {
    if (!on_[entry.who]) return "it hears without power";
    if (entry.a == entry.who) return "it hears itself";
    if (entry.cause == sim::no_entry) return "nobody sent what it heard";
    const Entry& cause = record_[entry.cause];
    const bool was_sent = what(cause) == What::sent_whole && cause.who == entry.a && cause.at == entry.at;
    if (was_sent && cause.b != entry.b && !noisy_) return "it heard something else than was sent";
    return was_sent ? "" : "it heard what was not sent";
  }

  /// An address changes by an assign that was heard, and by nothing else.
  std::string stored(const Entry& entry) {
    if (!on_[entry.who]) return "it writes without power";
    const model::Address now{static_cast<std::uint8_t>(entry.a), static_cast<std::uint8_t>(entry.a >> 8),
                             static_cast<std::uint8_t>(entry.a >> 16)};
    model::Address& before = addresses_[entry.who - plates_];
    if ((now != before) != (entry.b != 0)) return "it does not say whether its address changed";
    if (now != before && !comes_of_assign(entry, now)) return "its address changed without an assign";
    before = now;
    return {};
  }

  [[nodiscard]] bool comes_of_assign(const Entry& stored, model::Address address) const {
    for (EntryId id = stored.cause; id != sim::no_entry; id = record_[id].cause) {
      if (what(record_[id]) != What::heard || record_[id].who != stored.who) continue;
      const model::Telegram told = model::unpack(record_[id].b);
      return told.kind == model::TelegramKind::assign &&
             model::Address{told.site, told.zone, told.channel} == address;
    }
    return false;
  }

  const sim::Record& record_;
  std::size_t plates_;
  model::Address factory_;
  std::vector<bool> on_;
  std::vector<EntryId> sending_;  ///< by device: where it began
  std::vector<model::Address> addresses_;
  sim::Instant at_ = sim::start_of_run;
  bool noisy_ = false;  ///< some link has been
};

std::string broken_in_world(const model::Scenario& scenario, const model::World& world,
                            const RecordJudge& judge) {
  for (DeviceId device = 0; device < world.devices.size(); ++device) {
    const bool sends = world.medium.nodes()[device].sending != 0;
    if (judge.is_sending(device) != sends)
      return fmt::format("{}: a telegram never ended", scenario.site.name(device));
  }
  for (std::size_t i = 0; i < world.modules.size(); ++i) {
    if (world.modules[i].memory.address != judge.address(i))
      return fmt::format("{}: its address is not the one that the record has", scenario.site.modules[i].name);
  }
  if (world.queue.next_at() < world.now) return "something is still due that should have happened";
  return {};
}

}  // namespace

model::Scenario swarm_scenario(const std::vector<model::Family>& families, std::uint64_t seed) {
  return CaseMaker{families, seed}.make();
}

std::string broken_invariant(const model::Scenario& scenario, const model::RunResult& result) {
  RecordJudge judge{scenario, result.record};
  if (std::string wrong = judge.judge(); !wrong.empty()) return wrong;
  return broken_in_world(scenario, result.world, judge);
}

std::string swarm_case(const std::vector<model::Family>& families, std::uint64_t seed, SwarmTally& met) {
  const model::Scenario scenario = swarm_scenario(families, seed);
  const model::RunResult result = model::run(scenario);
  for (const Entry& entry : result.record.entries()) ++met[entry.kind];
  if (std::string wrong = broken_invariant(scenario, result); !wrong.empty()) return wrong;
  // Now and then the other promise as well: once more, and the same.
  if (seed % 16 == 0 && model::run(scenario).digest != result.digest) return "two runs differ";
  return {};
}

}  // namespace drybus::tests
