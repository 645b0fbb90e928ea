// What did not get where it was to: offers that nobody took, telegrams that were lost, modules that no plate reaches.
#include <algorithm>

#include "model/findings/moment.h"

namespace drybus::model {

namespace {

/// Some module in setup keeps an offer until somebody confirms it; a later offer takes the place of an earlier one.
bool some_offer_is_kept(const World& world) {
  return std::any_of(world.modules.begin(), world.modules.end(), [](const ModuleState& module) {
    return module.mode == Mode::setup && module.offered.channel != 0;
  });
}

/// In setup where the plate's offers do not come: too far away, or, if it is meant for this plate, on another bus.
bool waits_out_of_reach(const Site& site, const World& world, DeviceId module, DeviceId plate) {
  if (world.devices[module].mode != Mode::setup) return false;
  const bool shares_the_medium = site.network.nodes[module].medium == site.network.nodes[plate].medium;
  return shares_the_medium || is_intended_for(site, world, module, plate);
}

sim::EntryId last_power_cut(const sim::Record& record, DeviceId device) {
  for (auto id = static_cast<sim::EntryId>(record.size()); id > 0; --id) {
    if (what(record[id]) == What::power && record[id].who == device) return id;
  }
  return sim::no_entry;
}

}  // namespace

// --- offers ---

void FindingWatch::settle_offers(const Scenario& scenario, const World& world, const sim::Record& record) {
  const bool kept = some_offer_is_kept(world);
  for (Offer& offer : offers_) {
    if (offer.taken || kept) continue;
    const sim::Entry& sent = record[offer.sent];
    const Moment now{scenario, world};
    if (!now.own(sent.who)) continue;
    std::vector<DeviceId> devices{sent.who};
    std::vector<sim::EntryId> evidence = offer.evidence;
    evidence.push_back(offer.sent);
    now.each_module([&](DeviceId module) {
      if (!now.own(module) || now.device(module).was_in_setup == 0) return;
      if (!is_joined(scenario.site, sent.who, module) &&
          !waits_out_of_reach(scenario.site, world, module, sent.who))
        return;
      devices.push_back(module);
      evidence.push_back(facts_[module].left);
      if (now.device(module).powered == 0) evidence.push_back(last_power_cut(record, module));
    });
    const auto earlier = std::find_if(observed_.begin(), observed_.end(), [&](const Observation& o) {
      return o.id == FindingId::assign_unheard && o.devices == devices &&
             record[o.evidence.back()].b == sent.b;
    });
    if (earlier != observed_.end()) {
      earlier->until = sent.at;  // the same offer again
      continue;
    }
    evidence = without_gaps(std::move(evidence));
    std::erase(evidence, offer.sent);
    evidence.push_back(offer.sent);  // last, whatever else: the offer itself
    observed_.push_back(
        {FindingId::assign_unheard, sent.at, sent.at, std::move(devices), std::move(evidence)});
  }
  // Of several that a module was made, only the last can still come to nothing.
  if (kept && !offers_.empty()) offers_.erase(offers_.begin(), offers_.end() - 1);
  if (!kept) offers_.clear();
}

// --- losses ---

void FindingWatch::take_in_lost(const Scenario& scenario, const World& world, const sim::Record& record,
                                sim::EntryId id) {
  const Moment now{scenario, world};
  const sim::Entry& entry = record[id];
  const bool was_sent = what(entry) == What::sent_whole;
  const DeviceId sender = was_sent ? entry.who : lost_sender(entry);
  // A telegram found no way to a module: all whom one plate cannot reach make one finding.
  const auto miss = [&](DeviceId module) {
    const Breach breach{FindingId::out_of_reach, sender, module};
    const auto same = [&](const Open& open) { return open.breach == breach; };
    if (std::any_of(unreached_.begin(), unreached_.end(), same)) return;
    const auto known = std::find_if(unreached_.begin(), unreached_.end(),
                                    [&](const Open& open) { return open.breach.first == sender; });
    if (known != unreached_.end()) {
      Observation& observation = observed_[known->observation];
      observation.devices.push_back(module);
      observation.evidence.push_back(id);
      unreached_.push_back({breach, known->observation});
      return;
    }
    observed_.push_back({FindingId::out_of_reach, entry.at, std::nullopt, {sender, module}, {id}});
    unreached_.push_back({breach, observed_.size() - 1});
  };
  if (was_sent) {
    // Whoever is built onto another bus is missed by no entry of the medium's.
    if (scenario.site.network.media.size() < 2) return;
    return now.each_module([&](DeviceId module) {
      if (is_on_the_wrong_bus(scenario.site, world, module, sender)) miss(module);
    });
  }
  const Telegram telegram = unpack(entry.b);
  const bool matters = now.matters_to(telegram, entry.who);
  if (!offers_.empty() && matters) offers_.back().evidence.push_back(id);
  switch (why_lost(entry)) {
    case sim::Loss::unpowered:
      return;
    case sim::Loss::cut_short:
      if (now.is_missed_by_people(sender, telegram)) lose_telegram(record, sender, sender, id, id);
      return;
    case sim::Loss::collision:
    case sim::Loss::noise:
      if (now.own(sender) && matters) lose_telegram(record, sender, entry.who, entry.cause, id);
      return;
    case sim::Loss::no_path:
      break;
  }
  if (scenario.site.is_plate(entry.who) || !now.own(entry.who) || !now.own(sender)) return;
  if (matters || belongs_to(scenario.site, world, entry.who, sender)) miss(entry.who);
}

void FindingWatch::settle_reach(const Scenario& scenario, const World& world) {
  const sim::Network& network = scenario.site.network;
  const auto is_reached = [&](const Breach& breach) {
    if (network.nodes[breach.first].medium != network.nodes[breach.other].medium)
      return !is_on_the_wrong_bus(scenario.site, world, breach.other, breach.first);
    return world.medium.path(network, breach.first, breach.other);
  };
  const auto ended = std::stable_partition(unreached_.begin(), unreached_.end(),
                                           [&](const Open& open) { return !is_reached(open.breach); });
  std::vector<Open> reached(ended, unreached_.end());
  unreached_.erase(ended, unreached_.end());
  while (!reached.empty()) {
    const std::size_t index = reached.front().observation;
    const auto of_it = [&](const Open& open) { return open.observation == index; };
    const bool goes_on = std::any_of(unreached_.begin(), unreached_.end(), of_it);
    if (!goes_on) {
      observed_[index].until = world.now;
      std::erase_if(reached, of_it);
      continue;
    }
    // Some of those whom a plate could not reach are reached again; the others make the finding go on.
    Observation& whole = observed_[index];
    Observation apart{FindingId::out_of_reach, whole.at, world.now, {whole.devices.front()}, {}};
    for (const Open& open : reached) {
      if (!of_it(open)) continue;
      const auto who = std::find(whole.devices.begin() + 1, whole.devices.end(), open.breach.other);
      const auto missed = whole.evidence.begin() + (who - whole.devices.begin() - 1);
      apart.devices.push_back(*who);
      apart.evidence.push_back(*missed);
      whole.devices.erase(who);
      whole.evidence.erase(missed);
    }
    observed_.push_back(std::move(apart));
    std::erase_if(reached, of_it);
  }
}

}  // namespace drybus::model
