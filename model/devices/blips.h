// The lamp's blips, alike on plates and modules: shown while they are awake.
#pragma once

#include "model/devices/device.h"

namespace drybus::model {

/// Blips are shown from now on, until their time to sleep has passed.
template <class State>
void wake_blips(const IndicatorTimes& times, State& state, Effects& effects) {
  if (state.awake == 0) effects.tell(Told::blips_awake, 1);
  state.awake = 1;
  effects.start(Timer::sleep, times.blips_sleep);
}

/// One blip, unless they sleep.
template <class State>
void show_blip(const IndicatorTimes& times, State& state, Effects& effects) {
  if (state.awake == 0) return effects.tell(Told::blip_unshown);
  state.blipping = 1;
  effects.start(Timer::blip, times.blip);
}

}  // namespace drybus::model
