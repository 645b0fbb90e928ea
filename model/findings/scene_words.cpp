// Findings about scenes and master keys, in words.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/record/scene_keys.h"

namespace drybus::model {

std::string Narrator::modules_named() const {
  std::vector<std::string> all;
  for (const DeviceId device : observation_.devices) {
    if (!site().is_plate(device)) all.push_back(site().name(device));
  }
  return list(std::move(all));
}

bool Narrator::one_module() const {
  return std::count_if(observation_.devices.begin(), observation_.devices.end(),
                       [this](DeviceId device) { return !site().is_plate(device); }) == 1;
}

DeviceId Narrator::plate_of_scene() const {
  return *std::find_if(observation_.devices.begin(), observation_.devices.end(),
                       [this](DeviceId device) { return site().is_plate(device); });
}

Telegram Narrator::telegram_of_scene() const {
  return unpack(record_[observation_.evidence.back()].b);
}

std::string Narrator::of_scene() const {
  const int scene = telegram_of_scene().argument;
  const std::string modules = modules_named();
  const std::string& plate = site().name(plate_of_scene());
  const bool one = one_module();
  if (observation_.id == FindingId::scene_in_motion) {
    return fmt::format(
        "{} stored scene {} of {} while {} not at rest: what is stored is the level of that moment.{}",
        modules, scene, plate, one ? "its load was" : "their loads were", how_it_came());
  }
  if (observation_.id == FindingId::scene_missed) {
    return fmt::format("{} missed that scene {} was to be stored, and others took it: {} {} another level for it.{}", modules,
                       scene, one ? "it" : "they", observation_.until ? "had" : one ? "has" : "have", how_it_came());
  }
  if (observation_.id == FindingId::scene_of_before) {
    return fmt::format(
        "{} answered scene {} of {} with {} from before {} had {} address: a new address changes no scene.{}",
        modules, scene, plate, one ? "a level" : "levels", one ? "it" : "they", one ? "its" : "their",
        how_it_came());
  }
  if (observation_.id == FindingId::scene_unset) {
    return fmt::format(
        "{} did nothing when {} called scene {}, and others answered: no level was ever stored for it "
        "there.{}",
        modules, plate, scene, how_it_came());
  }
  return fmt::format(
      "{} called scene {}, and what {} {} is not what was stored from {}: from another plate it was stored "
      "anew "
      "since, with other levels. Both plates call one and the same scene.{}",
      plate, scene, modules, one ? "has" : "have", plate, how_it_came());
}

std::string Narrator::store_again() const {
  const Telegram telegram = telegram_of_scene();
  const DeviceId plate = plate_of_scene();
  const bool once = observation_.id == FindingId::scene_overwritten;
  const auto key = scene_key(site().plate_family(plate), Command::store, telegram.argument);
  const std::string store =
      key ? fmt::format("{}", key_text(site(), plate, *key))
          : fmt::format("store scene {} from a plate of that zone that can", telegram.argument);
  return fmt::format(
      "{}Set all levels of the zone as scene {} is to be. See that nothing moves or winks any more and that "
      "nobody is at another "
      "plate; then {}. Put the lights out, call the scene and look at every load.",
      once ? "Agree whose levels shall hold, or give one of the plates another scene. " : "",
      telegram.argument, store);
}

std::string Narrator::scene_wrong() const {
  const ModuleSpec& spec = site().modules[site().module_index(first())];
  const ModuleMemory& has = world_.modules[site().module_index(first())].newest();
  const unsigned wrong = wrong_scenes(spec, has);
  std::vector<std::string> all;
  for (std::size_t i = 0; i < max_scenes; ++i) {
    if ((wrong >> i & 1U) == 0) continue;
    const std::string holds =
        has.scenes[i] == no_scene_level ? "is not stored" : fmt::format("is {}", percent_text(has.scenes[i]));
    all.push_back(
        fmt::format("scene {} {}, and {} was intended", i + 1, holds, percent_text(spec.intended_scenes[i])));
  }
  return fmt::format("{}: {}.{}", first_name(), fmt::join(all, "; "),
                     observation_.evidence.empty()
                         ? fmt::format(" By {} nobody had stored it.", clock_text(world_.now))
                         : how_it_came());
}

std::string Narrator::set_scenes_right() const {
  return fmt::format(
      "Set the levels that the site's plan has for the zone of {}, wait until nothing moves any more, and "
      "store the "
      "scene at its plate. Put the lights out, call it and look at every load.",
      first_name());
}

std::string Narrator::master_next_door() const {
  const DeviceId plate = plate_of_scene();
  const bool ours = !site().is_neighbour(plate);
  return fmt::format("{} {} has a key for more than one zone, and {} {} obeyed it: {} site number {}, too.{}",
                     ours ? "Our" : "The neighbour's", site().name(plate), ours ? "the neighbour's" : "our",
                     modules_named(), one_module() ? "it has the" : "they have the", telegram_of_scene().site,
                     how_it_came());
}

std::string Narrator::part_from_next_door() const {
  return fmt::format(
      "Until that is settled, press no key for the whole site or for a group. Choose a site number that "
      "nobody else "
      "has, set it on every plate of ours and address our modules again; or have the neighbour do so.{}",
      caution_for_switches());
}

}  // namespace drybus::model
