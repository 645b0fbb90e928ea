// The wall plate: a pure reaction from state and stimulus to next state and effects.
//
//            gesture held                      channel 0 on entry; a beacon at once and then every `beacon`
//   NORMAL ----------------> SETUP -.          next, previous: step the channel, identify it
//     ^  ^                   |   |  | buttons  identify: again, without stepping
//     |  `-- leave pressed --'   |  |          assign: offer site/zone/channel; channel 0 or zone 0: refuse
//     `------ time-out ----------'<-'          buttons lose their ordinary meaning
//   power cut, from anywhere: NORMAL, with nothing remembered but the switches
#pragma once

#include <cstdint>

#include "model/devices/device.h"
#include "sim/fields.h"

namespace drybus::model {

struct PlateState {
  Mode mode = Mode::normal;
  std::uint8_t channel = 0;
  std::uint8_t site = 0;       ///< as the switches stand
  std::uint8_t zone = 0;       ///< as the switches stand
  Buttons down = 0;            ///< debounced
  Button tracked = no_button;  ///< the one button whose press or hold is being told apart
  std::uint8_t spent = 0;      ///< the buttons that are down have already had their effect
  std::uint8_t settling = 0;   ///< contacts are not read until the debounce time is over
  std::uint8_t moving = 0;     ///< raise or lower was sent; stop is owed
  std::uint8_t awake = 0;      ///< blips are shown
  std::uint8_t refusing = 0;
  std::uint8_t blipping = 0;
  Pattern shown = Pattern::dark;
  std::array<std::uint8_t, 2> unused{};
  friend bool operator==(const PlateState&, const PlateState&) = default;

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_state;
    return std::tuple{field(&PlateState::mode, in_state),
                      field(&PlateState::channel, in_state | in_hidden),
                      field(&PlateState::site, in_state | in_hidden),
                      field(&PlateState::zone, in_state | in_hidden),
                      field(&PlateState::down, in_state),
                      field(&PlateState::tracked, in_state),
                      field(&PlateState::spent, in_state),
                      field(&PlateState::settling, in_state),
                      field(&PlateState::moving, in_state),
                      field(&PlateState::awake, in_state),
                      field(&PlateState::refusing, in_state),
                      field(&PlateState::blipping, in_state),
                      field(&PlateState::shown, in_state),
                      field(&PlateState::unused, in_state)};
  }
};

/// Applies one stimulus to `state` and adds what is to be done to `effects`. Depends on nothing else.
void react(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects);

/// Which pattern shows: refuse, before blink (setup), before blip, before dark.
Pattern shown_pattern(const PlateState& state);

}  // namespace drybus::model
