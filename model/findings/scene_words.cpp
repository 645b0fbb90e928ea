// Findings about scenes and master keys, in words.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/record/scene_keys.h"
#include "model/words/words.h"

namespace drybus::model {

std::string Narrator::modules_named() const {
  std::vector<std::string> all;
  for (const DeviceId device : observation_.devices) {
    if (!site().is_plate(device)) all.push_back(site().name(device));
  }
  return list(std::move(all));
}

std::size_t Narrator::how_many_modules() const {
  return static_cast<std::size_t>(
      std::count_if(observation_.devices.begin(), observation_.devices.end(),
                    [this](DeviceId device) { return !site().is_plate(device); }));
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
  const std::size_t count = how_many_modules();
  if (observation_.id == FindingId::scene_in_motion) {
    return plural(
               "{} stored scene {} of {} while its load was not at rest: what is stored is the level of that "
               "moment.",
               "{} stored scene {} of {} while their loads were not at rest: what is stored is the level of "
               "that moment.",
               count, modules, scene, plate) +
           how_it_came();
  }
  if (observation_.id == FindingId::scene_missed) return scene_missed(scene, modules, count) + how_it_came();
  if (observation_.id == FindingId::scene_of_before) {
    return plural(
               "{} answered scene {} of {} with a level from before it had its address: a new address "
               "changes no scene.",
               "{} answered scene {} of {} with levels from before they had their address: a new address "
               "changes no scene.",
               count, modules, scene, plate) +
           how_it_came();
  }
  if (observation_.id == FindingId::scene_unset) {
    // The same in English for one and for several.
    return plural(
               "{} did nothing when {} called scene {}, and others answered: no level was ever stored for it "
               "there.",
               "{} did nothing when {} called scene {}, and others answered: no level was ever stored for it "
               "there.",
               count, modules, plate, scene) +
           how_it_came();
  }
  return plural(
             "{} called scene {}, and what {} has is not what was stored from {}: from another plate it was "
             "stored anew since, with other levels. Both plates call one and the same scene.",
             "{} called scene {}, and what {} have is not what was stored from {}: from another plate it was "
             "stored anew since, with other levels. Both plates call one and the same scene.",
             count, plate, scene, modules, plate) +
         how_it_came();
}

std::string Narrator::scene_missed(int scene, const std::string& modules, std::size_t count) const {
  return is_over() ? plural(
                         "{} missed that scene {} was to be stored, and others took it: it had another level "
                         "for it.",
                         "{} missed that scene {} was to be stored, and others took it: they had another "
                         "level for it.",
                         count, modules, scene)
                   : plural(
                         "{} missed that scene {} was to be stored, and others took it: it has another level "
                         "for it.",
                         "{} missed that scene {} was to be stored, and others took it: they have another "
                         "level for it.",
                         count, modules, scene);
}

std::string Narrator::store_again() const {
  const Telegram telegram = telegram_of_scene();
  const DeviceId plate = plate_of_scene();
  const bool once = observation_.id == FindingId::scene_overwritten;
  const auto key = scene_key(site().plate_family(plate), Command::store, telegram.argument);
  const std::string store = key ? key_text(site(), plate, *key)
                                : tr("store scene {} from a plate of that zone that can", telegram.argument);
  return (once ? tr("Agree whose levels shall hold, or give one of the plates another scene.") + " " : "") +
         tr("Set all levels of the zone as scene {} is to be. See that nothing moves or winks any more and "
            "that nobody is at another plate; then {}. Put the lights out, call the scene and look at every "
            "load.",
            telegram.argument, store);
}

std::string Narrator::scene_wrong() const {
  const ModuleSpec& spec = site().modules[site().module_index(first())];
  const ModuleMemory& has = world_.modules[site().module_index(first())].newest();
  const unsigned wrong = wrong_scenes(spec, has);
  std::vector<std::string> all;
  for (std::size_t i = 0; i < max_scenes; ++i) {
    if ((wrong >> i & 1U) == 0) continue;
    const std::string intended_level = with_decimal_mark(percent_text(spec.intended_scenes[i]));
    all.push_back(has.scenes[i] == no_scene_level
                      ? tr("scene {} is not stored, and {} was intended", i + 1, intended_level)
                      : tr("scene {} is {}, and {} was intended", i + 1,
                           with_decimal_mark(percent_text(has.scenes[i])), intended_level));
  }
  return fmt::format("{}: {}.{}", first_name(), fmt::join(all, "; "),
                     observation_.evidence.empty()
                         ? " " + tr("By {} nobody had stored it.", clock_text(world_.now))
                         : how_it_came());
}

std::string Narrator::set_scenes_right() const {
  return tr(
      "Set the levels that the site's plan has for the zone of {}, wait until nothing moves any more, and "
      "store the scene at its plate. Put the lights out, call it and look at every load.",
      first_name());
}

std::string Narrator::master_next_door() const {
  const DeviceId plate = plate_of_scene();
  const std::string& name = site().name(plate);
  const std::string modules = modules_named();
  const int number = telegram_of_scene().site;
  return (site().is_neighbour(plate) ? plural("The neighbour's {} has a key for more than one zone, and our "
                                              "{} obeyed it: it has the site number {}, too.",
                                              "The neighbour's {} has a key for more than one zone, and our "
                                              "{} obeyed it: they have the site number {}, too.",
                                              how_many_modules(), name, modules, number)
                                     : plural("Our {} has a key for more than one zone, and the neighbour's "
                                              "{} obeyed it: it has the site number {}, too.",
                                              "Our {} has a key for more than one zone, and the neighbour's "
                                              "{} obeyed it: they have the site number {}, too.",
                                              how_many_modules(), name, modules, number)) +
         how_it_came();
}

std::string Narrator::part_from_next_door() const {
  return tr("Until that is settled, press no key for the whole site or for a group. Choose a site number "
            "that nobody else has, set it on every plate of ours and address our modules again; or have the "
            "neighbour do so.") +
         caution_for_switches();
}

}  // namespace drybus::model
