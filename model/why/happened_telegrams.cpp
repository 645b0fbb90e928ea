// What happened to telegrams: who sent them, who heard them, who did not and why.
#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/why/happened.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

std::string telegram_text(const sim::Entry& entry) {
  return spoken(unpack(entry.b));
}

bool sent_in_setup(TelegramKind kind) {
  switch (kind) {
    case TelegramKind::beacon:
    case TelegramKind::left:
    case TelegramKind::identify:
    case TelegramKind::assign:
    case TelegramKind::ask:
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

}  // namespace

// --- telegrams ---

void Happened::heard(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const std::string& sender = name(static_cast<DeviceId>(entry.a));
  step(id, tr("{} heard \"{}\" from {}", name(entry.who), telegram_text(entry), sender),
       tr("{} heard \"{}\" from {} at {}{}", who(entry.who), telegram_text(entry), sender,
          clock_text(entry.at), history_.in_brackets(id)));
  sent(entry.cause);
}

void Happened::took(sim::EntryId assign) {
  const sim::Entry& entry = history_[assign];
  const Telegram telegram = unpack(entry.b);
  const std::string address = to_string(Address{telegram.site, telegram.zone, telegram.channel});
  const std::string& sender = name(static_cast<DeviceId>(entry.a));
  step(assign, tr("{} took the address {} that {} offered", name(entry.who), address, sender),
       tr("{} took {} from {} at {}{}", who(entry.who), address, sender, clock_text(entry.at),
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
  const std::string when = clock_text(entry.at);
  const std::string brackets = history_.in_brackets(id);
  if (telegram.kind == TelegramKind::assign) {
    const std::string address = to_string(Address{telegram.site, telegram.zone, telegram.channel});
    return step(id, tr("{} offered {}", name(entry.who), address),
                tr("{} offered {} at {}{}", who(entry.who), address, when, brackets));
  }
  step(id, tr("{} sent \"{}\"", name(entry.who), telegram_text(entry)),
       tr("{} sent \"{}\" at {}{}", who(entry.who), telegram_text(entry), when, brackets));
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
    step(id, tr("{} was stepped to channel {}", name(plate), history_[id].a),
         tr("{} was stepped to channel {} at {}{}", who(plate), history_[id].a, clock_text(history_[id].at),
            history_.in_brackets(id)));
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
         tr("\"{}\" from {} was lost on its way to {} at {}", telegram_text(entry), name(sender),
            who(entry.who), clock_text(entry.at)),
         history_.step_behind(id),
         {{{change::Arrive{entry.who, sender, entry.at}}, tr("had that telegram arrived")}}});
  }
  deeper();
  lost_for(id, loss);
}

void Happened::loss(sim::EntryId id) {
  const sim::EntryId sent = handed_over(id);
  if (sent != sim::no_entry) said(sent);
  lost_for(id, why_lost(history_[id]));
  if (sent != sim::no_entry) sender_was(sent);
}

/// The entry with which the telegram that was lost went onto the medium. What a power cut ended has no last bit.
sim::EntryId Happened::handed_over(sim::EntryId lost) const {
  const sim::Entry& entry = history_[lost];
  if (why_lost(entry) != sim::Loss::cut_short) return entry.cause;
  return history_.last(What::sent, lost_sender(entry), lost);
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
        step(power, tr("{}'s power went", name(entry.who)),
             tr("{} power had gone at {}{}", whose(entry.who), clock_text(history_[power].at),
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
    step(id, broken, tr("{} from {} on{}", broken, clock_text(entry.at), history_.in_brackets(id)));
  }
}

/// Other telegrams that were on the medium at the same time.
void Happened::rivals(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  const auto sender = lost_sender(entry);
  const sim::EntryId began = history_.last(What::sent, sender, id);
  const sim::Instant from = began == sim::no_entry ? entry.at : history_[began].at;
  for (sim::EntryId other = 1; other < history_.end(); ++other) {
    const sim::Entry& rival = history_[other];
    if (what(rival) != What::sent || rival.who == sender || rival.at > entry.at) continue;
    const sim::EntryId end = history_.next(other, [&](const sim::Entry& each) {
      const bool cut = what(each) == What::lost && why_lost(each) == sim::Loss::cut_short;
      return (what(each) == What::sent_whole || cut) && each.who == rival.who;
    });
    if (end != sim::no_entry && history_[end].at < from) continue;
    step(other, tr("{} sent \"{}\" at the same time", name(rival.who), telegram_text(rival)),
         tr("{} sent \"{}\" at the same time{}", name(rival.who), telegram_text(rival),
            history_.in_brackets(other)));
    if (const sim::EntryId setup = history_.last_mode(rival.who, other); setup != sim::no_entry) mode(setup);
  }
}

void Happened::not_sent(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  step(id, describe(history_.scenario(), entry),
       tr("{} at {}", describe(history_.scenario(), entry), clock_text(entry.at)));
  const sim::EntryId power = history_.last(What::power, entry.who, id + 1);
  if (power != sim::no_entry && history_[power].a == 0) {
    step(power, tr("{}'s power went", name(entry.who)));
  }
  for (sim::EntryId other = id; other-- > 1;) {
    const sim::Entry& rival = history_[other];
    if (rival.at + std::chrono::seconds{2} < entry.at) break;
    if (what(rival) == What::sent && rival.who != entry.who) {
      step(other, tr("{} kept the bus busy with \"{}\"", name(rival.who), telegram_text(rival)));
    }
  }
}

void Happened::refused(sim::EntryId id) {
  const sim::Entry& entry = history_[id];
  step(id, describe(history_.scenario(), entry),
       tr("{} refused at {}{}", who(entry.who), clock_text(entry.at), history_.in_brackets(id)));
  if (static_cast<Refusal>(entry.a) == Refusal::zone_zero) switches(entry.who, id);
  if (const sim::EntryId setup = history_.last_mode(entry.who, id); setup != sim::no_entry) mode(setup);
  channel(entry.who, id);
}

}  // namespace drybus::model
