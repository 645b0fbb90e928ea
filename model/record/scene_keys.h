// With which key of a plate a scene is stored or called, and how that key is pressed.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "model/people/script.h"

namespace drybus::model {

/// A key of a plate for something.
struct Key {
  Button button = no_button;
  bool held = false;  ///< a long press
};

/// The first key that gives this command for the plate's own zone; a short press before a long one.
std::optional<Key> plain_key(const PlateFamily& family, Command command);
/// The same for a scene.
std::optional<Key> scene_key(const PlateFamily& family, Command command, std::uint8_t scene);

/// How long a key is held for a long press: a good half more than it takes, as people do.
sim::Duration long_enough(const PlateFamily& family);

/// "press P1 up", "hold P1 two for 1.5 s".
std::string key_text(const Site& site, DeviceId plate, const Key& key);

/// The step of that; a short press takes `press`.
Step key_step(const Site& site, DeviceId plate, const Key& key, sim::Duration press);

}  // namespace drybus::model
