// The wall plate: a pure reaction from state and stimulus to next state and effects. What it does stands in its family's
// machine (family/machine.h); here are the services that the rows name: contacts and gestures, lamps, telegrams.
#pragma once

#include <cstdint>
#include <optional>

#include "model/devices/device.h"
#include "sim/fields.h"

namespace drybus::model {

struct PlateState {
  Mode mode = Mode::normal;
  std::uint8_t channel = 0;
  std::uint8_t site = 0;       ///< as the switches stand
  std::uint8_t zone = 0;       ///< as the switches stand
  Buttons down = 0;            ///< debounced
  Buttons settling = 0;        ///< whose contacts are not read until their debounce time is over
  Button tracked = no_button;  ///< the one button whose press or hold is being told apart
  std::uint8_t spent = 0;      ///< the buttons that are down have already had their effect
  std::uint8_t moving = 0;  ///< raise or lower was sent, and stop is owed: one more than the number of a Whom
  std::uint8_t awake = 0;   ///< blips are shown
  std::uint8_t refusing = 0;
  std::uint8_t blipping = 0;
  Pattern shown = Pattern::dark;
  std::uint8_t stage = 0;  ///< which of the machine's states of that mode
  friend bool operator==(const PlateState&, const PlateState&) = default;

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_state;
    return std::tuple{field(&PlateState::mode, in_state),
                      field(&PlateState::channel, in_state | in_hidden),
                      field(&PlateState::site, in_state | in_hidden),
                      field(&PlateState::zone, in_state | in_hidden),
                      field(&PlateState::down, in_state),
                      field(&PlateState::settling, in_state),
                      field(&PlateState::tracked, in_state),
                      field(&PlateState::spent, in_state),
                      field(&PlateState::moving, in_state),
                      field(&PlateState::awake, in_state),
                      field(&PlateState::refusing, in_state),
                      field(&PlateState::blipping, in_state),
                      field(&PlateState::shown, in_state),
                      field(&PlateState::stage, in_state)};
  }
};

class RowsTaken;

/// Applies one stimulus to `state` and adds what is to be done to `effects`, and to `rows` which rows of the machine that
/// took. Depends on nothing else.
void react(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects,
           RowsTaken* rows = nullptr);

/// What a button sends that is pressed at a plate with these switches; nothing where it does nothing.
std::optional<Telegram> telegram_of(const Binding& binding, std::uint8_t site, std::uint8_t zone);

/// Whether some button of a plate with these switches speaks for just this zone: its own, or that and the next.
bool has_keys_for(const PlateFamily& family, const PlateState& state, std::uint8_t site, std::uint8_t zone);

/// Whether any of its buttons speaks for those.
bool speaks_for(const PlateFamily& family, Whom whom);

/// Which pattern shows, in the order that the family's machine has.
Pattern shown_pattern(const PlateFamily& family, const PlateState& state);

/// Whether it refuses to assign while its zone switches stand at 0; others offer what no module can take.
bool refuses_zone_zero(const PlateFamily& family);

}  // namespace drybus::model
