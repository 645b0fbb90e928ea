// Who belongs to whom: which plate can address or disturb which module. Findings ask here, and nowhere else.
//
// By the wiring, as it is built: a plate on another bus or beyond radio range has nothing to do with a module, whatever
// their numbers. By the numbers: a module that is intended for a plate here is put in setup for that plate. And by time:
// a plate that was left to its time-out before a module's setup began waits for nobody, unless somebody goes on at it as
// if it were still in setup. `DeviceState::partner` keeps with whom a module is in setup; it follows from what happened
// before.
#pragma once

#include <optional>

#include "model/site/site.h"
#include "model/world/world.h"

namespace drybus::model {

/// Whether a signal of one gets to the other as the site is built, broken links and lost power apart.
bool is_joined(const Site& site, DeviceId a, DeviceId b);

/// Whether there is a plate, anybody's, that both modules hear as the site is built.
bool hear_one_plate(const Site& site, DeviceId a, DeviceId b);

/// The plate offered an address since it entered setup, whether or not anybody took it.
void offered(World& world, DeviceId plate);
bool has_offered(const World& world, DeviceId plate);

/// Whether a module, anybody's, hears both plates as things stand.
bool reach_one_module(const Site& site, const World& world, DeviceId one, DeviceId other);

/// Whether one of two plates, ours and a neighbour's, reaches a module of the other's side as things stand.
bool reaches_across(const Site& site, const World& world, DeviceId ours, DeviceId neighbours);

/// A neighbour's plate that has the module's site and zone and that it hears as the site is built.
std::optional<DeviceId> neighbour_who_reaches(const Site& site, const World& world, DeviceId module);

/// Whether the module answers to this plate of ours, or is to do so, but is built onto another bus, where no plate that it
/// answers to is.
bool is_on_the_wrong_bus(const Site& site, const World& world, DeviceId module, DeviceId plate);

/// Whether the module's intended address has the site and zone at which the plate's switches stand.
bool is_intended_for(const Site& site, const World& world, DeviceId module, DeviceId plate);

/// Whether the module answers to the plate in normal mode, or is to do so.
bool belongs_to(const Site& site, const World& world, DeviceId module, DeviceId plate);

/// Whether who puts the module in setup can mean this plate. Both are ours and joined; where a plate here has the
/// intended site and zone, it is one of those; where none has (its switches stand wrong), one that nobody is intended for.
bool can_wait_for(const Site& site, const World& world, DeviceId module, DeviceId plate);

/// Whether somebody took an address from the plate since its setup last began, and every module that can wait for it holds
/// the address that was intended, or any where none was.
bool has_done_its_work(const Site& site, const World& world, DeviceId plate);

/// The plate that the module is out of step with: with one of them in setup, the other's setup ended by itself or by a
/// press at the plate, and somebody reckons with both.
std::optional<DeviceId> split_from(const World& world, DeviceId module);

/// To be called when a device's setup has begun or ended.
void setup_began(const Site& site, World& world, DeviceId device);
void setup_ended(const Site& site, World& world, DeviceId device, ModeReason reason);

/// The installer presses a button of a plate and takes it for in setup, which it is no longer: whoever waits for it waits
/// in vain.
void pressed_in_vain(const Site& site, World& world, DeviceId plate);

/// The installer presses assign and takes modules for in setup that have left it: they are whom the offer was for, if no
/// other module waits for it.
void offered_in_vain(const Site& site, World& world, DeviceId plate);

}  // namespace drybus::model
