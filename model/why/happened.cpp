#include "model/why/happened.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/people/setup_steps.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// Longer than the time that a gesture takes, to be sure of it.
constexpr sim::Duration sure = std::chrono::milliseconds{500};
/// Pauses of a step or two explain nothing.
constexpr sim::Duration shortest_dwelling = std::chrono::seconds{5};

std::string without_switching(const Scenario& scenario, const Step& step, const std::string& when) {
  if (step.device == no_device)
    return step.on ? tr("had the supply not been switched on at {}", when)
                   : tr("had the supply not been switched off at {}", when);
  const std::string& name = scenario.site.name(step.device);
  return step.on ? tr("had {} not been switched on at {}", name, when)
                 : tr("had {} not been switched off at {}", name, when);
}

std::string without_text(const Scenario& scenario, const Step& step, sim::Instant at) {
  switch (step.kind) {
    case StepKind::press:
      return tr("had {} not been pressed at {}", buttons_text(scenario.site, step.device, step.buttons),
                clock_text(at));
    case StepKind::hold:
      return tr("had {} not been held at {}", buttons_text(scenario.site, step.device, step.buttons),
                clock_text(at));
    case StepKind::power:
      return without_switching(scenario, step, clock_text(at));
    case StepKind::switches:
      return tr("had {}'s switches been left alone at {}", scenario.site.name(step.device), clock_text(at));
    case StepKind::see:
      return tr("had nobody looked at {}", clock_text(at));
    case StepKind::fault:
    case StepKind::wait:
    case StepKind::walk:
    case StepKind::expect:
    case StepKind::note:
      break;
  }
  return tr("without \"{}\" at {}", describe(scenario, step), clock_text(at));
}

bool is_skip(const Way& way) {
  return way.changes.size() == 1 && std::holds_alternative<change::Skip>(way.changes.front());
}

}  // namespace

std::optional<Change> done_by(std::vector<Step> steps, sim::Instant by, const HumanTimes& times) {
  // A second pair of hands stands at the device of the first step.
  const auto first =
      std::find_if(steps.begin(), steps.end(), [](const Step& step) { return step.device != no_device; });
  steps.erase(steps.begin(), first);
  if (steps.empty()) return std::nullopt;
  sim::Instant begins = by - std::chrono::seconds{1};
  for (const Step& step : steps) begins -= step.duration;
  begins -= times.pause * (steps.size() - 1);
  if (begins < sim::start_of_run) return std::nullopt;
  steps.front().at = begins;
  return change::Meanwhile{std::move(steps)};
}

std::vector<Step> setup_steps(const History& history, DeviceId device) {
  std::vector<Step> steps;
  add_setup_steps(history.site(), device, sure, steps);
  return steps;
}

void Happened::add(Lead lead) {
  lead.group = group_;
  lead.deeper = deeper_;
  const bool known = std::any_of(leads_.begin(), leads_.end(), [&](const Lead& each) {
    return each.group == lead.group && (each.text == lead.text && each.at == lead.at);
  });
  if (known || lead.ways.empty()) return;
  leads_.push_back(std::move(lead));
  deeper_ = false;
}

std::string Happened::who(DeviceId device) const {
  return device == focus_ ? tr_as("a device", "it") : name(device);
}
std::string Happened::whose(DeviceId device) const {
  return device == focus_ ? tr_as("of a device", "its") : name_with_s(device);
}
std::string Happened::name_with_s(DeviceId device) const {
  const std::string_view words = in_words_spoken(msg_as("of a device", "{}'s"), "of a device");
  return fmt::format(fmt::runtime(words), name(device));
}

Way Happened::without(sim::EntryId step_entry) const {
  const auto ref = history_.original(step_entry);
  if (!ref) return {};
  return {{change::Skip{*ref}},
          without_text(history_.scenario(), history_.step_of(step_entry), history_[step_entry].at)};
}

void Happened::step(sim::EntryId id, std::string text, std::string clause) {
  const sim::EntryId step = history_.step_entry(id);
  if (step == sim::no_entry) return;
  const auto ref = history_.original(step);
  if (!ref) return;
  const bool known = std::any_of(leads_.begin(), leads_.end(), [&](const Lead& each) {
    return each.group == group_ && each.step == ref && is_skip(each.ways.front());
  });
  if (!known) add({0, history_[id].at, std::move(text), std::move(clause), ref, {without(step)}});
}

// --- setup ---

void Happened::mode(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const DeviceId device = entry.who;
  const std::string when = clock_text(entry.at);
  if (static_cast<Mode>(entry.a) == Mode::setup) {
    return step(id, tr("{} was put in setup", name(device)),
                tr("{} was put in setup at {}{}", who(device), when, history_.in_brackets(id)));
  }
  switch (static_cast<ModeReason>(entry.b)) {
    case ModeReason::time_out:
      return timed_out(id);
    case ModeReason::gesture:
    case ModeReason::button:
      return step(id, tr("{} was taken out of setup by its button", name(device)),
                  tr("{} was taken out of setup at {}{}", who(device), when, history_.in_brackets(id)));
    case ModeReason::assigned:
      if (entry.cause == sim::no_entry) return;
      return taken(entry.cause);
    case ModeReason::power:
      return step(id, tr("{}'s power went, and its setup with it", name(device)),
                  tr("{} power went at {}{}", whose(device), when, history_.in_brackets(id)));
  }
}

void Happened::timed_out(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const DeviceId device = entry.who;
  const sim::EntryId timer = entry.cause;
  const sim::EntryId started = timer == sim::no_entry ? sim::no_entry : history_[timer].cause;
  const TimeOut& rule = history_.site().time_out(device);
  std::string since;
  std::string since_it;
  if (started != sim::no_entry) {
    const bool press = what(history_[started]) == What::contact;
    const std::string after = duration_text(rule.after);
    const std::string when = clock_text(history_[started].at);
    since = press ? tr(", {} after its last press at {}", after, when)
                  : tr(", {} after it was put in setup at {}", after, when);
    since_it = since + history_.in_brackets(started);
  }
  add({0,
       entry.at,
       tr("{}'s setup timed out{}", name(device), since),
       tr("{} setup timed out at {}{}", whose(device), clock_text(entry.at), since_it),
       std::nullopt,
       {{{change::NoExpiry{device, Timer::time_out, entry.at}},
         tr("had {}'s time-out not run out", name(device))}}});
  if (started == sim::no_entry) return;
  clock_started(started, device);
  dwelling(started, history_.first_at(needed_at_));
}

/// What the time-out was counted from came too early: done later, it would have lasted.
void Happened::clock_started(sim::EntryId started, DeviceId device) {
  const sim::EntryId step_entry = history_.step_entry(started);
  if (step_entry == sim::no_entry) return;
  const auto ref = history_.original(step_entry);
  if (!ref) return;
  const bool press = what(history_[started]) == What::contact;
  Lead lead{0,
            history_[started].at,
            press ? tr("{} was pressed for the last time; from then on its time-out ran", name(device))
                  : tr("{} was put in setup; from then on its time-out ran", name(device)),
            {},
            ref,
            {}};
  if (const auto later = done_by({history_.step_of(step_entry)}, needed_at_, history_.scenario().times)) {
    const sim::Instant at = *std::get<change::Meanwhile>(*later).steps.front().at;
    if (at > history_[step_entry].at) {
      lead.ways.push_back(
          {{change::Skip{*ref}, *later}, tr("had that been done later, at {}", clock_text(at))});
    }
  }
  add(std::move(lead));
}

void Happened::dwelling(sim::EntryId from, sim::EntryId to) {
  for (sim::EntryId id = from + 1; id < std::min(to, history_.end()); ++id) {
    const sim::Entry& entry = history_[id];
    if (what(entry) == What::walked) {
      const auto a = static_cast<PlaceId>(entry.a);
      const auto b = static_cast<PlaceId>(entry.b);
      const sim::Duration taken = history_.site().walk(a, b);
      if (taken < shortest_dwelling) continue;
      const auto& places = history_.site().places;
      add({0,
           entry.at,
           tr("the way from {} to {} took {}", places[a].name, places[b].name, duration_text(taken)),
           {},
           history_.step_behind(id),
           {{{change::Walk{a, b, {}}}, tr("had that way taken no time")}}});
      continue;
    }
    if (what(entry) != What::step) continue;
    const Step& step = history_.step_of(id);
    const auto ref = history_.original(id);
    if (step.kind != StepKind::wait || step.duration < shortest_dwelling || !ref) continue;
    add({0,
         entry.at,
         tr("{} waited {}", entry.who == 0 ? tr("the installer") : history_.scenario().people[entry.who].name,
            duration_text(step.duration)),
         {},
         ref,
         {{{change::Last{*ref, {}}}, tr("without that wait")}}});
  }
}

// --- memory and switches ---

void Happened::stored(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const sim::EntryId timer = entry.cause;
  const sim::EntryId assign = timer == sim::no_entry ? sim::no_entry : history_[timer].cause;
  if (assign == sim::no_entry) return;
  if (what(history_[assign]) == What::heard) return taken(assign);
  if (what(history_[assign]) != What::contact) return;
  // An offer that was kept until somebody pressed the module.
  step(assign, tr("{} was pressed, which confirmed what it had been offered", name(entry.who)),
       tr("the offer was confirmed at {}{}", clock_text(history_[assign].at), history_.in_brackets(assign)));
  const sim::EntryId offer = history_.last(assign, [&](const sim::Entry& heard) {
    return heard.who == entry.who && what(heard) == What::heard &&
           unpack(heard.b).kind == TelegramKind::assign;
  });
  if (offer != sim::no_entry) taken(offer);
}

/// An assign that a module in setup heard: both had to come together.
void Happened::taken(sim::EntryId assign) {
  took(assign);
  const sim::EntryId setup = history_.last_mode(history_[assign].who, assign);
  if (setup != sim::no_entry) mode(setup);
  sent(history_[assign].cause);
}

void Happened::torn(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  step(id, tr("{}'s power went while it was writing its memory", name(entry.who)),
       tr("{} power went at {} while it was writing its memory{}", whose(entry.who), clock_text(entry.at),
          history_.in_brackets(id)));
  const sim::EntryId begun = history_.last(What::store_begun, entry.who, id);
  if (begun == sim::no_entry || what(history_[history_[begun].cause]) != What::heard) return;
  taken(history_[begun].cause);
}

void Happened::address(DeviceId module, sim::EntryId before) {
  const sim::EntryId changed = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module && ((what(entry) == What::stored && entry.b != 0) || lost_memory(entry));
  });
  if (changed == sim::no_entry) return memory_at_start(module);
  what(history_[changed]) == What::stored ? stored(changed) : torn(changed);
}

void Happened::power_up(DeviceId module, sim::EntryId before) {
  const sim::EntryId changed = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module && (what(entry) == What::power_up || lost_memory(entry));
  });
  if (changed == sim::no_entry) return power_up_at_start(module);
  if (lost_memory(history_[changed])) return torn(changed);
  const sim::EntryId store = history_.last(What::stored, module, changed + 1);
  if (store == sim::no_entry) return;
  const std::size_t first = leads_.size();
  stored(store);
  const auto before_it = site_number_held(module, store);
  if (leads_.size() == first || stored_address(history_[store]).site == before_it) return;
  const std::string rule = tr(", another site number than {}, which turns its power-up mode off", before_it);
  leads_[first].text += rule;
  if (!leads_[first].clause.empty()) leads_[first].clause += rule;
}

PowerUp Happened::power_up_held(DeviceId module, sim::EntryId before) const {
  const sim::EntryId changed = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module && (what(entry) == What::power_up || lost_memory(entry));
  });
  if (changed == sim::no_entry)
    return history_.site().modules[history_.site().module_index(module)].memory.power_up;
  if (lost_memory(history_[changed])) return history_.site().module_family(module).factory_power_up;
  return static_cast<PowerUp>(history_[changed].a);
}

std::uint8_t Happened::site_number_held(DeviceId module, sim::EntryId before) const {
  const sim::EntryId last = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module && (what(entry) == What::stored || lost_memory(entry));
  });
  if (last == sim::no_entry)
    return history_.site().modules[history_.site().module_index(module)].memory.address.site;
  if (what(history_[last]) == What::stored) return stored_address(history_[last]).site;
  return factory_memory(history_.site().module_family(module)).address.site;
}

void Happened::memory_at_start(DeviceId module) {
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  if (!was.addressed()) return;
  ModuleMemory fresh = was;
  fresh.address = factory_memory(history_.site().module_family(module)).address;
  add({0,
       sim::start_of_run,
       tr("{} held {} when the run began", name(module), to_string(was.address)),
       tr("{} held {} already when the run began", who(module), to_string(was.address)),
       std::nullopt,
       {{{change::Memory{module, fresh}}, tr("had {} begun without an address", name(module))}}});
}

void Happened::power_up_at_start(DeviceId module) {
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  ModuleMemory other = was;
  other.power_up = was.power_up == PowerUp::off ? PowerUp::full : PowerUp::off;
  const std::string words = tr_as("power-up", to_string(was.power_up));
  add({0,
       sim::start_of_run,
       tr("{}'s power-up mode was {} when the run began", name(module), words),
       tr("{} power-up mode was {} when the run began", whose(module), words),
       std::nullopt,
       {{{change::Memory{module, other}},
         tr("had its power-up mode been {}", tr_as("power-up", to_string(other.power_up)))}}});
}

void Happened::switches(DeviceId plate, sim::EntryId before) {
  const sim::EntryId set = history_.last(What::switches, plate, before);
  if (set != sim::no_entry) {
    const sim::Entry& entry = history_[set];
    return step(set, tr("{}'s switches were set to site {}, zone {}", name(plate), entry.a, entry.b),
                tr("{} switches were set to site {}, zone {} at {}{}", whose(plate), entry.a, entry.b,
                   clock_text(entry.at), history_.in_brackets(set)));
  }
  switches_at_start(plate);
}

void Happened::switches_at_start(DeviceId plate) {
  const PlateSpec& spec = history_.site().plates[plate];
  const auto other_site = static_cast<std::uint8_t>(spec.site % 62 + 2);
  const auto other_zone = static_cast<std::uint8_t>(spec.zone % 8 + 1);
  const auto way = [&](std::uint8_t site, std::uint8_t zone) -> Way {
    return {{change::Switches{plate, site, zone}},
            tr("had {}'s switches stood at site {}, zone {}", name(plate), site, zone)};
  };

  add({0,
       sim::start_of_run,
       tr("{} switches stood at site {}, zone {} when the run began", name_with_s(plate), spec.site,
          spec.zone),
       tr("{} switches stood at site {}, zone {} when the run began", whose(plate), spec.site, spec.zone),
       std::nullopt,
       {way(spec.site, other_zone), way(other_site, spec.zone), way(other_site, other_zone)}});
}

}  // namespace drybus::model
