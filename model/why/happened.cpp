#include "model/why/happened.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"

namespace drybus::model {

namespace {

/// Longer than the time that a gesture takes, to be sure of it.
constexpr sim::Duration sure = std::chrono::milliseconds{500};
/// Pauses of a step or two explain nothing.
constexpr sim::Duration shortest_dwelling = std::chrono::seconds{5};

std::string telegram_text(const sim::Entry& entry) {
  return to_string(unpack(entry.b));
}

bool sent_in_setup(TelegramKind kind) {
  switch (kind) {
    case TelegramKind::beacon:
    case TelegramKind::left:
    case TelegramKind::identify:
    case TelegramKind::assign:
      return true;
    case TelegramKind::on:
    case TelegramKind::off:
    case TelegramKind::recall:
    case TelegramKind::store:
    case TelegramKind::raise:
    case TelegramKind::lower:
    case TelegramKind::stop:
      return false;
  }
  return false;
}

bool names_channel(TelegramKind kind) {
  return kind == TelegramKind::identify || kind == TelegramKind::assign;
}

std::string without_text(const Scenario& scenario, const Step& step, sim::Instant at) {
  switch (step.kind) {
    case StepKind::press:
      return fmt::format("had {} not been pressed at {}",
                         buttons_text(scenario.site, step.device, step.buttons), clock_text(at));
    case StepKind::hold:
      return fmt::format("had {} not been held at {}", buttons_text(scenario.site, step.device, step.buttons),
                         clock_text(at));
    case StepKind::power:
      return fmt::format("had {} not been switched {} at {}",
                         step.device == no_device ? "the supply" : scenario.site.name(step.device),
                         step.on ? "on" : "off", clock_text(at));
    case StepKind::switches:
      return fmt::format("had {}'s switches been left alone at {}", scenario.site.name(step.device),
                         clock_text(at));
    case StepKind::see:
      return fmt::format("had nobody looked at {}", clock_text(at));
    case StepKind::fault:
    case StepKind::wait:
    case StepKind::walk:
    case StepKind::expect:
    case StepKind::note:
      break;
  }
  return fmt::format("without \"{}\" at {}", describe(scenario, step), clock_text(at));
}

bool is_skip(const Way& way) {
  return way.changes.size() == 1 && std::holds_alternative<change::Skip>(way.changes.front());
}

}  // namespace

std::optional<Change> done_by(const Step& step, sim::Instant by) {
  const sim::Instant begins = by - step.duration - std::chrono::seconds{1};
  if (begins < sim::start_of_run) return std::nullopt;
  Step done = step;
  done.at = begins;
  return change::Meanwhile{{done}};
}

Step setup_step(const History& history, DeviceId device) {
  const Site& site = history.site();
  return push_step(StepKind::hold, device, site.setup_gesture(device), site.setup_hold(device) + sure);
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
  return device == focus_ ? "it" : name(device);
}
std::string Happened::whose(DeviceId device) const {
  return device == focus_ ? "its" : name(device) + "'s";
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
    return step(id, fmt::format("{} was put in setup", name(device)),
                fmt::format("{} was put in setup at {}{}", who(device), when, history_.in_brackets(id)));
  }
  switch (static_cast<ModeReason>(entry.b)) {
    case ModeReason::time_out:
      return timed_out(id);
    case ModeReason::gesture:
    case ModeReason::button:
      return step(
          id, fmt::format("{} was taken out of setup by its button", name(device)),
          fmt::format("{} was taken out of setup at {}{}", who(device), when, history_.in_brackets(id)));
    case ModeReason::assigned:
      if (entry.cause == sim::no_entry) return;
      return taken(entry.cause);
    case ModeReason::power:
      return step(id, fmt::format("{}'s power went, and its setup with it", name(device)),
                  fmt::format("{} power went at {}{}", whose(device), when, history_.in_brackets(id)));
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
    const std::string rest =
        fmt::format("{} at {}", press ? "last press" : "put in setup", clock_text(history_[started].at));
    since = fmt::format(", {} after {} {}", duration_text(rule.after), press ? "its" : "it was", rest);
    since_it = since + history_.in_brackets(started);
  }
  add({0,
       entry.at,
       fmt::format("{}'s setup timed out{}", name(device), since),
       fmt::format("{} setup timed out at {}{}", whose(device), clock_text(entry.at), since_it),
       std::nullopt,
       {{{change::NoExpiry{device, Timer::time_out, entry.at}},
         fmt::format("had {}'s time-out not run out", name(device))}}});
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
            fmt::format("{} {}; from then on its time-out ran", name(device),
                        press ? "was pressed for the last time" : "was put in setup"),
            {},
            ref,
            {}};
  if (const auto later = done_by(history_.step_of(step_entry), needed_at_)) {
    const sim::Instant at = *std::get<change::Meanwhile>(*later).steps.front().at;
    if (at > history_[step_entry].at) {
      lead.ways.push_back(
          {{change::Skip{*ref}, *later}, fmt::format("had that been done later, at {}", clock_text(at))});
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
           fmt::format("the way from {} to {} took {}", places[a].name, places[b].name, duration_text(taken)),
           {},
           history_.step_behind(id),
           {{{change::Walk{a, b, {}}}, fmt::format("had that way taken no time")}}});
      continue;
    }
    if (what(entry) != What::step) continue;
    const Step& step = history_.step_of(id);
    const auto ref = history_.original(id);
    if (step.kind != StepKind::wait || step.duration < shortest_dwelling || !ref) continue;
    add({0,
         entry.at,
         fmt::format("{} waited {}",
                     entry.who == 0 ? "the installer" : history_.scenario().people[entry.who].name,
                     duration_text(step.duration)),
         {},
         ref,
         {{{change::Last{*ref, {}}}, "without that wait"}}});
  }
}

// --- telegrams ---

void Happened::heard(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const std::string& sender = name(static_cast<DeviceId>(entry.a));
  step(id, fmt::format("{} heard \"{}\" from {}", name(entry.who), telegram_text(entry), sender),
       fmt::format("{} heard \"{}\" from {} at {}{}", who(entry.who), telegram_text(entry), sender,
                   clock_text(entry.at), history_.in_brackets(id)));
  sent(entry.cause);
}

void Happened::took(sim::EntryId assign) {
  const sim::Entry& entry = history_[assign];
  const Telegram telegram = unpack(entry.b);
  const std::string address = to_string(Address{telegram.site, telegram.zone, telegram.channel});
  const std::string& sender = name(static_cast<DeviceId>(entry.a));
  step(assign, fmt::format("{} took the address {} that {} offered", name(entry.who), address, sender),
       fmt::format("{} took {} from {} at {}{}", who(entry.who), address, sender, clock_text(entry.at),
                   history_.in_brackets(assign)));
}

void Happened::sent(sim::EntryId id) {
  if (id == sim::no_entry) return;
  said(id);
  sender_was(id);
}

void Happened::said(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const Telegram telegram = unpack(entry.b);
  const std::string did =
      telegram.kind == TelegramKind::assign
          ? fmt::format("offered {}", to_string(Address{telegram.site, telegram.zone, telegram.channel}))
          : fmt::format("sent \"{}\"", telegram_text(entry));
  step(id, fmt::format("{} {}", name(entry.who), did),
       fmt::format("{} {} at {}{}", who(entry.who), did, clock_text(entry.at), history_.in_brackets(id)));
}

void Happened::sender_was(sim::EntryId id) {
  const TelegramKind kind = unpack(history_[id].b).kind;
  const DeviceId sender = history_[id].who;
  // What the sender was like when it was asked to send is what counts, not when its turn on the bus came.
  sim::EntryId asked = id;
  while (history_[asked].cause != sim::no_entry && what(history_[asked]) != What::contact &&
         what(history_[asked]) != What::timer) {
    asked = history_[asked].cause;
  }
  if (names_channel(kind)) channel(sender, asked + 1);
  if (const sim::EntryId mode_entry = history_.last_mode(sender, asked); mode_entry != sim::no_entry) {
    const bool setup = static_cast<Mode>(history_[mode_entry].a) == Mode::setup;
    if (setup || !sent_in_setup(kind)) mode(mode_entry);
  }
  if (history_.last(What::switches, sender, asked) != sim::no_entry) switches(sender, asked);
}

void Happened::channel(DeviceId plate, sim::EntryId before) {
  std::vector<sim::EntryId> steps;
  for (sim::EntryId id = before; id-- > 1;) {
    const sim::Entry& entry = history_[id];
    if (entry.who != plate) continue;
    if (what(entry) == What::mode) break;
    if (what(entry) == What::channel) steps.push_back(id);
  }
  for (const sim::EntryId id : steps) {
    step(id, fmt::format("{} was stepped to channel {}", name(plate), history_[id].a),
         fmt::format("{} was stepped to channel {} at {}{}", who(plate), history_[id].a,
                     clock_text(history_[id].at), history_.in_brackets(id)));
  }
}

void Happened::lost(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const auto sender = lost_sender(entry);
  const auto loss = why_lost(entry);
  const std::string tail = describe(history_.scenario(), entry);
  // What has no power cannot hear, whatever arrives.
  if (sender != entry.who && loss != sim::Loss::unpowered) {
    add({0,
         entry.at,
         tail,
         fmt::format("\"{}\" from {} was lost on its way to {} at {}", telegram_text(entry), name(sender),
                     entry.who == focus_ ? "it" : name(entry.who), clock_text(entry.at)),
         history_.step_behind(id),
         {{{change::Arrive{entry.who, sender, entry.at}}, "had that telegram arrived"}}});
  }
  deeper();
  lost_for(id, loss);
}

void Happened::loss(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  said(entry.cause);
  lost_for(id, why_lost(entry));
  sender_was(entry.cause);
}

void Happened::lost_for(sim::EntryId id, sim::Loss loss) {
  const sim::Entry& entry = history_[id];
  switch (loss) {
    case sim::Loss::no_path:
      return links_between(id);
    case sim::Loss::collision:
      return rivals(id);
    case sim::Loss::noise: {
      const sim::EntryId deaf = history_.last(What::deaf, entry.who, id);
      if (deaf != sim::no_entry) step(deaf, describe(history_.scenario(), history_[deaf]));
      return links_between(id);
    }
    case sim::Loss::unpowered: {
      const sim::EntryId power = history_.last(What::power, entry.who, id);
      if (power != sim::no_entry) {
        step(power, fmt::format("{}'s power went", name(entry.who)),
             fmt::format("{} power had gone at {}{}", whose(entry.who), clock_text(history_[power].at),
                         history_.in_brackets(power)));
      }
      return;
    }
    case sim::Loss::cut_short:
      return step(entry.cause, describe(history_.scenario(), history_[entry.cause]));
  }
}

void Happened::links_between(sim::EntryId before) {
  std::vector<std::uint32_t> told;
  for (sim::EntryId id = before; id-- > 1;) {
    const sim::Entry& entry = history_[id];
    if (what(entry) != What::link || std::find(told.begin(), told.end(), entry.a) != told.end()) continue;
    told.push_back(entry.a);
    if (static_cast<sim::LinkState>(entry.b & 0xff) == sim::LinkState::sound) continue;
    const std::string broken = describe(history_.scenario(), entry);
    step(id, broken, fmt::format("{} from {} on{}", broken, clock_text(entry.at), history_.in_brackets(id)));
  }
}

/// Other telegrams that were on the medium at the same time.
void Happened::rivals(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const auto sender = lost_sender(entry);
  const sim::EntryId whole = entry.cause;
  const sim::EntryId began = whole == sim::no_entry ? sim::no_entry : history_[whole].cause;
  const sim::Instant from = began == sim::no_entry ? entry.at : history_[began].at;
  for (sim::EntryId other = 1; other < history_.end(); ++other) {
    const sim::Entry& rival = history_[other];
    if (what(rival) != What::sent || rival.who == sender || rival.at > entry.at) continue;
    const sim::EntryId end = history_.next(other, [&](const sim::Entry& each) {
      return what(each) == What::sent_whole && each.who == rival.who;
    });
    if (end != sim::no_entry && history_[end].at < from) continue;
    step(other, fmt::format("{} sent \"{}\" at the same time", name(rival.who), telegram_text(rival)),
         fmt::format("{} sent \"{}\" at the same time{}", name(rival.who), telegram_text(rival),
                     history_.in_brackets(other)));
    if (const sim::EntryId setup = history_.last_mode(rival.who, other); setup != sim::no_entry) mode(setup);
  }
}

void Happened::not_sent(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  step(id, describe(history_.scenario(), entry),
       fmt::format("{} at {}", describe(history_.scenario(), entry), clock_text(entry.at)));
  const sim::EntryId power = history_.last(What::power, entry.who, id + 1);
  if (power != sim::no_entry && history_[power].a == 0) {
    step(power, fmt::format("{}'s power went", name(entry.who)));
  }
  for (sim::EntryId other = id; other-- > 1;) {
    const sim::Entry& rival = history_[other];
    if (rival.at + std::chrono::seconds{2} < entry.at) break;
    if (what(rival) == What::sent && rival.who != entry.who) {
      step(other, fmt::format("{} kept the bus busy with \"{}\"", name(rival.who), telegram_text(rival)));
    }
  }
}

void Happened::refused(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  step(id, describe(history_.scenario(), entry),
       fmt::format("{} refused at {}{}", who(entry.who), clock_text(entry.at), history_.in_brackets(id)));
  if (static_cast<Refusal>(entry.a) == Refusal::zone_zero) switches(entry.who, id);
  if (const sim::EntryId setup = history_.last_mode(entry.who, id); setup != sim::no_entry) mode(setup);
  channel(entry.who, id);
}

// --- memory and switches ---

void Happened::stored(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const sim::EntryId timer = entry.cause;
  const sim::EntryId assign = timer == sim::no_entry ? sim::no_entry : history_[timer].cause;
  if (assign == sim::no_entry || what(history_[assign]) != What::heard) return;
  taken(assign);
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
  step(id, fmt::format("{}'s power went while it was writing its memory", name(entry.who)),
       fmt::format("{} power went at {} while it was writing its memory{}", whose(entry.who),
                   clock_text(entry.at), history_.in_brackets(id)));
  const sim::EntryId begun = history_.last(What::store_begun, entry.who, id);
  if (begun == sim::no_entry || what(history_[history_[begun].cause]) != What::heard) return;
  taken(history_[begun].cause);
}

void Happened::address(DeviceId module, sim::EntryId before) {
  const sim::EntryId changed = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module &&
           ((what(entry) == What::stored && entry.b != 0) || what(entry) == What::store_torn);
  });
  if (changed == sim::no_entry) return memory_at_start(module);
  what(history_[changed]) == What::stored ? stored(changed) : torn(changed);
}

void Happened::power_up(DeviceId module, sim::EntryId before) {
  const sim::EntryId changed = history_.last(before, [&](const sim::Entry& entry) {
    return entry.who == module && (what(entry) == What::power_up || what(entry) == What::store_torn);
  });
  if (changed == sim::no_entry) return power_up_at_start(module);
  if (what(history_[changed]) == What::store_torn) return torn(changed);
  const sim::EntryId store = history_.last(What::stored, module, changed + 1);
  if (store != sim::no_entry) stored(store);
}

void Happened::memory_at_start(DeviceId module) {
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  if (!was.addressed()) return;
  ModuleMemory fresh = was;
  fresh.address = factory_memory(history_.family().module).address;
  add({0,
       sim::start_of_run,
       fmt::format("{} held {} when the run began", name(module), to_string(was.address)),
       fmt::format("{} held {} already when the run began", who(module), to_string(was.address)),
       std::nullopt,
       {{{change::Memory{module, fresh}}, fmt::format("had {} begun without an address", name(module))}}});
}

void Happened::power_up_at_start(DeviceId module) {
  const ModuleMemory& was = history_.site().modules[history_.site().module_index(module)].memory;
  ModuleMemory other = was;
  other.power_up = was.power_up == PowerUp::off ? PowerUp::full : PowerUp::off;
  const std::string words{to_string(was.power_up)};
  add({0,
       sim::start_of_run,
       fmt::format("{}'s power-up mode was {} when the run began", name(module), words),
       fmt::format("{} power-up mode was {} when the run began", whose(module), words),
       std::nullopt,
       {{{change::Memory{module, other}},
         fmt::format("had its power-up mode been {}", to_string(other.power_up))}}});
}

void Happened::switches(DeviceId plate, sim::EntryId before) {
  const sim::EntryId set = history_.last(What::switches, plate, before);
  if (set != sim::no_entry) {
    const sim::Entry& entry = history_[set];
    return step(set, fmt::format("{}'s switches were set to site {}, zone {}", name(plate), entry.a, entry.b),
                fmt::format("{} switches were set to site {}, zone {} at {}{}", whose(plate), entry.a,
                            entry.b, clock_text(entry.at), history_.in_brackets(set)));
  }
  switches_at_start(plate);
}

void Happened::switches_at_start(DeviceId plate) {
  const PlateSpec& spec = history_.site().plates[plate];
  const auto other_site = static_cast<std::uint8_t>(spec.site % 62 + 2);
  const auto other_zone = static_cast<std::uint8_t>(spec.zone % 8 + 1);
  const auto way = [&](std::uint8_t site, std::uint8_t zone) -> Way {
    return {{change::Switches{plate, site, zone}},
            fmt::format("had {}'s switches stood at site {}, zone {}", name(plate), site, zone)};
  };
  const std::string stood =
      fmt::format("switches stood at site {}, zone {} when the run began", spec.site, spec.zone);
  add({0,
       sim::start_of_run,
       fmt::format("{}'s {}", name(plate), stood),
       fmt::format("{} {}", whose(plate), stood),
       std::nullopt,
       {way(spec.site, other_zone), way(other_site, spec.zone), way(other_site, other_zone)}});
}

}  // namespace drybus::model
