#include "model/record/describe.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>

#include "model/record/said.h"
#include "model/record/spoken_name.h"
#include "model/record/way_into_setup.h"
#include "model/words/words.h"

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
  if (ns != 0 && ns < 1'000'000) return with_decimal_mark(decimal(ns, 1'000)) + " us";
  if (ns != 0 && ns < second) return with_decimal_mark(decimal(ns, 1'000'000)) + " ms";
  // Time-outs are spoken of in seconds, even long ones; what is longer than anybody counts, in hours and minutes.
  const bool in_seconds = ns <= 10 * minute || (ns < 2 * hour && ns % minute != 0);
  if (in_seconds) return with_decimal_mark(decimal(ns, second)) + " s";
  std::string text;
  if (ns >= hour) text += fmt::format(" {} h", ns / hour);
  if (ns % hour >= minute) text += fmt::format(" {} min", ns % hour / minute);
  if (ns % minute != 0) text += fmt::format(" {} s", with_decimal_mark(decimal(ns % minute, second)));
  return text.substr(1);
}

std::string percent_text(Level level) {
  return level % 10 == 0 ? fmt::format("{} %", level / 10) : fmt::format("{}.{} %", level / 10, level % 10);
}

std::string spoken_button(const PlateFamily& family, Button button) {
  static constexpr std::array numbers{"one", "two", "three", "four", "five", "six", "seven", "eight"};
  std::string name = family.name_of(button);
  const bool unclear = name.size() == 1 || std::find(numbers.begin(), numbers.end(), name) != numbers.end();
  return unclear ? tr("button {}", name) : name;
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
      return tr("fault: {} opens", site.link_name(fault.link));
    case FaultKind::shorted:
      return tr("fault: {} is shorted", site.link_name(fault.link));
    case FaultKind::noisy:
      return tr("fault: {} is noisy, {} bit errors per million", site.link_name(fault.link),
                decimal(fault.bit_error_ppb, 1000));
    case FaultKind::mend:
      return tr("{} is mended", site.link_name(fault.link));
    case FaultKind::stuck:
      return tr("fault: {} sticks", buttons_text(site, fault.device, only(fault.button)));
    case FaultKind::freed:
      return tr("{} comes free", buttons_text(site, fault.device, only(fault.button)));
    case FaultKind::deaf:
      return plural("fault: {} misses its next telegram", "fault: {} misses its next {} telegrams",
                    fault.count, site.name(fault.device), fault.count);
    case FaultKind::dead_load:
      return tr("fault: {}'s load gives no light", site.name(fault.device));
    case FaultKind::new_load:
      return tr("{}'s load is replaced", site.name(fault.device));
  }
  return {};
}

std::string switches_text(const Site& site, const Step& step) {
  const std::string& name = site.name(step.device);
  if (step.site && step.zone) return tr("set {}'s switches: site {}, zone {}", name, *step.site, *step.zone);
  if (step.site) return tr("set {}'s switches: site {}", name, *step.site);
  if (step.zone) return tr("set {}'s switches: zone {}", name, *step.zone);
  return tr("set {}'s switches:", name);
}

std::string power_text(const Site& site, const Step& step) {
  if (step.device == no_device) return step.on ? tr("switch everything on") : tr("switch everything off");
  const std::string& name = site.name(step.device);
  return step.on ? tr("switch {} on", name) : tr("switch {} off", name);
}

std::string bounce_text(const Step& step) {
  return step.bounce > sim::Duration::zero() ? tr(", bouncing for {}", duration_text(step.bounce)) : "";
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
      return mode == Mode::normal ? tr("its button was pressed") : "";
    case ModeReason::time_out:
      return tr("its time-out ran out");
    case ModeReason::assigned:
      return tr("it took an address");
    case ModeReason::power:
      return tr("its power went");
  }
  return "";
}

std::string refusal_text(Refusal refusal) {
  switch (refusal) {
    case Refusal::channel_zero:
      return tr("channel 0 cannot be assigned");
    case Refusal::zone_zero:
      return tr("zone 0 cannot be assigned");
    case Refusal::no_such_channel:
      return tr("there is no channel beyond");
  }
  return "";
}

std::string loss_text(sim::Loss loss) {
  switch (loss) {
    case sim::Loss::collision:
      return tr("it collided with another telegram");
    case sim::Loss::noise:
      return tr("noise spoilt it");
    case sim::Loss::no_path:
      return tr("there was no way from one to the other");
    case sim::Loss::unpowered:
      return tr("its power was off");
    case sim::Loss::cut_short:
      return tr("its sender's power went");
  }
  return "";
}

/// The patterns as a lamp shows them; "blink" in the English record.
std::string spoken_pattern(Pattern pattern) {
  static constexpr std::array known{msg_as("pattern", "dark"),    msg_as("pattern", "blink"),
                                    msg_as("pattern", "breathe"), msg_as("pattern", "steady"),
                                    msg_as("pattern", "blip"),    msg_as("pattern", "refuse")};
  const std::string_view word = to_string(pattern);
  return std::find(known.begin(), known.end(), word) == known.end() ? std::string{word}
                                                                    : tr_as("pattern", word);
}

/// "P1's load goes from 0 % to 100 % in 2 s"
std::string load_goes_text(const std::string& who, const sim::Entry& entry) {
  const std::string from = with_decimal_mark(percent_text(static_cast<Level>(entry.a & 0xffff)));
  const std::string to = with_decimal_mark(percent_text(static_cast<Level>(entry.a >> 16)));
  if (entry.b == 0) return tr("{}'s load goes from {} to {}", who, from, to);
  return tr("{}'s load goes from {} to {} in {}", who, from, to,
            duration_text(sim::Duration{static_cast<std::int64_t>(entry.b)}));
}

std::string link_state_text(const Site& site, const sim::Entry& entry) {
  const std::string name = site.link_name(entry.a);
  switch (static_cast<sim::LinkState>(entry.b & 0xff)) {
    case sim::LinkState::sound:
      return tr("link {} is sound", name);
    case sim::LinkState::open:
      return tr("link {} is open", name);
    case sim::LinkState::shorted:
      return tr("link {} is shorted", name);
    case sim::LinkState::noisy:
      return tr("link {} is noisy", name);
  }
  return {};
}

}  // namespace

std::string spoken_name(const Person& person) {
  return person.name == msg("installer") ? std::string{in_words_spoken(person.name)} : person.name;
}

std::string describe(const Scenario& scenario, const Check& check) {
  std::string wanted;
  for (const std::string& value : check.wanted) {
    if (!wanted.empty()) wanted += ", ";
    wanted += value;
  }
  if (check.fact == Fact::findings)
    return wanted.empty() ? tr("findings are none") : tr("findings are {}", wanted);
  return tr("{}.{} is {}", scenario.site.name(check.device), to_string(check.fact), wanted);
}

std::string describe(const Scenario& scenario, const Step& step) {
  const Site& site = scenario.site;
  switch (step.kind) {
    case StepKind::press:
      return tr("press {}{}", buttons_text(site, step.device, step.buttons), bounce_text(step));
    case StepKind::hold:
      return tr("hold {} for {}{}", buttons_text(site, step.device, step.buttons),
                duration_text(step.duration), bounce_text(step));
    case StepKind::wait:
      return tr("wait {}", duration_text(step.duration));
    case StepKind::walk:
      return tr("walk to {}", site.places[step.place].name);
    case StepKind::switches:
      return switches_text(site, step);
    case StepKind::power:
      return power_text(site, step);
    case StepKind::fault:
      return fault_text(site, step.fault);
    case StepKind::see:
      return tr("look: {}", checks_text(scenario, step));
    case StepKind::expect:
      return tr("expect {}", checks_text(scenario, step));
    case StepKind::note:
      return step.text;
  }
  return {};
}

std::string describe(const Scenario& scenario, const sim::Entry& entry) {
  const Site& site = scenario.site;
  const auto who = [&] { return site.node_name(entry.who); };
  const auto person = [&] { return spoken_name(scenario.people[entry.who]); };
  const auto telegram = [&] { return tr("\"{}\"", spoken(unpack(entry.b))); };
  const auto from = [&] { return site.node_name(what(entry) == What::lost ? lost_sender(entry) : entry.a); };
  switch (what(entry)) {
    case What::began:
      return tr("the run began");
    case What::step:
      return fmt::format("{}: {}", person(), describe(scenario, scenario.people[entry.who].script[entry.a]));
    case What::walked:
      return tr("{} set off from {} to {}", person(), site.places[entry.a].name,
                site.places[static_cast<std::size_t>(entry.b)].name);
    case What::arrived:
      return tr("{} reached {}", person(), site.places[entry.a].name);
    case What::contact:
      return entry.b != 0 ? tr("{}: its contact closed",
                               buttons_text(site, entry.who, only(static_cast<Button>(entry.a))))
                          : tr("{}: its contact opened",
                               buttons_text(site, entry.who, only(static_cast<Button>(entry.a))));
    case What::misread:
      return entry.b != 0 ? tr("{} was pressed as if {} were in setup",
                               buttons_text(site, entry.who, static_cast<Buttons>(entry.a)), who())
                          : tr("{} was pressed as if {} were in normal mode",
                               buttons_text(site, entry.who, static_cast<Buttons>(entry.a)), who());
    case What::gesture:
      return tr("{}'s setup gesture was held long enough", who());
    case What::mode: {
      const auto mode = static_cast<Mode>(entry.a);
      return mode == Mode::setup ? tr("{} entered setup: {}", who(),
                                      reason_text(site, entry.who, static_cast<ModeReason>(entry.b), mode))
                                 : tr("{} left setup: {}", who(),
                                      reason_text(site, entry.who, static_cast<ModeReason>(entry.b), mode));
    }
    case What::channel:
      return tr("{} stepped to channel {}", who(), entry.a);
    case What::refused:
      return tr("{} refused: {}", who(), refusal_text(static_cast<Refusal>(entry.a)));
    case What::timer:
      return tr("{}'s {} timer ran out", who(), to_string(static_cast<Timer>(entry.a)));
    case What::queued:
      return tr("{} wanted to send {}", who(), telegram());
    case What::deferred:
      return tr("{} found the bus busy and put off {}", who(), telegram());
    case What::sent:
      return tr("{} began to send {}", who(), telegram());
    case What::sent_whole:
      return tr("{} sent {}", who(), telegram());
    case What::gave_up:
      return tr("{} gave up sending {}", who(), telegram());
    case What::dropped:
      return tr("{} could not send {}", who(), telegram());
    case What::heard:
      return tr("{} heard {} from {}", who(), telegram(), from());
    case What::lost: {
      const auto loss = why_lost(entry);
      if (loss == sim::Loss::cut_short)
        return tr("{} could not finish {}: its power went", who(), telegram());
      return tr("{} missed {} from {}: {}", who(), telegram(), from(), loss_text(loss));
    }
    case What::assign_ignored:
      return tr("{} ignored it: it was in normal mode", who());
    case What::obeyed:
      return tr("{} obeyed", who());
    case What::indicator:
      return tr("{}'s indicator: {}", who(), spoken_pattern(static_cast<Pattern>(entry.a)));
    case What::level:
      return load_goes_text(who(), entry);
    case What::level_reached:
      return tr("{}'s load is at {}", who(), with_decimal_mark(percent_text(static_cast<Level>(entry.a))));
    case What::store_begun:
      return tr("{} began to write its memory", who());
    case What::stored:
      return entry.b != 0 ? tr("{} stored {}", who(), to_string(stored_address(entry)))
                          : tr("{} wrote its memory", who());
    case What::store_torn:
      return lost_memory(entry) ? tr("{} lost a write: its memory is as from the factory", who())
                                : tr("{} lost a write: its memory is as it was before", who());
    case What::power_up:
      return tr("{}'s power-up mode is {}", who(),
                tr_as("power-up", to_string(static_cast<PowerUp>(entry.a))));
    case What::blips:
      return entry.a != 0 ? tr("{}'s blips are awake", who()) : tr("{}'s blips fell asleep", who());
    case What::blip_unshown:
      return tr("{} heard a telegram and did not blip: its blips are asleep", who());
    case What::power:
      return entry.a != 0 ? tr("{}'s power came back", who()) : tr("{}'s power went", who());
    case What::switches:
      return tr("{}'s switches were set to site {}, zone {}", who(), entry.a, entry.b);
    case What::link:
      return link_state_text(site, entry);
    case What::stuck:
      return entry.b != 0
                 ? tr("{} stuck", buttons_text(site, entry.who, only(static_cast<Button>(entry.a))))
                 : tr("{} came free", buttons_text(site, entry.who, only(static_cast<Button>(entry.a))));
    case What::deaf:
      return plural("{} will miss {} telegram", "{} will miss {} telegrams", entry.a, who(), entry.a);
    case What::checked:
      return entry.b != 0 ? tr("holds: {}", describe(scenario, scenario.checks[entry.a]))
                          : tr("does not hold: {}", describe(scenario, scenario.checks[entry.a]));
    case What::said:
      return tr("{} logs: {}", who(), said_text(entry.b));
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
