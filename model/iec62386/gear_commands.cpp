// What each command does, as a table of one line each.
#include <array>

#include "model/iec62386/gear_reaction.h"

namespace drybus::iec62386 {

namespace {

using Handler = void (*)(Reaction&, const Said&);
using Handlers = std::array<Handler, static_cast<std::size_t>(Op::enable_type) + 1>;

constexpr std::uint32_t with_byte(std::uint32_t word, unsigned shift, std::uint8_t byte) {
  return (word & ~(0xFFU << shift)) | (std::uint32_t{byte} << shift);
}
constexpr std::uint8_t byte_of(std::uint32_t word, unsigned shift) {
  return static_cast<std::uint8_t>(word >> shift);
}

void add_levels(Handlers& on) {
  const auto at = [&on](Op op) -> Handler& { return on.at(static_cast<std::size_t>(op)); };
  at(Op::level) = [](Reaction& r, const Said& said) { r.arc_level(said.value); };
  at(Op::off) = [](Reaction& r, const Said&) { r.move_to(0, 0ns); };
  at(Op::up) = [](Reaction& r, const Said&) { r.up_or_down(1); };
  at(Op::down) = [](Reaction& r, const Said&) { r.up_or_down(-1); };
  at(Op::step_up) = [](Reaction& r, const Said&) { r.change_by(1, 0ns); };
  at(Op::step_down) = [](Reaction& r, const Said&) { r.change_by(-1, 0ns); };
  at(Op::recall_max) = [](Reaction& r, const Said&) { r.move_to(r.most(), 0ns); };
  at(Op::recall_min) = [](Reaction& r, const Said&) { r.move_to(r.least(), 0ns); };
  at(Op::step_down_and_off) = [](Reaction& r, const Said&) {
    r.level() <= r.least() ? r.move_to(0, 0ns) : r.change_by(-1, 0ns);
  };
  at(Op::on_and_step_up) = [](Reaction& r, const Said&) {
    r.level() == 0 ? r.move_to(r.least(), 0ns) : r.change_by(1, 0ns);
  };
  at(Op::go_to_last) = [](Reaction& r, const Said&) { r.go_to(r.memory().last_active, r.fade()); };
  at(Op::go_to_scene) = [](Reaction& r, const Said& said) { r.scene(said.number); };
}

void add_settings(Handlers& on) {
  const auto at = [&on](Op op) -> Handler& { return on.at(static_cast<std::size_t>(op)); };
  at(Op::reset) = [](Reaction& r, const Said&) { r.reset(); };
  at(Op::store_level_in_dtr0) = [](Reaction& r, const Said&) { r.state.dtr0 = r.level(); };
  at(Op::identify) = [](Reaction& r, const Said&) {
    r.state.identifies = true;
    r.start(Timer::identify);
    r.effects.add(Did::identifies);
  };
  at(Op::set_max) = [](Reaction& r, const Said&) {
    r.take(r.memory().max_level, std::clamp(r.state.dtr0, r.least(), Level{254}));
  };
  at(Op::set_min) = [](Reaction& r, const Said&) {
    const Level most = r.memory().max_level;
    r.take(r.memory().min_level,
           std::clamp(r.state.dtr0, r.kind.physical_minimum, std::max(r.kind.physical_minimum, most)));
  };
  at(Op::set_system_failure) = [](Reaction& r, const Said&) {
    r.take(r.memory().system_failure, r.state.dtr0);
  };
  at(Op::set_power_on) = [](Reaction& r, const Said&) { r.take(r.memory().power_on, r.state.dtr0); };
  at(Op::set_fade_time) = [](Reaction& r, const Said&) {
    r.take(r.memory().fade_time, std::min<std::uint8_t>(r.state.dtr0, 15));
  };
  at(Op::set_fade_rate) = [](Reaction& r, const Said&) {
    r.take(r.memory().fade_rate, std::clamp<std::uint8_t>(r.state.dtr0, 1, 15));
  };
  at(Op::set_extended_fade) = [](Reaction& r, const Said&) {
    r.take(r.memory().extended_fade, r.state.dtr0 > 0x4F ? std::uint8_t{0} : r.state.dtr0);
  };
  at(Op::set_scene) = [](Reaction& r, const Said& said) { r.set_scene(said.number, r.state.dtr0); };
  at(Op::remove_from_scene) = [](Reaction& r, const Said& said) { r.set_scene(said.number, mask); };
  at(Op::add_to_group) = [](Reaction& r, const Said& said) { r.set_group(said.number, true); };
  at(Op::remove_from_group) = [](Reaction& r, const Said& said) { r.set_group(said.number, false); };
  at(Op::set_short_address) = [](Reaction& r, const Said&) { r.set_short(r.state.dtr0, Did::programmed); };
}

void add_states(Handlers& on) {
  const auto at = [&on](Op op) -> Handler& { return on.at(static_cast<std::size_t>(op)); };
  at(Op::query_status) = [](Reaction& r, const Said&) { r.answer(r.status()); };
  at(Op::query_present) = [](Reaction& r, const Said&) { r.answer(yes); };
  at(Op::query_gear_failure) = [](Reaction& r, const Said&) { r.answer_if(false); };
  at(Op::query_lamp_failure) = [](Reaction& r, const Said&) { r.answer_if(r.state.lamp_failed); };
  at(Op::query_lamp_on) = [](Reaction& r, const Said&) { r.answer_if(light(r.state, r.now) != 0); };
  at(Op::query_limit_error) = [](Reaction& r, const Said&) { r.answer_if(r.state.limit_error); };
  at(Op::query_reset_state) = [](Reaction& r, const Said&) { r.answer_if(r.state.reset_state); };
  at(Op::query_missing_short) = [](Reaction& r, const Said&) {
    r.answer_if(r.memory().short_address == no_short);
  };
  at(Op::query_power_failure) = [](Reaction& r, const Said&) { r.answer_if(r.state.power_cycle_seen); };
  at(Op::query_level) = [](Reaction& r, const Said&) { r.answer(r.level()); };
}

void add_contents(Handlers& on) {
  const auto at = [&on](Op op) -> Handler& { return on.at(static_cast<std::size_t>(op)); };
  // The second edition's number: 2 in the upper six bits.
  at(Op::query_version) = [](Reaction& r, const Said&) { r.answer(8); };
  at(Op::query_dtr0) = [](Reaction& r, const Said&) { r.answer(r.state.dtr0); };
  at(Op::query_dtr1) = [](Reaction& r, const Said&) { r.answer(r.state.dtr1); };
  at(Op::query_dtr2) = [](Reaction& r, const Said&) { r.answer(r.state.dtr2); };
  at(Op::query_type) = [](Reaction& r, const Said&) { r.answer(r.kind.type); };
  at(Op::query_next_type) = [](Reaction& r, const Said&) { r.answer(254); };
  at(Op::query_extended_version) = [](Reaction&, const Said&) {};  // of a type that was named just before
  at(Op::query_physical_min) = [](Reaction& r, const Said&) { r.answer(r.kind.physical_minimum); };
  at(Op::query_max) = [](Reaction& r, const Said&) { r.answer(r.memory().max_level); };
  at(Op::query_min) = [](Reaction& r, const Said&) { r.answer(r.least()); };
  at(Op::query_power_on) = [](Reaction& r, const Said&) { r.answer(r.memory().power_on); };
  at(Op::query_system_failure) = [](Reaction& r, const Said&) { r.answer(r.memory().system_failure); };
  at(Op::query_fade) = [](Reaction& r, const Said&) {
    r.answer(static_cast<std::uint8_t>((unsigned{r.memory().fade_time} << 4U) | r.memory().fade_rate));
  };
  at(Op::query_extended_fade) = [](Reaction& r, const Said&) { r.answer(r.memory().extended_fade); };
  at(Op::query_scene) = [](Reaction& r, const Said& said) { r.answer(r.memory().scenes[said.number]); };
  at(Op::query_groups_low) = [](Reaction& r, const Said&) { r.answer(byte_of(r.memory().groups, 0)); };
  at(Op::query_groups_high) = [](Reaction& r, const Said&) { r.answer(byte_of(r.memory().groups, 8)); };
  at(Op::query_random_high) = [](Reaction& r, const Said&) { r.answer(byte_of(r.memory().random, 16)); };
  at(Op::query_random_middle) = [](Reaction& r, const Said&) { r.answer(byte_of(r.memory().random, 8)); };
  at(Op::query_random_low) = [](Reaction& r, const Said&) { r.answer(byte_of(r.memory().random, 0)); };
}

void add_specials(Handlers& on) {
  const auto at = [&on](Op op) -> Handler& { return on.at(static_cast<std::size_t>(op)); };
  at(Op::terminate) = [](Reaction& r, const Said&) { r.end_initialised(); };
  at(Op::dtr0) = [](Reaction& r, const Said& said) { r.state.dtr0 = said.value; };
  at(Op::dtr1) = [](Reaction& r, const Said& said) { r.state.dtr1 = said.value; };
  at(Op::dtr2) = [](Reaction& r, const Said& said) { r.state.dtr2 = said.value; };
  at(Op::initialise) = [](Reaction& r, const Said& said) { r.initialise(said.value); };
  at(Op::randomise) = [](Reaction& r, const Said&) {
    if (r.state.initialised) r.effects.add(Did::wants_random);
  };
  at(Op::compare) = [](Reaction& r, const Said&) {
    r.answer_if(r.state.initialised && !r.state.withdrawn && r.memory().random <= r.state.search);
  };
  at(Op::withdraw) = [](Reaction& r, const Said&) {
    if (!r.selected()) return;
    r.state.withdrawn = true;
    r.effects.add(Did::withdrawn);
  };
  at(Op::ping) = [](Reaction&, const Said&) {};
  at(Op::search_high) = [](Reaction& r, const Said& said) {
    r.state.search = with_byte(r.state.search, 16, said.value);
  };
  at(Op::search_middle) = [](Reaction& r, const Said& said) {
    r.state.search = with_byte(r.state.search, 8, said.value);
  };
  at(Op::search_low) = [](Reaction& r, const Said& said) {
    r.state.search = with_byte(r.state.search, 0, said.value);
  };
  at(Op::program_short) = [](Reaction& r, const Said& said) {
    if (r.selected()) r.set_short(said.value, Did::programmed);
  };
  at(Op::verify_short) = [](Reaction& r, const Said& said) {
    r.answer_if(r.state.initialised && short_of(said.value) == r.memory().short_address);
  };
  at(Op::query_short) = [](Reaction& r, const Said&) {
    if (r.selected()) r.answer(coded_short(r.memory().short_address));
  };
  at(Op::enable_type) = [](Reaction& r, const Said& said) { r.state.enabled_type = said.value; };
}

const Handlers& handlers() {
  static const Handlers all = [] {
    Handlers on{};
    add_levels(on);
    add_settings(on);
    add_states(on);
    add_contents(on);
    add_specials(on);
    return on;
  }();
  return all;
}

}  // namespace

bool has_handler(Op op) {
  return handlers().at(static_cast<std::size_t>(op)) != nullptr;
}

void carry_out(Reaction& reaction, const Said& said) {
  if (said.command->is(uses_dtr0)) reaction.effects.add(Did::dtr0_used);
  handlers().at(static_cast<std::size_t>(said.command->op))(reaction, said);
}

}  // namespace drybus::iec62386
