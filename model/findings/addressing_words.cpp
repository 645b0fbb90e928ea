// What is to be done so that a module gets its address.
#include "model/findings/narrator.h"
#include "model/record/way_into_setup.h"
#include "model/words/words.h"
#include "model/world/partners.h"

namespace drybus::model {

std::string Narrator::address_it(DeviceId module, bool again) const {
  const auto& wanted = site().modules[site().module_index(module)].intended;
  const std::string& name = site().name(module);
  if (!wanted) return again ? tr("Address {} again.", name) : tr("Address {} now.", name);
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    const PlateState& state = world_.plates[plate];
    if (site().is_neighbour(plate) || state.site != wanted->site || state.zone != wanted->zone) continue;
    const bool asks = site().plate_family(plate).assign == no_button;
    const int channel = asks ? wanted->channel - 1 : wanted->channel;
    const std::string there = to_setup(plate, false);
    const std::string here = to_setup(module, false);
    const std::string offer = offer_sentence(site(), plate, module);
    if (world_.medium.path(site().network, plate, module))
      return again ? tr("Address {} again: {}, step it to channel {}, {}, then {}.", name, there, channel,
                        here, offer)
                   : tr("Address {} now: {}, step it to channel {}, {}, then {}.", name, there, channel, here,
                        offer);
    return mend_the_way(plate, name) + " " +
           (again ? tr("Then: address {} again: {}, step it to channel {}, {}, then {}.", name, there,
                       channel, here, offer)
                  : tr("Then: address {} now: {}, step it to channel {}, {}, then {}.", name, there, channel,
                       here, offer));
  }
  const DeviceId free = plate_for_nobody(module);
  const std::string set = set_switches(free, wanted->site, wanted->zone);
  return (again ? tr("Address {} again: {}, put it and the module in setup and assign channel {}.", name, set,
                     wanted->channel)
                : tr("Address {} now: {}, put it and the module in setup and assign channel {}.", name, set,
                     wanted->channel)) +
         caution_for_switches();
}

DeviceId Narrator::plate_for_nobody(DeviceId module) const {
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    if (can_wait_for(site(), world_, module, plate)) return plate;
  }
  return no_device;
}

std::string Narrator::set_switches(DeviceId plate, int site_number, int zone) const {
  return plate == no_device
             ? tr("set a plate's switches to site {}, zone {}", site_number, zone)
             : tr("set {}'s switches to site {}, zone {}", site().name(plate), site_number, zone);
}

std::string Narrator::give_it_a_plate() const {
  const Address& held = memory(first()).address;
  const auto& wanted = site().modules[site().module_index(first())].intended;
  if (wanted && *wanted != held) return address_it(first(), true);
  const DeviceId free = wanted ? plate_for_nobody(first()) : no_device;
  if (!wanted)
    return tr("Address {} again from the plate it belongs to, or {}.", first_name(),
              set_switches(free, held.site, held.zone)) +
           caution_for_switches();
  return (free == no_device
              ? tr("Set a plate's switches to site {}, zone {}.", held.site, held.zone)
              : tr("Set {}'s switches to site {}, zone {}.", site().name(free), held.site, held.zone)) +
         caution_for_switches();
}

std::string Narrator::part_addresses() const {
  std::string text;
  std::size_t named = 0;
  for (const DeviceId module : observation_.devices) {
    const auto& wanted = site().modules[site().module_index(module)].intended;
    if (site().is_neighbour(module) || !wanted || *wanted == memory(module).address) continue;
    text += (text.empty() ? "" : " ") + address_it(module, true);
    ++named;
  }
  constexpr std::size_t most_named = 4;  // more sentences of one kind nobody reads
  if (named > most_named) text.clear();
  if (named <= most_named && named + 1 >= observation_.devices.size()) return text;
  if (!text.empty()) text += " ";
  return text +
         tr("Give all but one of {} another address: {}, step the plate to a free channel, then press its"
            " {}.",
            names(0), to_setup(observation_.devices.back(), false), assign_button());
}

}  // namespace drybus::model
