// A search takes worlds with the same key for one situation: what decides how they go on has to be in it, and what does not
// must not be.
#include "model/world/key.h"

#include <doctest/doctest.h>

#include "model/world/simulation.h"
#include "tests/support/small_site.h"

using namespace drybus;
using namespace drybus::tests;

namespace {

class NobodyListens final : public sim::MediumHost {
 public:
  sim::EntryId medium_note(sim::MediumNote, sim::NodeId, sim::NodeId, std::uint32_t, const sim::Frame&,
                           sim::EntryId) override {
    return sim::no_entry;
  }
  void medium_deliver(sim::NodeId, sim::NodeId, const sim::Frame&, sim::EntryId) override {}
};

std::vector<std::byte> key_of(const model::Scenario& scenario, const model::World& world) {
  std::vector<std::byte> key;
  model::WorldKey{scenario, model::initial_world(scenario)}.write(world, key);
  return key;
}

model::World after(const model::Scenario& scenario, sim::Duration time) {
  model::World world = model::initial_world(scenario);
  model::Simulation simulation{scenario, world};
  simulation.begin();
  simulation.run_until(sim::start_of_run + time);
  return world;
}

/// Cuts the node's power and nothing else: its device does not notice.
void cut_node(const model::Scenario& scenario, model::World& world, sim::NodeId node) {
  NobodyListens nobody;
  world.medium.set_power({scenario.site.network, world.queue, world.now, world.seed, nobody}, node, false,
                         sim::no_entry);
}

}  // namespace

TEST_SUITE("world_key") {
  TEST_CASE("whether a node has power is in the key, on a sound line and on a shorted one") {
    const model::Scenario scenario = small_scenario(2);
    for (const sim::LinkState state : {sim::LinkState::sound, sim::LinkState::shorted}) {
      CAPTURE(static_cast<int>(state));
      model::World one = after(scenario, 1s);
      one.medium.set_link(scenario.site.network, 0, state);
      for (sim::NodeId node = 0; node < one.medium.nodes().size(); ++node) {
        CAPTURE(node);
        REQUIRE((one.medium.nodes()[node].component == sim::Medium::dead) ==
                (state == sim::LinkState::shorted));
        model::World other = one;
        cut_node(scenario, other, node);
        CHECK(key_of(scenario, one) != key_of(scenario, other));
      }
    }
  }

  TEST_CASE("each link that is shorted makes another key") {
    const model::Scenario scenario = small_scenario(2);
    model::World world = after(scenario, 1s);
    const auto sound = key_of(scenario, world);
    world.medium.set_link(scenario.site.network, 0, sim::LinkState::shorted);
    CHECK(key_of(scenario, world) != sound);
    world.medium.set_link(scenario.site.network, 0, sim::LinkState::sound);
    CHECK(key_of(scenario, world) == sound);
  }

  TEST_CASE("the same situation at another time of day has the same key") {
    model::Scenario scenario = small_scenario(2);
    scenario.people[0].script.clear();
    // Late enough for every lamp to have gone to sleep: nothing is due any more.
    const model::World early = after(scenario, 30h);
    const model::World late = after(scenario, 47h);
    CHECK_FALSE(early == late);
    CHECK(key_of(scenario, early) == key_of(scenario, late));
  }
}
