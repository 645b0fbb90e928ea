#include "model/record/scene_keys.h"

#include <fmt/format.h>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

template <class Fits>
std::optional<Key> first_key(const PlateFamily& family, Fits fits) {
  for (const bool held : {false, true}) {
    const auto& bindings = held ? family.hold : family.press;
    for (std::size_t i = 0; i < family.buttons.size(); ++i) {
      if (bindings[i].whom == Whom::zone && fits(bindings[i])) return Key{static_cast<Button>(i), held};
    }
  }
  return std::nullopt;
}

}  // namespace

std::optional<Key> plain_key(const PlateFamily& family, Command command) {
  return first_key(family, [command](const Binding& binding) { return binding.command == command; });
}

std::optional<Key> scene_key(const PlateFamily& family, Command command, std::uint8_t scene) {
  return first_key(family, [command, scene](const Binding& binding) {
    return binding.command == command && binding.scene == scene;
  });
}

sim::Duration long_enough(const PlateFamily& family) {
  return family.long_press * 3 / 2;
}

std::string key_text(const Site& site, DeviceId plate, const Key& key) {
  const std::string button =
      fmt::format("{} {}", site.name(plate), site.plate_family(plate).name_of(key.button));
  if (!key.held) return tr("press {}", button);
  return tr("hold {} for {}", button, duration_text(long_enough(site.plate_family(plate))));
}

Step key_step(const Site& site, DeviceId plate, const Key& key, sim::Duration press) {
  const sim::Duration time = key.held ? long_enough(site.plate_family(plate)) : press;
  return push_step(key.held ? StepKind::hold : StepKind::press, plate, only(key.button), time);
}

}  // namespace drybus::model
