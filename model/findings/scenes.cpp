#include "model/findings/scenes.h"

#include <algorithm>
#include <utility>

#include "model/findings/moment.h"

namespace drybus::model {

namespace {

/// A firmware of somebody's own tells its address, and not its scenes: then only loads and telegrams say anything of them.
bool shows_scenes(const Moment& now) {
  return now.world.firmware.empty();
}

/// The telegram that led to an entry, where that is one that was heard.
std::optional<Telegram> heard_before(const sim::Record& record, const sim::Entry& entry) {
  if (entry.cause == sim::no_entry || what(record[entry.cause]) != What::heard) return std::nullopt;
  return unpack(record[entry.cause].b);
}

bool names_scene(const Telegram& telegram) {
  return telegram.argument >= 1 && telegram.argument <= max_scenes;
}

/// The entry at which a module's load was last given another level.
sim::EntryId last_level(const sim::Record& record, DeviceId module, sim::EntryId before) {
  for (sim::EntryId id = before; id-- > 1;) {
    if (record[id].who == module && what(record[id]) == What::level) return id;
  }
  return sim::no_entry;
}

/// What a scene was before the run began, where the module had another life then: another address or one that was cleared,
/// and a level that is not the factory's. Of a site that was given another number as a whole the scenes are still the site's own.
bool is_from_before(const Moment& now, DeviceId module, std::uint8_t scene) {
  const ModuleSpec& spec = now.site().modules[now.site().module_index(module)];
  const Address& then = spec.memory.address;
  const Address& since = now.memory(module).address;
  const Level level = spec.memory.scenes[scene - 1u];
  if (then == since || level != now.memory(module).scenes[scene - 1u]) return false;
  if (level == factory_memory(now.site().module_family(module)).scenes[scene - 1u]) return false;
  const bool renumbered =
      then.zone == since.zone && then.channel == since.channel &&
      std::any_of(now.site().plates.begin(), now.site().plates.end(),
                  [&](const PlateSpec& plate) { return !plate.neighbour && plate.site == then.site; });
  return !renumbered;
}

}  // namespace

unsigned wrong_scenes(const ModuleSpec& module, const ModuleMemory& memory) {
  return memory.addressed() ? scenes_to_store(module, memory) : 0;
}

unsigned scenes_to_store(const ModuleSpec& module, const ModuleMemory& memory) {
  if (module.neighbour) return 0;
  unsigned wrong = 0;
  for (std::size_t i = 0; i < max_scenes; ++i) {
    if (module.intended_scenes[i] == no_scene_level) continue;
    if (memory.scenes[i] == no_scene_level || look_apart(module.intended_scenes[i], memory.scenes[i]))
      wrong |= 1U << i;
  }
  return wrong;
}

// Most runs have no scene in them: room for what is stored is made when the first is named.
SceneWatch::SceneWatch(const Scenario& /*scenario*/) {}

void SceneWatch::take_in(const Moment& now, const sim::Record& record, sim::EntryId id,
                         std::vector<Observation>& observed) {
  const What kind = what(record[id]);
  if (lost_memory(record[id]) && !stores_.empty()) {
    for (std::uint8_t scene = 1; scene <= max_scenes; ++scene)
      stores_of(now.site(), record[id].who, scene).clear();
  }
  if (kind == What::store_begun) return stored(now, record, id, observed);
  if (kind == What::lost) return missed(now, record, id, observed);
  if (kind == What::heard) return recalled(now, record, id, observed);
  if (kind == What::obeyed) return obeyed(now, record, id, observed);
}

// --- what is stored ---

void SceneWatch::stored(const Moment& now, const sim::Record& record, sim::EntryId id,
                        std::vector<Observation>& observed) {
  const sim::Entry& entry = record[id];
  const auto telegram = heard_before(record, entry);
  if (!telegram || telegram->kind != TelegramKind::store || !names_scene(*telegram) || !now.own(entry.who))
    return;
  stores_.resize(now.site().modules.size() * max_scenes);
  take_store(now, record, entry.cause, id, observed);
}

void SceneWatch::take_store(const Moment& now, const sim::Record& record, sim::EntryId heard, sim::EntryId id,
                            std::vector<Observation>& observed) {
  const DeviceId module = record[id].who;
  const auto plate = static_cast<DeviceId>(record[heard].a);
  const Telegram telegram = unpack(record[heard].b);
  const std::size_t index = now.site().module_index(module);
  const LoadState& load = now.world.loads[index];
  // A load that winks goes on beneath, and that is what is stored.
  const Level level = shows_scenes(now) ? now.world.modules[index].newest().scenes[telegram.argument - 1u]
                                        : load.beneath(now.world.now);
  close(module, telegram.argument, record[id].at, observed);
  if (load.arrival != sim::EventQueue::none && look_apart(level, load.to)) {
    tell(FindingId::scene_in_motion, module, plate, telegram.argument, record[id].at,
         without_gaps({last_level(record, module, heard), heard}), observed);
  }
  Stores& stores = stores_of(now.site(), module, telegram.argument);
  std::erase_if(stores, [plate](const Stored& each) { return each.plate == plate; });
  stores.push_back({plate, level, heard});

  Said& said = said_in(store_telegrams_, record[heard].cause);
  said.taken = true;
  tell_partly(FindingId::scene_missed, record, telegram.argument, said, observed);
}

/// Somebody did not hear that a scene is to be stored, and has another level for it than the load has now.
void SceneWatch::missed(const Moment& now, const sim::Record& record, sim::EntryId id,
                        std::vector<Observation>& observed) {
  const sim::Entry& entry = record[id];
  const Telegram telegram = unpack(entry.b);
  if (telegram.kind != TelegramKind::store || !names_scene(telegram) || !now.own(lost_sender(entry))) return;
  if (!now.matters_to(telegram, entry.who) || !now.memory(entry.who).addressed()) return;
  if (!shows_scenes(now) || !understands(now.site().module_family(entry.who), telegram)) return;
  const Level has = now.memory(entry.who).scenes[telegram.argument - 1u];
  // Without power it has no level now; the one that it had is what somebody meant, if anybody did.
  const bool powered = now.device(entry.who).powered != 0;
  const Level shows = powered ? now.world.loads[now.site().module_index(entry.who)].beneath(now.world.now)
                              : now.memory(entry.who).last_level;
  if (has != no_scene_level && !look_apart(has, shows)) return;
  Said& said = said_in(store_telegrams_, entry.cause);
  said.not_by.push_back(entry.who);
  said.evidence.push_back(id);
  tell_partly(FindingId::scene_missed, record, telegram.argument, said, observed);
}

/// Tells who did not take a telegram, when somebody took it.
void SceneWatch::tell_partly(FindingId finding, const sim::Record& record, std::uint8_t scene,
                             const Said& said, std::vector<Observation>& observed) {
  if (!said.taken) return;
  for (std::size_t i = 0; i < said.not_by.size(); ++i) {
    if (is_told(finding, said.not_by[i], scene)) continue;
    const sim::Entry& entry = record[said.evidence[i]];
    const auto plate = what(entry) == What::lost ? lost_sender(entry) : static_cast<DeviceId>(entry.a);
    tell(finding, said.not_by[i], plate, scene, entry.at, {said.evidence[i]}, observed);
  }
}

// --- what is called ---

void SceneWatch::recalled(const Moment& now, const sim::Record& record, sim::EntryId id,
                          std::vector<Observation>& observed) {
  const sim::Entry& entry = record[id];
  const Telegram telegram = unpack(entry.b);
  if (telegram.kind != TelegramKind::recall || !names_scene(telegram)) return;
  if (!now.matters_to(telegram, entry.who) || !now.memory(entry.who).addressed()) return;
  const ModuleFamily& family = now.site().module_family(entry.who);
  if (!understands(family, telegram)) return;

  stores_.resize(now.site().modules.size() * max_scenes);
  const Stores& stores = stores_of(now.site(), entry.who, telegram.argument);
  judge_overwritten(record, id, stores, observed);
  if (!shows_scenes(now)) return;

  Said& said = said_in(recall_telegrams_, entry.cause);
  const Level level = now.memory(entry.who).scenes[telegram.argument - 1u];
  if (level == no_scene_level) {
    said.not_by.push_back(entry.who);
    said.evidence.push_back(id);
  } else {
    said.taken = true;
  }
  tell_partly(FindingId::scene_unset, record, telegram.argument, said, observed);
  if (level == no_scene_level) return;

  const bool told = is_told(FindingId::scene_of_before, entry.who, telegram.argument);
  if (stores.empty() && !told && is_from_before(now, entry.who, telegram.argument)) {
    tell(FindingId::scene_of_before, entry.who, static_cast<DeviceId>(entry.a), telegram.argument, entry.at,
         {id}, observed);
  }
}

/// Whoever stored the scene from this plate finds what somebody stored since from another one.
void SceneWatch::judge_overwritten(const sim::Record& record, sim::EntryId heard, const Stores& stores,
                                   std::vector<Observation>& observed) {
  const sim::Entry& entry = record[heard];
  const Telegram telegram = unpack(entry.b);
  const auto own = std::find_if(stores.begin(), stores.end(), [&](const Stored& each) {
    return each.plate == static_cast<DeviceId>(entry.a);
  });
  if (own == stores.end() || !look_apart(own->level, stores.back().level)) return;
  if (is_told(FindingId::scene_overwritten, entry.who, telegram.argument)) return;
  tell(FindingId::scene_overwritten, entry.who, own->plate, telegram.argument, entry.at,
       without_gaps({own->heard, stores.back().heard, heard}), observed);
}

// --- masters ---

/// A command for many zones changed a load on the other side.
void SceneWatch::obeyed(const Moment& now, const sim::Record& record, sim::EntryId id,
                        std::vector<Observation>& observed) {
  const sim::Entry& entry = record[id];
  const auto telegram = heard_before(record, entry);
  if (!telegram || !is_for_many(*telegram)) return;
  const auto plate = static_cast<DeviceId>(record[entry.cause].a);
  if (now.own(plate) == now.own(entry.who)) return;
  const auto known = std::find_if(open_.begin(), open_.end(), [&](const Open& open) {
    return open.id == FindingId::master_next_door && open.plate == plate;
  });
  if (known == open_.end()) {
    observed.push_back(
        {FindingId::master_next_door, entry.at, entry.at, {plate, entry.who}, without_gaps({entry.cause})});
    open_.push_back({FindingId::master_next_door, 0, {entry.who}, observed.size() - 1, plate});
    return;
  }
  Observation& observation = observed[known->observation];
  observation.until = entry.at;
  if (std::find(known->modules.begin(), known->modules.end(), entry.who) != known->modules.end()) return;
  known->modules.push_back(entry.who);
  observation.devices.push_back(entry.who);
  observation.evidence.push_back(entry.cause);
}

// --- what is told ---

/// All whom one telegram made so are one finding: the modules, then the plate, or the two plates.
void SceneWatch::tell(FindingId finding, DeviceId module, DeviceId plate, std::uint8_t scene, sim::Instant at,
                      std::vector<sim::EntryId> evidence, std::vector<Observation>& observed) {
  const auto known = std::find_if(open_.begin(), open_.end(), [&](const Open& open) {
    return open.id == finding && open.scene == scene && open.plate == plate &&
           observed[open.observation].at == at;
  });
  if (known == open_.end()) {
    observed.push_back({finding, at, std::nullopt, {module, plate}, std::move(evidence)});
    open_.push_back({finding, scene, {module}, observed.size() - 1, plate});
    return;
  }
  known->modules.push_back(module);
  Observation& observation = observed[known->observation];
  observation.devices.insert(observation.devices.end() - 1, module);
  observation.evidence.insert(observation.evidence.end(), evidence.begin(), evidence.end());
  observation.evidence = without_gaps(std::move(observation.evidence));
}

/// The module has another level for that scene from now on.
void SceneWatch::close(DeviceId module, std::uint8_t scene, sim::Instant at,
                       std::vector<Observation>& observed) {
  std::erase_if(open_, [&](Open& open) {
    if (open.id == FindingId::master_next_door || open.scene != scene ||
        std::erase(open.modules, module) == 0)
      return false;
    if (open.modules.empty()) observed[open.observation].until = at;
    return open.modules.empty();
  });
}

bool SceneWatch::is_told(FindingId finding, DeviceId module, std::uint8_t scene) const {
  return std::any_of(open_.begin(), open_.end(), [&](const Open& open) {
    return open.id == finding && open.scene == scene &&
           std::find(open.modules.begin(), open.modules.end(), module) != open.modules.end();
  });
}

SceneWatch::Said& SceneWatch::said_in(std::vector<Said>& all, sim::EntryId telegram) {
  const auto known = std::find_if(all.rbegin(), all.rend(),
                                  [telegram](const Said& said) { return said.telegram == telegram; });
  if (known != all.rend()) return *known;
  // Of those that came before, nobody hears anything any more.
  constexpr std::size_t most_kept = 16;
  if (all.size() >= most_kept) all.erase(all.begin());
  all.push_back({telegram, false, {}, {}});
  return all.back();
}

void SceneWatch::add_wrong_scenes(const Moment& now, std::vector<Observation>& observations) const {
  if (!shows_scenes(now)) return;
  now.each_module([&](DeviceId module) {
    const std::size_t index = now.site().module_index(module);
    const unsigned wrong = wrong_scenes(now.site().modules[index], now.world.modules[index].newest());
    if (wrong == 0) return;
    std::vector<sim::EntryId> evidence;
    for (std::size_t i = 0; i < max_scenes; ++i) {
      if ((wrong >> i & 1U) == 0 || stores_.empty()) continue;
      const Stores& stores = stores_[index * max_scenes + i];
      if (!stores.empty()) evidence.push_back(stores.back().heard);
    }
    observations.push_back({FindingId::scene_wrong,
                            sim::start_of_run,
                            std::nullopt,
                            {module},
                            without_gaps(std::move(evidence))});
  });
}

}  // namespace drybus::model
