// How addresses are given out, reduced to what decides who ends up with which: the twin of addressing.pml, state by state
// and action by action.
//
//   plate    normal, or in setup with a channel; in setup it steps the channel and offers its address
//   module   normal or in setup; stores an address; takes the first offer that it hears in setup, and leaves setup
//   bus      carries one offer at a time; each module hears or misses it in its turn
//
// A time-out can come at any moment, so that it is the same action as leaving by hand.
#pragma once

#include <array>
#include <cstdint>

#include "sim/search_tree.h"

namespace drybus::tests {

struct AddressingSize {
  unsigned plates = 1;    ///< 1 or 2
  unsigned modules = 2;   ///< 1 to 5
  unsigned channels = 2;  ///< 1 to 7
  unsigned losses = 0;    ///< how many times in all a module may miss an offer, 0 to 7
};

/// Addresses count from 1: plate x channels + channel; 0 is none.
struct AddressingState {
  std::array<std::uint8_t, 2> plates{};   ///< channel, plus `in_setup`
  std::array<std::uint8_t, 5> modules{};  ///< address, plus `in_setup`
  std::uint8_t offer = 0;                 ///< the address on the bus
  std::uint8_t to_hear = 0;  ///< the modules that it has yet to reach, a bit each; above them: losses so far
  static constexpr std::uint8_t in_setup = 0x80;
  static constexpr std::uint8_t one_loss = 0x20;
  static constexpr std::uint8_t losses = 0xe0;
};

class Addressing {
 public:
  using State = AddressingState;

  /// What must never come about.
  enum class Never : std::uint8_t {
    unsound,    ///< an address is stored or offered that no plate can offer: it never comes about
    shared,     ///< two modules hold the same address
    installed,  ///< every module has an address of its own, and everything is in normal mode
  };

  Addressing(const AddressingSize& size, Never never) : size_(size), never_(never) {}

  void start(State& state) const { state = {}; }

  template <class Visit>
  void expand(const State& from, Visit&& visit) const {
    for (unsigned p = 0; p < size_.plates; ++p) expand_plate(from, p, visit);
    for (unsigned m = 0; m < size_.modules; ++m) expand_module(from, m, visit);
  }

 private:
  enum : sim::Action {
    enter_or_leave,
    next_channel,
    previous_channel,
    offer,
    hear = 1,
    miss = 2,
    actions_each = 4
  };

  template <class Visit>
  void expand_plate(const State& from, unsigned p, Visit& visit) const {
    const auto first_action = static_cast<sim::Action>(p * actions_each);
    const auto done = [&](sim::Action action, const State& next) {
      visit(static_cast<sim::Action>(first_action + action), next, broken(next));
    };
    State next = from;
    next.plates[p] = from.plates[p] == 0 ? State::in_setup : std::uint8_t{0};
    done(enter_or_leave, next);
    if (from.plates[p] == 0) return;
    const unsigned channel = from.plates[p] & 0x7fu;
    if (channel < size_.channels) {
      next.plates[p] = static_cast<std::uint8_t>(from.plates[p] + 1);
      done(next_channel, next);
    }
    if (channel == 0) return;
    next.plates[p] = static_cast<std::uint8_t>(from.plates[p] - 1);
    done(previous_channel, next);
    if (from.offer != 0) return;
    next.plates[p] = from.plates[p];
    next.offer = static_cast<std::uint8_t>(p * size_.channels + channel);
    next.to_hear = static_cast<std::uint8_t>(from.to_hear | ((1u << size_.modules) - 1));
    done(offer, next);
  }

  template <class Visit>
  void expand_module(const State& from, unsigned m, Visit& visit) const {
    const auto first_action = static_cast<sim::Action>((size_.plates + m) * actions_each);
    const auto done = [&](sim::Action action, const State& next) {
      visit(static_cast<sim::Action>(first_action + action), next, broken(next));
    };
    State next = from;
    next.modules[m] = from.modules[m] ^ State::in_setup;
    done(enter_or_leave, next);
    if ((from.to_hear >> m & 1) == 0) return;
    next.modules[m] = (from.modules[m] & State::in_setup) != 0 ? from.offer : from.modules[m];
    next.to_hear = static_cast<std::uint8_t>(from.to_hear & ~(1u << m));
    if ((next.to_hear & ~State::losses) == 0) next.offer = 0;
    done(hear, next);
    if (from.to_hear / State::one_loss >= size_.losses) return;
    next.modules[m] = from.modules[m];
    next.to_hear = static_cast<std::uint8_t>(next.to_hear + State::one_loss);
    done(miss, next);
  }

  [[nodiscard]] bool broken(const State& state) const {
    switch (never_) {
      case Never::unsound:
        return unsound(state);
      case Never::shared:
        return shared(state);
      case Never::installed:
        return installed(state);
    }
    return false;
  }

  [[nodiscard]] static unsigned address(const State& state, unsigned m) { return state.modules[m] & 0x7fu; }

  [[nodiscard]] bool unsound(const State& state) const {
    const unsigned addresses = size_.plates * size_.channels;
    for (unsigned m = 0; m < size_.modules; ++m) {
      if (address(state, m) > addresses) return true;
    }
    return state.offer > addresses;
  }

  [[nodiscard]] bool shared(const State& state) const {
    for (unsigned m = 1; m < size_.modules; ++m) {
      for (unsigned other = 0; other < m; ++other) {
        if (address(state, m) != 0 && address(state, m) == address(state, other)) return true;
      }
    }
    return false;
  }

  [[nodiscard]] bool installed(const State& state) const {
    for (const std::uint8_t plate : state.plates) {
      if (plate != 0) return false;
    }
    for (unsigned m = 0; m < size_.modules; ++m) {
      if (state.modules[m] == 0 || (state.modules[m] & State::in_setup) != 0) return false;
    }
    return state.offer == 0 && !shared(state);
  }

  AddressingSize size_;
  Never never_;
};

}  // namespace drybus::tests
