#include "model/recovery/rehearsal.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "model/recovery/recover.h"
#include "model/run/driver.h"
#include "model/words/words.h"
#include "model/world/installer.h"

namespace drybus::model {

namespace {

std::vector<Pattern> indicators(const World& world) {
  std::vector<Pattern> all;
  all.reserve(world.devices.size());
  for (const DeviceState& device : world.devices) all.push_back(device.indicator);
  return all;
}

/// What lamps show when each step is over.
class LampWatch {
 public:
  LampWatch(std::span<const Step> steps, const World& world)
      : steps_(steps),
        before_(indicators(world)),
        answered_(before_.size(), Pattern::dark),
        acted_(is_act(0)) {}

  /// After each event. A step that begins at once may change what the one before it left to be seen.
  void look(const World& world, Rehearsal& rehearsal) {
    const std::size_t step = world.people[0].step;
    if (step > rehearsal.shown.size()) {
      std::vector<Pattern> answers = before_;
      for (std::size_t i = 0; i < answers.size(); ++i) answers[i] = std::max(answers[i], answered_[i]);
      rehearsal.shown.resize(step, before_);
      rehearsal.answered.resize(step, answers);
      if (is_act(step)) {
        acted_ = true;
        answered_.assign(before_.size(), Pattern::dark);
      }
    }
    const std::vector<Pattern> now = indicators(world);
    for (std::size_t i = 0; i < now.size(); ++i) {
      if (acted_ && now[i] != before_[i]) answered_[i] = std::max(answered_[i], now[i]);
    }
    before_ = now;
  }

 private:
  [[nodiscard]] bool is_act(std::size_t step) const {
    return step < steps_.size() &&
           (steps_[step].kind == StepKind::press || steps_[step].kind == StepKind::hold);
  }

  std::span<const Step> steps_;
  std::vector<Pattern> before_;
  std::vector<Pattern> answered_;  ///< the strongest that came since the last press began
  bool acted_;                     ///< something was pressed
};

class OfferWatch {
 public:
  OfferWatch(const Scenario& scenario, std::span<const Step> steps)
      : scenario_(scenario), steps_(steps), reach_(scenario.site.network) {}

  /// After each event. The telegram is under way at the earliest, and nobody has taken anything yet.
  void look(const World& world, std::vector<AssignPress>& offers) {
    const PersonState& installer = world.people[0];
    if (!is_holding(installer) || installer.step == seen_ || installer.step >= steps_.size()) return;
    seen_ = installer.step;
    if (!offers_at(seen_) ||
        (seen_ > 0 && offers_at(seen_ - 1) && steps_[seen_ - 1].device == steps_[seen_].device))
      return;
    offers.push_back(offer_of(world));
  }

 private:
  [[nodiscard]] bool offers_at(std::size_t index) const {
    const Step& step = steps_[index];
    return step.kind == StepKind::press && scenario_.site.is_plate(step.device) &&
           step.buttons == only(scenario_.site.plate_family(step.device).assign);
  }

  [[nodiscard]] AssignPress offer_of(const World& world) const {
    const Site& site = scenario_.site;
    AssignPress offer{seen_, steps_[seen_].device, false, {}, {}};
    const PlateState& plate = world.plates[offer.plate];
    offer.in_setup = world.devices[offer.plate].mode == Mode::setup;
    offer.address = {plate.site, plate.zone, plate.channel};
    for (std::size_t i = 0; i < site.modules.size(); ++i) {
      const DeviceId module = site.module_id(i);
      if (world.devices[module].mode == Mode::setup && reach_.path(site.network, offer.plate, module))
        offer.listeners.push_back(module);
    }
    return offer;
  }

  const Scenario& scenario_;
  std::span<const Step> steps_;
  sim::Medium reach_;  ///< with every link sound
  std::size_t seen_ = static_cast<std::size_t>(-1);
};

}  // namespace

std::vector<std::string> offers_amiss(const Site& site, const Aim& aim, const std::vector<DeviceId>& lit,
                                      const Rehearsal& rehearsal) {
  std::vector<std::string> all;
  for (const AssignPress& offer : rehearsal.offers) {
    const std::string& plate = site.name(offer.plate);
    const std::string offered = to_string(offer.address);
    if (!offer.in_setup) all.push_back(tr("{} offers {} out of setup", plate, offered));
    if (offer.listeners.empty()) all.push_back(tr("{} offers {} to nobody", plate, offered));
    for (const DeviceId module : offer.listeners) {
      const auto& address = aim.addresses[site.module_index(module)];
      const bool own = address == offer.address && offer.listeners.size() == 1;
      const bool for_the_while = address && address->site != offer.address.site &&
                                 std::find(lit.begin(), lit.end(), module) != lit.end();
      if (site.is_neighbour(module) || !(own || for_the_while))
        all.push_back(tr("{} offers {} to {}", plate, offered, site.name(module)));
    }
  }
  return all;
}

Rehearsal rehearse(const Scenario& scenario, const World& world, std::span<const Step> steps, bool watched) {
  Scenario cured = scenario;
  cured.people[0].script.assign(steps.begin(), steps.end());
  Rehearsal rehearsal{world, {}, {}, {}};
  PersonState& installer = rehearsal.world.people[0];
  installer.step = 0;
  installer.phase = 0;
  installer.done = 0;
  Simulation simulation{cured, rehearsal.world};
  simulation.schedule(sim::Duration::zero(), Happening::person, 0, 0, sim::no_entry);
  OfferWatch offers{cured, steps};
  Driver driver{simulation};
  std::optional<LampWatch> lamps;
  if (watched) lamps.emplace(steps, rehearsal.world);
  driver.go_on([&] { return rehearsal.world.people[0].done != 0; },
               [&] {
                 offers.look(rehearsal.world, rehearsal.offers);
                 if (lamps) lamps->look(rehearsal.world, rehearsal);
               });
  return rehearsal;
}

World world_after(const Scenario& scenario, const World& world, std::span<const Step> steps) {
  return rehearse(scenario, world, steps, false).world;
}

}  // namespace drybus::model
