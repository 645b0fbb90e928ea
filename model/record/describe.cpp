#include "model/record/describe.h"

#include <fmt/format.h>

#include <bit>

#include "model/record/said.h"
#include "model/record/way_into_setup.h"

namespace drybus::model {

std::string clock_text(sim::Instant at) {
  const std::int64_t tenths = at.time_since_epoch().count() / 100'000'000;
  const std::int64_t s = tenths / 10;
  const std::string tail = fmt::format("{:02}.{}", s % 60, tenths % 10);
  if (s >= 3600) return fmt::format("{}:{:02}:{}", s / 3600, s / 60 % 60, tail);
  return fmt::format("{}:{}", s / 60, tail);
}

namespace {
/// `value` / `unit` to three places, without trailing zeros.
std::string decimal(std::int64_t value, std::int64_t unit) {
  std::string text = fmt::format("{}.{:03}", value / unit, value % unit * 1000 / unit);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}
}  // namespace

std::string duration_text(sim::Duration duration) {
  constexpr std::int64_t second = 1'000'000'000;
  constexpr std::int64_t minute = 60 * second;
  constexpr std::int64_t hour = 60 * minute;
  const std::int64_t ns = duration.count();
  if (ns != 0 && ns < 1'000'000) return decimal(ns, 1'000) + " us";
  if (ns != 0 && ns < second) return decimal(ns, 1'000'000) + " ms";
  // Time-outs are spoken of in seconds, even long ones; what is longer than anybody counts, in hours and minutes.
  const bool in_seconds = ns <= 10 * minute || (ns < 2 * hour && ns % minute != 0);
  if (in_seconds) return decimal(ns, second) + " s";
  std::string text;
  if (ns >= hour) text += fmt::format(" {} h", ns / hour);
  if (ns % hour >= minute) text += fmt::format(" {} min", ns % hour / minute);
  if (ns % minute != 0) text += fmt::format(" {} s", decimal(ns % minute, second));
  return text.substr(1);
}

std::string percent_text(Level level) {
  return level % 10 == 0 ? fmt::format("{} %", level / 10) : fmt::format("{}.{} %", level / 10, level % 10);
}

std::string buttons_text(const Site& site, DeviceId device, Buttons buttons) {
  if (!site.is_plate(device))
    return fmt::format("{} {}", site.name(device), site.module_family(device).button);
  std::string names;
  for (Buttons set = buttons; set != 0; set = static_cast<Buttons>(set & (set - 1))) {
    if (!names.empty()) names += "+";
    names += site.plate_family(device).name_of(static_cast<Button>(std::countr_zero(set)));
  }
  return fmt::format("{} {}", site.name(device), names);
}

namespace {

std::string fault_text(const Site& site, const Fault& fault) {
  switch (fault.kind) {
    case FaultKind::open:
      return fmt::format("fault: {} opens", site.link_name(fault.link));
    case FaultKind::shorted:
      return fmt::format("fault: {} is shorted", site.link_name(fault.link));
    case FaultKind::noisy:
      return fmt::format("fault: {} is noisy, {} bit errors per million", site.link_name(fault.link),
                         decimal(fault.bit_error_ppb, 1000));
    case FaultKind::mend:
      return fmt::format("{} is mended", site.link_name(fault.link));
    case FaultKind::stuck:
      return fmt::format("fault: {} sticks", buttons_text(site, fault.device, only(fault.button)));
    case FaultKind::freed:
      return fmt::format("{} comes free", buttons_text(site, fault.device, only(fault.button)));
    case FaultKind::deaf:
      return fmt::format("fault: {} misses its next {}", site.name(fault.device),
                         fault.count == 1 ? "telegram" : fmt::format("{} telegrams", fault.count));
    case FaultKind::dead_load:
      return fmt::format("fault: {}'s load gives no light", site.name(fault.device));
    case FaultKind::new_load:
      return fmt::format("{}'s load is replaced", site.name(fault.device));
  }
  return {};
}

std::string switches_text(const Site& site, const Step& step) {
  std::string text = fmt::format("set {}'s switches:", site.name(step.device));
  if (step.site) text += fmt::format(" site {}", *step.site);
  if (step.site && step.zone) text += ",";
  if (step.zone) text += fmt::format(" zone {}", *step.zone);
  return text;
}

std::string bounce_text(const Step& step) {
  return step.bounce > sim::Duration::zero() ? fmt::format(", bouncing for {}", duration_text(step.bounce))
                                             : "";
}

std::string checks_text(const Scenario& scenario, const Step& step) {
  std::string text;
  for (const std::uint32_t index : step.checks) {
    if (!text.empty()) text += ", ";
    text += describe(scenario, scenario.checks[index]);
  }
  return text;
}

std::string reason_text(const Site& site, DeviceId device, ModeReason reason, Mode mode) {
  switch (reason) {
    case ModeReason::gesture:
      return why_in_setup(site, device);
    case ModeReason::button:
      return mode == Mode::normal ? "its button was pressed" : "";
    case ModeReason::time_out:
      return "its time-out ran out";
    case ModeReason::assigned:
      return "it took an address";
    case ModeReason::power:
      return "its power went";
  }
  return "";
}

std::string_view refusal_text(Refusal refusal) {
  switch (refusal) {
    case Refusal::channel_zero:
      return "channel 0 cannot be assigned";
    case Refusal::zone_zero:
      return "zone 0 cannot be assigned";
    case Refusal::no_such_channel:
      return "there is no channel beyond";
  }
  return "";
}

std::string_view loss_text(sim::Loss loss) {
  switch (loss) {
    case sim::Loss::collision:
      return "it collided with another telegram";
    case sim::Loss::noise:
      return "noise spoilt it";
    case sim::Loss::no_path:
      return "there was no way from one to the other";
    case sim::Loss::unpowered:
      return "its power was off";
    case sim::Loss::cut_short:
      return "its sender's power went";
  }
  return "";
}

std::string link_state_text(const Site& site, const sim::Entry& entry) {
  const std::string name = site.link_name(entry.a);
  switch (static_cast<sim::LinkState>(entry.b & 0xff)) {
    case sim::LinkState::sound:
      return fmt::format("link {} is sound", name);
    case sim::LinkState::open:
      return fmt::format("link {} is open", name);
    case sim::LinkState::shorted:
      return fmt::format("link {} is shorted", name);
    case sim::LinkState::noisy:
      return fmt::format("link {} is noisy", name);
  }
  return {};
}

}  // namespace

std::string describe(const Scenario& scenario, const Check& check) {
  std::string wanted;
  for (const std::string& value : check.wanted) {
    if (!wanted.empty()) wanted += ", ";
    wanted += value;
  }
  if (check.fact == Fact::findings) return fmt::format("findings are {}", wanted.empty() ? "none" : wanted);
  return fmt::format("{}.{} is {}", scenario.site.name(check.device), to_string(check.fact), wanted);
}

std::string describe(const Scenario& scenario, const Step& step) {
  const Site& site = scenario.site;
  switch (step.kind) {
    case StepKind::press:
      return fmt::format("press {}{}", buttons_text(site, step.device, step.buttons), bounce_text(step));
    case StepKind::hold:
      return fmt::format("hold {} for {}{}", buttons_text(site, step.device, step.buttons),
                         duration_text(step.duration), bounce_text(step));
    case StepKind::wait:
      return fmt::format("wait {}", duration_text(step.duration));
    case StepKind::walk:
      return fmt::format("walk to {}", site.places[step.place].name);
    case StepKind::switches:
      return switches_text(site, step);
    case StepKind::power:
      return fmt::format("switch {} {}", step.device == no_device ? "everything" : site.name(step.device),
                         step.on ? "on" : "off");
    case StepKind::fault:
      return fault_text(site, step.fault);
    case StepKind::see:
      return fmt::format("look: {}", checks_text(scenario, step));
    case StepKind::expect:
      return fmt::format("expect {}", checks_text(scenario, step));
    case StepKind::note:
      return step.text;
  }
  return {};
}

std::string describe(const Scenario& scenario, const sim::Entry& entry) {
  const Site& site = scenario.site;
  const auto who = [&] { return site.node_name(entry.who); };
  const auto person = [&] { return scenario.people[entry.who].name; };
  const auto telegram = [&] { return fmt::format("\"{}\"", to_string(unpack(entry.b))); };
  const auto from = [&] { return site.node_name(what(entry) == What::lost ? lost_sender(entry) : entry.a); };
  switch (what(entry)) {
    case What::began:
      return "the run began";
    case What::step:
      return fmt::format("{}: {}", person(), describe(scenario, scenario.people[entry.who].script[entry.a]));
    case What::walked:
      return fmt::format("{} set off from {} to {}", person(), site.places[entry.a].name,
                         site.places[static_cast<std::size_t>(entry.b)].name);
    case What::arrived:
      return fmt::format("{} reached {}", person(), site.places[entry.a].name);
    case What::contact:
      return fmt::format("{}: its contact {}",
                         buttons_text(site, entry.who, only(static_cast<Button>(entry.a))),
                         entry.b != 0 ? "closed" : "opened");
    case What::misread:
      return fmt::format("{} was pressed as if {} were {}",
                         buttons_text(site, entry.who, static_cast<Buttons>(entry.a)), who(),
                         entry.b != 0 ? "in setup" : "in normal mode");
    case What::gesture:
      return fmt::format("{}'s setup gesture was held long enough", who());
    case What::mode: {
      const auto mode = static_cast<Mode>(entry.a);
      return fmt::format("{} {} setup: {}", who(), mode == Mode::setup ? "entered" : "left",
                         reason_text(site, entry.who, static_cast<ModeReason>(entry.b), mode));
    }
    case What::channel:
      return fmt::format("{} stepped to channel {}", who(), entry.a);
    case What::refused:
      return fmt::format("{} refused: {}", who(), refusal_text(static_cast<Refusal>(entry.a)));
    case What::timer:
      return fmt::format("{}'s {} timer ran out", who(), to_string(static_cast<Timer>(entry.a)));
    case What::queued:
      return fmt::format("{} wanted to send {}", who(), telegram());
    case What::deferred:
      return fmt::format("{} found the bus busy and put off {}", who(), telegram());
    case What::sent:
      return fmt::format("{} began to send {}", who(), telegram());
    case What::sent_whole:
      return fmt::format("{} sent {}", who(), telegram());
    case What::gave_up:
      return fmt::format("{} gave up sending {}", who(), telegram());
    case What::dropped:
      return fmt::format("{} could not send {}", who(), telegram());
    case What::heard:
      return fmt::format("{} heard {} from {}", who(), telegram(), from());
    case What::lost: {
      const auto loss = why_lost(entry);
      if (loss == sim::Loss::cut_short)
        return fmt::format("{} could not finish {}: its power went", who(), telegram());
      return fmt::format("{} missed {} from {}: {}", who(), telegram(), from(), loss_text(loss));
    }
    case What::assign_ignored:
      return fmt::format("{} ignored it: it was in normal mode", who());
    case What::obeyed:
      return fmt::format("{} obeyed", who());
    case What::indicator:
      return fmt::format("{}'s indicator: {}", who(), to_string(static_cast<Pattern>(entry.a)));
    case What::level:
      return fmt::format(
          "{}'s load goes from {} to {}{}", who(), percent_text(static_cast<Level>(entry.a & 0xffff)),
          percent_text(static_cast<Level>(entry.a >> 16)),
          entry.b == 0 ? "" : " in " + duration_text(sim::Duration{static_cast<std::int64_t>(entry.b)}));
    case What::level_reached:
      return fmt::format("{}'s load is at {}", who(), percent_text(static_cast<Level>(entry.a)));
    case What::store_begun:
      return fmt::format("{} began to write its memory", who());
    case What::stored:
      return entry.b != 0 ? fmt::format("{} stored {}", who(), to_string(stored_address(entry)))
                          : fmt::format("{} wrote its memory", who());
    case What::store_torn:
      return fmt::format("{} lost a write: its memory is as {}", who(),
                         lost_memory(entry) ? "from the factory" : "it was before");
    case What::power_up:
      return fmt::format("{}'s power-up mode is {}", who(), to_string(static_cast<PowerUp>(entry.a)));
    case What::blips:
      return fmt::format("{}'s blips {}", who(), entry.a != 0 ? "are awake" : "fell asleep");
    case What::blip_unshown:
      return fmt::format("{} heard a telegram and did not blip: its blips are asleep", who());
    case What::power:
      return fmt::format("{}'s power {}", who(), entry.a != 0 ? "came back" : "went");
    case What::switches:
      return fmt::format("{}'s switches were set to site {}, zone {}", who(), entry.a, entry.b);
    case What::link:
      return link_state_text(site, entry);
    case What::stuck:
      return fmt::format("{} {}", buttons_text(site, entry.who, only(static_cast<Button>(entry.a))),
                         entry.b != 0 ? "stuck" : "came free");
    case What::deaf:
      return fmt::format("{} will miss {} telegram{}", who(), entry.a, entry.a == 1 ? "" : "s");
    case What::checked:
      return fmt::format("{}: {}", entry.b != 0 ? "holds" : "does not hold",
                         describe(scenario, scenario.checks[entry.a]));
    case What::said:
      return fmt::format("{} logs: {}", who(), said_text(entry.b));
  }
  return {};
}

sim::EntryId step_behind(const sim::Record& record, sim::EntryId entry) {
  while (entry != sim::no_entry && what(record[entry]) != What::step) entry = record[entry].cause;
  return entry;
}

Address stored_address(const sim::Entry& entry) {
  const auto byte = [&](int n) { return static_cast<std::uint8_t>(entry.a >> (8 * n)); };
  return {byte(0), byte(1), byte(2)};
}

}  // namespace drybus::model
