#include "model/suite/mutant_pair.h"

#include <algorithm>
#include <utility>

#include "model/world/facts.h"
#include "model/world/installer.h"

namespace drybus::model {

namespace {

/// A script of one step that is yet to be filled in, for the installer and for whoever minds the mains.
Scenario with_blank_scripts(Scenario scenario) {
  scenario = ready_for_moves(std::move(scenario));
  scenario.people.front().script.assign(1, {});
  Step power;
  power.kind = StepKind::power;
  power.on = false;
  scenario.people.back().script.assign(1, power);
  return scenario;
}

/// Whether anything can be told apart; cheap, as it is asked all the time.
bool may_differ(const World& one, const World& other, sim::Instant at) {
  for (std::size_t i = 0; i < one.devices.size(); ++i) {
    if (one.devices[i].indicator != other.devices[i].indicator ||
        one.devices[i].mode != other.devices[i].mode)
      return true;
  }
  for (std::size_t i = 0; i < one.plates.size(); ++i) {
    if (one.plates[i].channel != other.plates[i].channel) return true;
  }
  for (std::size_t i = 0; i < one.modules.size(); ++i) {
    const ModuleMemory& memory = one.modules[i].memory;
    if (memory.address != other.modules[i].memory.address ||
        memory.power_up != other.modules[i].memory.power_up)
      return true;
    if (one.loads[i].at(at) != other.loads[i].at(at)) return true;
  }
  return false;
}

}  // namespace

PairSpace::Frame::Frame(const Scenario& of_reference, const Scenario& of_mutant, State start)
    : state(std::move(start)),
      reference(of_reference, state.reference),
      mutant(of_mutant, state.mutant) {}

PairSpace::PairSpace(const Scenario& scenario, const Mutant& mutant, const Moves& moves)
    : moves_(moves),
      mains_(static_cast<std::uint32_t>(scenario.people.size())),
      reference_(with_blank_scripts(scenario)),
      mutant_(with_blank_scripts(altered_by(mutant, scenario))),
      start_{world_for_moves(scenario), world_for_moves(altered_by(mutant, scenario)), {}},
      reference_key_(reference_, start_.reference),
      mutant_key_(mutant_, start_.mutant) {}

void PairSpace::enter() {
  if (frames_.size() == depth_) frames_.push_back(std::make_unique<Frame>(reference_, mutant_, start_));
  ++depth_;
}

// --- one move in both worlds ---

/// A wait that matters in one of the worlds matters.
void PairSpace::list_waits(const State& from) {
  std::vector<Wait>& waits = frame().waits;
  waits.clear();
  others_.clear();
  moves_.add_waits(from.reference, from.made, {}, waits);
  moves_.add_waits(from.mutant, from.made, {}, others_);
  for (const Wait& wait : others_) {
    waits.push_back({static_cast<sim::Action>(wait.action + moves_.wait_actions()), wait.duration});
  }
  put_in_order(waits);
}

/// REQUIRES: the waits are listed, for an action that is one.
Step PairSpace::step_of(const State& from, sim::Action action) {
  Step step;
  if (!moves_.is_wait(action)) {
    const Move& move = moves_.table()[action];
    step = move.step;
    moves_.fill_in(move, from.reference, step);
    return step;
  }
  const auto& waits = frame().waits;
  const auto wait =
      std::find_if(waits.begin(), waits.end(), [&](const Wait& each) { return each.action == action; });
  step.kind = StepKind::wait;
  step.duration = wait->duration;
  return step;
}

void PairSpace::begin_cut(const State& from, const Move& move) {
  for (Scenario* side : {&reference_, &mutant_}) side->people[mains_].script[0].device = *move.cut;
  for (Simulation* simulation : {&frame().reference, &frame().mutant}) {
    simulation->world().people[mains_] = {0, 0, 0, 0};
    simulation->schedule(moves_.time_of_cut(move, from.reference) - from.reference.now, Happening::person,
                         mains_, 0, sim::no_entry);
  }
}

void PairSpace::begin(const State& from, sim::Action action) {
  Frame& here = frame();
  here.state = from;
  here.difference.reset();
  const Move* move = moves_.is_wait(action) ? nullptr : &moves_.table()[action];
  moves_.count(move, here.state.made);
  const Step step = step_of(from, action);
  for (Scenario* side : {&reference_, &mutant_}) side->people[0].script[0] = step;
  if (move != nullptr && move->cut) begin_cut(from, *move);
  for (Simulation* simulation : {&here.reference, &here.mutant}) {
    World& world = simulation->world();
    world.people[0] = {world.people[0].place, 0, 0, 0};
    model::go_on(*simulation, 0, sim::no_entry);
  }
}

bool PairSpace::done(const World& world) const {
  return world.people[0].done != 0 && world.people[mains_].done != 0;
}

void PairSpace::go_on_until(Driver& driver, const Simulation& simulation, sim::Instant at) {
  driver.go_on([&] { return done(simulation.world()); }, [] {}, at);
}

/// True when the worlds have come to differ in some fact, within the move or at its end.
bool PairSpace::make(const State& from, sim::Action action) {
  begin(from, action);
  Frame& here = frame();
  const auto next_of = [&](const Simulation& each) {
    return done(each.world()) ? sim::never : each.next_at();
  };
  Driver reference_driver{here.reference};
  Driver mutant_driver{here.mutant};
  for (;;) {
    const sim::Instant at = std::min(next_of(here.reference), next_of(here.mutant));
    if (at == sim::never) break;
    go_on_until(reference_driver, here.reference, at);
    go_on_until(mutant_driver, here.mutant, at);
    if (!here.difference) look_between(at, std::min(next_of(here.reference), next_of(here.mutant)));
  }
  if (auto at_end = difference_in(here.state)) here.difference = std::move(at_end);
  return here.difference.has_value();
}

// --- what differs ---

/// Nothing happens in either world from `at` until `next`: the middle of it is where somebody might look.
void PairSpace::look_between(sim::Instant at, sim::Instant next) {
  if (next == sim::never || next - at < sim::Duration{2}) return;
  constexpr sim::Duration whole = std::chrono::milliseconds{1};
  sim::Instant middle = at + (next - at) / 2;
  const sim::Instant rounded = middle - middle.time_since_epoch() % whole;
  if (rounded > at) middle = rounded;
  const State& state = frame().state;
  if (may_differ(state.reference, state.mutant, middle))
    frame().difference = difference_at(state.reference, state.mutant, middle);
}

std::optional<Difference> PairSpace::difference_in(const State& state) const {
  if (!may_differ(state.reference, state.mutant, state.reference.now)) return std::nullopt;
  std::optional<Difference> difference = difference_at(state.reference, state.mutant, state.reference.now);
  if (difference) difference->at_end = true;
  return difference;
}

std::optional<Difference> PairSpace::difference_at(const World& reference, const World& mutant,
                                                   sim::Instant at) const {
  World one = reference;
  World other = mutant;
  one.now = other.now = at;
  const Site& site = reference_.site;
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    for (const Fact fact : telling_facts(site, device)) {
      std::string wanted = fact_text(reference_, one, device, fact);
      std::string actual = fact_text(mutant_, other, device, fact);
      if (wanted != actual) return Difference{at, false, fact, device, std::move(wanted), std::move(actual)};
    }
  }
  return std::nullopt;
}

// --- states and steps ---

void PairSpace::write_key(const State& state, std::vector<std::byte>& key) {
  reference_key_.write(state.reference, key);
  mutant_key_.write(state.mutant, key);
  moves_.add_to_key(state.made, key);
}

PairSpace::Told PairSpace::tell(const State& from, sim::Action action) {
  const Nested nested{*this};
  list_waits(from);
  make(from, action);
  Told told;
  told.installer = reference_.people[0].script;
  told.after = frame().state;
  told.difference = frame().difference;
  if (!moves_.is_wait(action) && moves_.table()[action].cut) {
    const Move& move = moves_.table()[action];
    told.mains = reference_.people[mains_].script;
    told.mains[0].at = moves_.time_of_cut(move, from.reference);
  }
  return told;
}

}  // namespace drybus::model
