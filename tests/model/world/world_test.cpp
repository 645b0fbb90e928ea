// The world as a value: copies go on alike, equal worlds have equal digests, and nobody's chances depend on
// the others.
#include "model/world/world.h"

#include <doctest/doctest.h>

#include <functional>
#include <map>
#include <tuple>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

sim::Fingerprint digest(const World& world) {
  sim::Digest digest;
  add_to(digest, world);
  return digest.value();
}

Fault fault_of_link(FaultKind kind, std::uint32_t link, std::uint32_t bit_error_ppb = 0) {
  Fault fault;
  fault.kind = kind;
  fault.link = link;
  fault.bit_error_ppb = bit_error_ppb;
  return fault;
}

/// A little of everything: addresses, two people pressing at once, noise, an open link, a deaf module, a
/// power cut.
Scenario lively_scenario(std::size_t modules = 3, std::size_t plates = 2) {
  Scenario scenario = small_scenario(modules, plates);
  scenario.people.push_back({"colleague", 0, {}});
  Script installer{scenario};
  address(installer, "P1", "M1", 1);
  installer.fault(fault_of_link(FaultKind::noisy, 0, 5'000'000));
  address(installer, "P1", "M2", 2);
  installer.at(40s).press("P1", off).press("P1", accept).press("P1", off).hold("P1", up, 2s).press("P1", one);
  installer.fault(fault_of_link(FaultKind::open, 1)).press("P1", up).fault(fault_of_link(FaultKind::mend, 1));
  Fault deaf;
  deaf.kind = FaultKind::deaf;
  deaf.device = scenario.site.find_device("M2").value();
  deaf.count = 2;
  installer.fault(deaf).press("P1", off).press("P1", up);
  installer.hold("M1", 0, 4s).power("M1", false).power("M1", true).switches("P2", 23, 4);
  installer.at(70s).press("P1", up);
  Script colleague{scenario, 1};
  colleague.at(5s);
  for (int i = 0; i < 20; ++i) colleague.press("P2", i % 2 == 0 ? off : accept);
  // Three milliseconds after the installer, while the bus is busy; later at the very same moment.
  colleague.at(40003ms).press("P2", off).press("P2", accept).press("P2", off).hold("P2", down, 2s);
  colleague.at(70s).press("P2", up);
  for (int i = 0; i < 6; ++i) colleague.press("P2", i % 2 == 0 ? off : accept);
  return scenario;
}

/// A run that can be stopped at any event.
struct Stage {
  explicit Stage(const Scenario& of_scenario, bool recorded = true)
      : scenario(of_scenario), world(initial_world(scenario)), kept(recorded) {
    with([](Simulation& simulation) { simulation.begin(); });
  }
  template <class Do>
  void with(Do work) {
    Simulation simulation{scenario, world, kept ? &record : nullptr};
    work(simulation);
  }
  [[nodiscard]] bool over() {
    bool done = false;
    with([&](Simulation& simulation) { done = simulation.scripts_done(); });
    return done;
  }
  void step() {
    with([](Simulation& simulation) { simulation.step(); });
  }
  void finish() {
    with([](Simulation& simulation) {
      while (!simulation.scripts_done()) simulation.step();
    });
  }

  const Scenario& scenario;
  World world;
  sim::Record record;
  bool kept;
};

/// Everything in a world but the causes, in a form that can be compared.
auto without_causes(const World& world) {
  std::vector<std::tuple<sim::Instant, std::uint64_t, std::uint16_t, std::uint16_t, std::uint32_t>> events;
  world.queue.for_each(
      [&](sim::Instant at, std::uint64_t order, const sim::Event& event, sim::EventQueue::Handle) {
        events.emplace_back(at, order, event.kind, event.who, event.arg);
      });
  std::sort(events.begin(), events.end());
  const auto waiting = world.medium.waiting();
  const auto sent = world.medium.on_the_medium();
  const auto missed = world.medium.missed();
  const auto impairments = world.medium.impairments();
  const auto nodes = world.medium.nodes();
  std::vector<sim::Medium::Waiting> waits{waiting.begin(), waiting.end()};
  for (sim::Medium::Waiting& w : waits) w.cause = 0;
  std::vector<sim::Medium::Transmission> sendings{sent.begin(), sent.end()};
  for (sim::Medium::Transmission& t : sendings) t.cause = 0;
  return std::tuple{world.now,
                    world.seed,
                    events,
                    waits,
                    sendings,
                    std::vector<sim::Medium::Missed>{missed.begin(), missed.end()},
                    std::vector<sim::Medium::Impairment>{impairments.begin(), impairments.end()},
                    std::vector<sim::Medium::NodeState>{nodes.begin(), nodes.end()},
                    world.devices,
                    world.plates,
                    world.modules,
                    world.loads,
                    world.people};
}

/// How often an entry of a kind occurs.
std::size_t count(const sim::Record& record, What kind) {
  return static_cast<std::size_t>(
      std::count_if(record.entries().begin(), record.entries().end(),
                    [kind](const sim::Entry& entry) { return what(entry) == kind; }));
}

}  // namespace

TEST_SUITE("world") {
  TEST_CASE("the lively run has what the tests below need") {
    const RunResult result = run(lively_scenario());
    CHECK(count(result.record, What::lost) > 5);
    CHECK(count(result.record, What::deferred) > 1);
    CHECK(count(result.record, What::stored) >= 2);
    CHECK(count(result.record, What::power) == 2);
    CHECK(count(result.record, What::link) == 3);
    const auto collided = [](const sim::Entry& entry) {
      return what(entry) == What::lost && why_lost(entry) == sim::Loss::collision;
    };
    const auto noisy = [](const sim::Entry& entry) {
      return what(entry) == What::lost && why_lost(entry) == sim::Loss::noise;
    };
    CHECK(std::any_of(result.record.entries().begin(), result.record.entries().end(), collided));
    CHECK(std::any_of(result.record.entries().begin(), result.record.entries().end(), noisy));
  }

  TEST_CASE("a run forked at any event and finished ends like the original") {
    const Scenario scenario = lively_scenario();
    Stage original{scenario};
    original.finish();
    const sim::Fingerprint expected = digest_of(original.record, original.world);
    Stage stage{scenario};
    std::size_t forks = 0;
    while (!stage.over()) {
      Stage fork = stage;
      fork.finish();
      REQUIRE(digest_of(fork.record, fork.world) == expected);
      REQUIRE(fork.world == original.world);
      REQUIRE(fork.record == original.record);
      stage.step();
      ++forks;
    }
    CHECK(forks > 300);
  }

  TEST_CASE("a fork is not disturbed by what the original does meanwhile") {
    const Scenario scenario = lively_scenario();
    Stage original{scenario};
    for (int i = 0; i < 100; ++i) original.step();
    const Stage fork = original;
    const World kept = fork.world;
    original.finish();
    CHECK(fork.world == kept);
    CHECK(fork.world != original.world);
  }

  TEST_CASE("worlds that are equal go on alike, event by event") {
    const Scenario scenario = lively_scenario();
    Stage a{scenario};
    for (int i = 0; i < 37; ++i) a.step();
    Stage b = a;
    while (!a.over()) {
      a.step();
      REQUIRE(a.world != b.world);
      REQUIRE(digest(a.world) != digest(b.world));
      b.step();
      REQUIRE(a.world == b.world);
      REQUIRE(digest(a.world) == digest(b.world));
      REQUIRE(hash_of(a.world) == hash_of(b.world));
    }
  }

  TEST_CASE("the same scenario and seed give the same digest, another seed another one") {
    const Scenario scenario = lively_scenario();
    const sim::Fingerprint once = run(scenario).digest;
    CHECK(run(scenario).digest == once);
    RunOptions options;
    options.seed = scenario.seed + 1;
    CHECK(run(scenario, options).digest != once);
  }

  TEST_CASE("a run that nobody records leaves the same world, causes apart, at every event") {
    const Scenario scenario = lively_scenario();
    Stage recorded{scenario};
    Stage unrecorded{scenario, false};
    while (!recorded.over()) {
      REQUIRE(without_causes(recorded.world) == without_causes(unrecorded.world));
      recorded.step();
      unrecorded.step();
    }
    CHECK(without_causes(recorded.world) == without_causes(unrecorded.world));
    CHECK(unrecorded.record.size() == 0);
  }

  TEST_CASE("a recorded run that is taken up again beside its record goes on as if never put down") {
    // Stage makes a new Simulation for every step; this one keeps its own.
    const Scenario scenario = lively_scenario();
    World world = initial_world(scenario);
    sim::Record record;
    Simulation simulation{scenario, world, &record};
    simulation.begin();
    while (!simulation.scripts_done()) simulation.step();
    Stage stage{scenario};
    stage.finish();
    Stage stopped{scenario};
    while (!stopped.over()) stopped.step();
    CHECK(stopped.record == record);
    CHECK(stopped.world == world);
    CHECK(stage.record == record);
  }

  TEST_CASE("every cause in a record is an earlier entry, and times never fall") {
    const RunResult result = run(lively_scenario());
    sim::Instant latest = sim::start_of_run;
    for (sim::EntryId id = 1; id <= result.record.size(); ++id) {
      const sim::Entry& entry = result.record[id];
      REQUIRE(entry.cause < id);
      REQUIRE(entry.because < id);
      REQUIRE(entry.at >= latest);
      REQUIRE((entry.cause != sim::no_entry || what(entry) == What::began));
      latest = entry.at;
    }
  }

  TEST_CASE("a device more shifts nobody else's draws") {
    struct Told {
      std::map<std::string, std::tuple<std::uint32_t, std::uint32_t>> draws;
      std::vector<std::tuple<sim::Instant, std::string, std::uint16_t, std::uint64_t>> story;
    };
    const auto told = [](const Scenario& scenario) {
      const RunResult result = run(scenario);
      Told all;
      const auto old = [&](DeviceId who) {
        return scenario.site.name(who) != "M9" && scenario.site.name(who) != "P9";
      };
      for (DeviceId id = 0; id < scenario.site.device_count(); ++id) {
        const sim::Medium::NodeState& node = result.world.medium.nodes()[id];
        if (old(id)) all.draws[scenario.site.name(id)] = {node.backoff_draws, node.damage_draws};
      }
      for (const sim::Entry& entry : result.record.entries()) {
        const What kind = what(entry);
        const bool of_the_medium =
            kind == What::sent || kind == What::deferred || kind == What::heard || kind == What::lost;
        if (of_the_medium && old(entry.who)) {
          all.story.emplace_back(entry.at, scenario.site.name(entry.who), entry.kind, entry.b);
        }
      }
      return all;
    };
    const Told before = told(lively_scenario());
    CHECK(before.draws.at("M1") != std::tuple{0u, 0u});
    const auto with_one_more = [](bool plate) {
      Scenario scenario = lively_scenario(plate ? 3 : 4, plate ? 3 : 2);
      if (plate) {
        scenario.site.plates.back().name = "P9";
      } else {
        scenario.site.modules.back().name = "M9";
      }
      // Wired at the end, so that the links that are noisy or open stay the ones they were.
      sim::MediumSpec line{sim::MediumKind::line, scenario.site.family.bus, {}, {}};
      const auto added = static_cast<sim::NodeId>(plate ? 2 : 5);
      std::vector<sim::NodeId> order;
      for (sim::NodeId node = 0; node < 6; ++node) {
        line.nodes.push_back(node);
        if (node != added) order.push_back(node);
      }
      order.push_back(added);
      for (std::size_t i = 0; i + 1 < order.size(); ++i) line.links.push_back({order[i], order[i + 1]});
      build_network(scenario.site, {line});
      return scenario;
    };
    for (const bool plate : {false, true}) {
      CAPTURE(plate);
      const Told after = told(with_one_more(plate));
      CHECK(after.draws == before.draws);
      CHECK(after.story == before.story);
    }
  }
}

// --- every field counts ---

namespace {

/// A world in mid-run with something of everything in it.
World full_world(const Scenario& scenario) {
  Stage stage{scenario};
  const auto rich = [](const World& world) {
    return !world.medium.waiting().empty() && !world.medium.on_the_medium().empty() && world.queue.size() > 8;
  };
  while (!rich(stage.world)) {
    REQUIRE_FALSE(stage.over());
    stage.step();
  }
  World world = stage.world;
  world.medium.set_link(scenario.site.network, 2, sim::LinkState::open);
  world.medium.set_link(scenario.site.network, 2,
                        sim::LinkState::sound);  // whoever was cut off misses the frame
  world.medium.set_link(scenario.site.network, 3, sim::LinkState::noisy, 1000);
  return world;
}

/// The medium guards its insides; a test that has to try every field does not ask.
template <class T>
T& inside(std::span<const T> values, std::size_t index = 0) {
  REQUIRE(values.size() > index);
  return const_cast<T&>(values[index]);  // NOLINT(cppcoreguidelines-pro-type-const-cast): see above
}

struct Mutation {
  const char* field;
  std::function<void(World&)> change;
};

std::vector<Mutation> mutations_of_the_medium() {
  using Node = sim::Medium::NodeState;
  const auto node = [](auto change) {
    return [change](World& w) { change(inside<Node>(w.medium.nodes())); };
  };
  const auto waiting = [](auto change) { return [change](World& w) { change(inside(w.medium.waiting())); }; };
  const auto sent = [](auto change) {
    return [change](World& w) { change(inside(w.medium.on_the_medium())); };
  };
  const auto missed = [](auto change) { return [change](World& w) { change(inside(w.medium.missed())); }; };
  const auto impairment = [](auto change) {
    return [change](World& w) { change(inside(w.medium.impairments())); };
  };
  return {
      {"node.backoff_draws", node([](Node& n) { ++n.backoff_draws; })},
      {"node.damage_draws", node([](Node& n) { ++n.damage_draws; })},
      {"node.component", node([](Node& n) { ++n.component; })},
      {"node.powered", node([](Node& n) { n.powered ^= 1; })},
      {"node.sending", node([](Node& n) { n.sending ^= 1; })},
      {"node.attempts", node([](Node& n) { ++n.attempts; })},
      {"node.waiting", node([](Node& n) { ++n.waiting; })},
      {"node.deaf_for", node([](Node& n) { ++n.deaf_for; })},
      {"waiting.node", waiting([](auto& w) { ++w.node; })},
      {"waiting.cause", waiting([](auto& w) { ++w.cause; })},
      {"waiting.frame.size", waiting([](auto& w) { ++w.frame.size; })},
      {"waiting.frame.bytes", waiting([](auto& w) { ++w.frame.bytes[6]; })},
      {"transmission.begin", sent([](auto& t) { t.begin += 1ns; })},
      {"transmission.end", sent([](auto& t) { t.end += 1ns; })},
      {"transmission.node", sent([](auto& t) { ++t.node; })},
      {"transmission.ended", sent([](auto& t) { t.ended = !t.ended; })},
      {"transmission.cause", sent([](auto& t) { ++t.cause; })},
      {"transmission.frame.size", sent([](auto& t) { ++t.frame.size; })},
      {"transmission.frame.bytes", sent([](auto& t) { ++t.frame.bytes[0]; })},
      {"missed.sender", missed([](auto& m) { ++m.sender; })},
      {"missed.receiver", missed([](auto& m) { ++m.receiver; })},
      {"missed.loss", missed([](auto& m) { m.loss = sim::Loss::noise; })},
      {"impairment.link", impairment([](auto& i) { ++i.link; })},
      {"impairment.state", impairment([](auto& i) { i.state = sim::LinkState::open; })},
      {"impairment.bit_error_ppb", impairment([](auto& i) { ++i.bit_error_ppb; })},
  };
}

std::vector<Mutation> mutations_of_devices() {
  const auto device = [](auto change) { return [change](World& w) { change(w.devices[0]); }; };
  const auto plate = [](auto change) { return [change](World& w) { change(w.plates[0]); }; };
  const auto module = [](auto change) { return [change](World& w) { change(w.modules[0]); }; };
  const auto load = [](auto change) { return [change](World& w) { change(w.loads[0]); }; };
  const auto person = [](auto change) { return [change](World& w) { change(w.people[0]); }; };
  return {
      {"device.contacts", device([](auto& d) { d.contacts ^= 0x8000; })},
      {"device.stuck", device([](auto& d) { d.stuck ^= 0x8000; })},
      {"device.powered", device([](auto& d) { d.powered ^= 1; })},
      {"device.setup_ended_by", device([](auto& d) { d.setup_ended_by = ModeReason::power; })},
      {"device.indicator", device([](auto& d) { d.indicator = Pattern::refuse; })},
      {"device.mode", device([](auto& d) { d.mode = d.mode == Mode::setup ? Mode::normal : Mode::setup; })},
      {"device.believed_in_setup", device([](auto& d) { d.believed_in_setup ^= 1; })},
      {"device.was_in_setup", device([](auto& d) { d.was_in_setup ^= 1; })},
      {"plate.mode", plate([](auto& p) { p.mode = p.mode == Mode::setup ? Mode::normal : Mode::setup; })},
      {"plate.channel", plate([](auto& p) { ++p.channel; })},
      {"plate.site", plate([](auto& p) { ++p.site; })},
      {"plate.zone", plate([](auto& p) { ++p.zone; })},
      {"plate.down", plate([](auto& p) { p.down ^= 0x8000; })},
      {"plate.tracked", plate([](auto& p) { --p.tracked; })},
      {"plate.spent", plate([](auto& p) { p.spent ^= 1; })},
      {"plate.settling", plate([](auto& p) { p.settling ^= 1; })},
      {"plate.moving", plate([](auto& p) { p.moving ^= 1; })},
      {"plate.awake", plate([](auto& p) { p.awake ^= 1; })},
      {"plate.refusing", plate([](auto& p) { p.refusing ^= 1; })},
      {"plate.blipping", plate([](auto& p) { p.blipping ^= 1; })},
      {"plate.shown", plate([](auto& p) { p.shown = Pattern::breathe; })},
      {"module.memory.address.site", module([](auto& m) { ++m.memory.address.site; })},
      {"module.memory.address.zone", module([](auto& m) { ++m.memory.address.zone; })},
      {"module.memory.address.channel", module([](auto& m) { ++m.memory.address.channel; })},
      {"module.memory.power_up", module([](auto& m) { m.memory.power_up = PowerUp::last; })},
      {"module.memory.last_level", module([](auto& m) { ++m.memory.last_level; })},
      {"module.memory.scenes", module([](auto& m) { ++m.memory.scenes[7]; })},
      {"module.writing.address", module([](auto& m) { ++m.writing.address.zone; })},
      {"module.writing.scenes", module([](auto& m) { ++m.writing.scenes[0]; })},
      {"module.target", module([](auto& m) { ++m.target; })},
      {"module.mode", module([](auto& m) { m.mode = m.mode == Mode::setup ? Mode::normal : Mode::setup; })},
      {"module.storing", module([](auto& m) { m.storing ^= 1; })},
      {"module.down", module([](auto& m) { m.down ^= 1; })},
      {"module.spent", module([](auto& m) { m.spent ^= 1; })},
      {"module.settling", module([](auto& m) { m.settling ^= 1; })},
      {"module.awake", module([](auto& m) { m.awake ^= 1; })},
      {"module.steady", module([](auto& m) { m.steady ^= 1; })},
      {"module.breathing", module([](auto& m) { m.breathing ^= 1; })},
      {"module.blipping", module([](auto& m) { m.blipping ^= 1; })},
      {"module.flashing", module([](auto& m) { m.flashing ^= 1; })},
      {"module.moving", module([](auto& m) { m.moving ^= 1; })},
      {"module.shown", module([](auto& m) { m.shown = Pattern::refuse; })},
      {"load.begin", load([](auto& l) { l.begin += 1ns; })},
      {"load.duration", load([](auto& l) { l.duration += 1ns; })},
      {"load.from", load([](auto& l) { ++l.from; })},
      {"load.to", load([](auto& l) { ++l.to; })},
      {"load.flash", load([](auto& l) { ++l.flash; })},
      {"person.place", person([](auto& p) { ++p.place; })},
      {"person.step", person([](auto& p) { ++p.step; })},
      {"person.phase", person([](auto& p) { ++p.phase; })},
      {"person.done", person([](auto& p) { p.done ^= 1; })},
      {"a device more", [](World& w) { w.devices.emplace_back(); }},
      {"a plate more", [](World& w) { w.plates.emplace_back(); }},
      {"a module more", [](World& w) { w.modules.emplace_back(); }},
      {"a load more", [](World& w) { w.loads.emplace_back(); }},
      {"a person more", [](World& w) { w.people.emplace_back(); }},
  };
}

std::vector<Mutation> mutations_of_time() {
  const auto earliest = [](const World& world) {
    sim::EventQueue::Handle found = sim::EventQueue::none;
    world.queue.for_each(
        [&](sim::Instant at, std::uint64_t, const sim::Event&, sim::EventQueue::Handle handle) {
          if (at == world.queue.next_at()) found = handle;
        });
    return found;
  };
  return {
      {"now", [](World& w) { w.now += 1ns; }},
      {"seed", [](World& w) { ++w.seed; }},
      {"an event more",
       [](World& w) {
         w.queue.push(w.now + 1h, {20, 0, 0, 0});
       }},
      {"an event less", [earliest](World& w) { w.queue.cancel(earliest(w)); }},
      {"an event's time",
       [earliest](World& w) {
         const auto handle = earliest(w);
         w.queue.rearm(handle, w.queue.due(handle) + 1ns, w.queue[handle].cause);
       }},
      {"an event's cause",
       [earliest](World& w) {
         const auto handle = earliest(w);
         w.queue.rearm(handle, w.queue.due(handle), w.queue[handle].cause + 1);
       }},
  };
}

}  // namespace

TEST_SUITE("world") {
  TEST_CASE("a world that differs in any one field is another world and has another digest") {
    const Scenario scenario = lively_scenario();
    const World original = full_world(scenario);
    const sim::Fingerprint expected = digest(original);
    CHECK(digest(World{original}) == expected);
    for (const auto& mutations : {mutations_of_time(), mutations_of_the_medium(), mutations_of_devices()}) {
      for (const Mutation& mutation : mutations) {
        CAPTURE(mutation.field);
        World changed = original;
        mutation.change(changed);
        CHECK(changed != original);
        CHECK(digest(changed) != expected);
      }
    }
  }

  TEST_CASE("events that differ in what they are, or in their order at one instant, give another digest") {
    const auto with = [](const std::vector<sim::Event>& events) {
      World world;
      for (const sim::Event& event : events) world.queue.push(sim::start_of_run + 1s, event);
      return digest(world);
    };
    const sim::Event event{17, 2, 3, 4};
    const sim::Fingerprint expected = with({event});
    CHECK(with({{18, 2, 3, 4}}) != expected);
    CHECK(with({{17, 3, 3, 4}}) != expected);
    CHECK(with({{17, 2, 4, 4}}) != expected);
    CHECK(with({{17, 2, 3, 5}}) != expected);
    CHECK(with({{17, 2, 3, 4}}) == expected);
    const sim::Event other{16, 0, 0, 0};
    CHECK(with({event, other}) != with({other, event}));
  }

  TEST_CASE("the digest does not depend on the history of the queue") {
    // Names of pending events (handles) are where they happen to lie; two worlds that differ in them alone go
    // on alike.
    World a;
    World b;
    const auto gone = b.queue.push(sim::start_of_run + 2s, {16, 0, 0, 0});
    for (World* world : {&a, &b}) {
      world->queue.push(sim::start_of_run + 3s, {17, 0, 0, 0});
      world->queue.push(sim::start_of_run + 1s, {18, 0, 0, 0});
    }
    b.queue.cancel(gone);
    CHECK(digest(a) == digest(b));
  }
}
