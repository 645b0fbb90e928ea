#include "model/iec62386/controller.h"

#include <cassert>

namespace drybus::iec62386 {

namespace {

bool is_special(const BitFrame& frame, Op op) {
  const Said said = read(frame);
  return said.special && said.command != nullptr && said.command->op == op;
}

std::uint8_t initialise_byte(const Which& which) {
  switch (which.kind) {
    case Which::Kind::all:
      return 0;
    case Which::Kind::unaddressed:
      return 0xFF;
    case Which::Kind::one:
      break;
  }
  return coded_short(which.one);
}

Target one(ShortAddress address) {
  return {Target::Kind::one, address};
}

constexpr std::uint8_t opcode_present = 0x91;
constexpr std::uint8_t opcode_identify = 0x25;
constexpr std::uint8_t opcode_set_short = 0x80;
constexpr std::uint8_t opcode_random_high = 0xC2;

}  // namespace

void Controller::push(const BitFrame& frame, std::uint8_t as_often, bool wants_answer,
                      sim::Duration then_wait) {
  Send send;
  send.frame = frame;
  send.times = as_often;
  send.wants_answer = wants_answer;
  send.then_wait = then_wait;
  sends.push_back(send);
}

void Controller::begin_frames(const std::vector<Send>& frames) {
  assert(job == Job::none);
  job = Job::frames;
  sends = frames;
  next = 0;
  begun = false;
}

void Controller::begin_addressing(const AddressJob& round_job) {
  assert(job == Job::none);
  job = Job::addressing;
  sends.clear();
  next = 0;
  begun = false;
  const bool all_bytes = round.searcher.all_bytes;
  round = Round{};
  round.job = round_job;
  round.searcher.all_bytes = all_bytes;
  round.phase = round_job.which.kind == Which::Kind::all ? Round::Phase::open : Round::Phase::stock;
}

void Controller::begin_inventory() {
  assert(job == Job::none);
  job = Job::inventory;
  sends.clear();
  next = 0;
  begun = false;
  known.fill(0);
  reading = no_short;
}

const Send* Controller::look_ahead(std::vector<Note>& notes) {
  while (job != Job::none && next == sends.size()) {
    sends.clear();
    next = 0;
    const bool in_round = job == Job::addressing;
    switch (job) {
      case Job::none:
      case Job::frames:
        job = Job::none;
        break;
      case Job::addressing:
        if (round.phase == Round::Phase::name) return nullptr;
        advance_round(notes);
        break;
      case Job::inventory:
        advance_inventory();
        break;
    }
    if (job == Job::none)
      notes.push_back({Note::Kind::over, in_round ? round.found : 0, in_round ? round.unverified : 0});
  }
  return job == Job::none ? nullptr : &sends[next];
}

void Controller::sent() {
  begun = true;
  if (++times < sends[next].times) return;
  times = 0;
  asking = sends[next].wants_answer;
  if (!asking) ++next;
}

// --- a round of addressing ---

void Controller::open_round() {
  // Where lamps are shown by a number, nobody may have it from before.
  if (round.job.naming && round.job.which.kind == Which::Kind::all) {
    push(special_frame(0xA3, coded_short(no_short)));
    push(command_frame(Target{}, opcode_set_short), 2);
  }
  push(special_frame(0xA5, initialise_byte(round.job.which)), 2);
  if (round.job.randomise) push(special_frame(0xA7), 2, false, randomise_takes);
  round.phase = Round::Phase::search;
}

void Controller::advance_round(std::vector<Note>& notes) {
  switch (round.phase) {
    case Round::Phase::stock:
      if (round.asked == short_addresses) return open_round();
      // Whoever is addressed anew leaves a number free; but nobody is shown by the one that they share.
      if (round.job.which.kind == Which::Kind::one && round.job.which.one == round.asked) {
        if (round.job.naming) round.taken |= std::uint64_t{1} << round.asked;
        ++round.asked;
      }
      if (round.asked < short_addresses) push(command_frame(one(round.asked), opcode_present), 1, true);
      return;
    case Round::Phase::open:
      return open_round();
    case Round::Phase::search:
      if (const auto frame = round.searcher.next()) {
        push(*frame, 1, is_special(*frame, Op::compare));
      } else if (round.searcher.phase == Searcher::Phase::found) {
        give_number(notes);
      } else {
        if (round.job.terminate) push(special_frame(0xA1));
        round.phase = Round::Phase::close;
      }
      return;
    case Round::Phase::name:
      return;
    case Round::Phase::close:
      round.phase = Round::Phase::over;
      job = Job::none;
      return;
    case Round::Phase::over:
      job = Job::none;
      return;
  }
}

/// The one that was found gets the next free number; where lamps are named, it shows itself with it.
void Controller::give_number(std::vector<Note>& notes) {
  ++round.found;
  ShortAddress number = round.job.from;
  while (number < short_addresses && ((round.taken >> number) & 1U) != 0) ++number;
  if (number >= short_addresses) {
    ++round.without_number;
    notes.push_back({Note::Kind::no_number, round.searcher.least, 0});
    return leave_found();
  }
  round.given = number;
  notes.push_back({Note::Kind::found, round.searcher.least, number});
  push(special_frame(0xB7, coded_short(number)));
  push(special_frame(0xB9, coded_short(number)), 1, true);
  if (!round.job.naming) {
    round.taken |= std::uint64_t{1} << number;
    return leave_found();
  }
  push(command_frame(one(number), opcode_identify), 2);
  round.phase = Round::Phase::name;
}

void Controller::leave_found() {
  push(special_frame(0xAB));
  round.searcher.go_on();
}

void Controller::name(ShortAddress wanted, std::vector<Note>& notes) {
  assert(round.phase == Round::Phase::name);
  round.phase = Round::Phase::search;
  if (wanted == no_short) wanted = round.given;
  if (wanted != round.given) {
    push(special_frame(0xB7, coded_short(wanted)));
    push(special_frame(0xB9, coded_short(wanted)), 1, true);
  }
  round.given = wanted;
  round.taken |= std::uint64_t{1} << wanted;
  notes.push_back({Note::Kind::lamp_shown, wanted, 0});
  leave_found();
}

void Controller::verified(bool yes_it_is, std::vector<Note>& notes) {
  if (yes_it_is) return;
  ++round.unverified;
  notes.push_back({Note::Kind::not_verified, round.given, 0});
}

// --- what is on the line, and which random address each has ---

void Controller::advance_inventory() {
  reading = reading == no_short ? ShortAddress{0} : static_cast<ShortAddress>(reading + 1);
  if (reading >= short_addresses) {
    job = Job::none;
    return;
  }
  push(command_frame(one(reading), opcode_present), 1, true);
}

// --- answers ---

void Controller::heard(const sim::Heard& answer, std::vector<Note>& notes) {
  const Send send = sends[next++];
  asking = false;
  const bool anything = answer.kind != sim::Heard::Kind::silence;
  garbled = answer.kind == sim::Heard::Kind::garbled;
  answered.reset();
  if (answer.kind == sim::Heard::Kind::whole) answered = static_cast<std::uint8_t>(answer.frame.data);
  if (job == Job::frames && send.should_be) {
    const std::uint32_t read = answered ? *answered : garbled ? 257 : 256;
    notes.push_back({Note::Kind::read_back, read, *send.should_be});
  }
  if (job == Job::inventory) {
    const std::uint8_t opcode = read(send.frame).value;
    if (opcode == opcode_present && anything) {
      for (unsigned i = 0; i < 3; ++i)
        push(command_frame(one(reading), static_cast<std::uint8_t>(opcode_random_high + i)), 1, true);
    } else if (opcode != opcode_present && answered) {
      known.at(reading) = (known.at(reading) << 8U) | *answered;
    }
  }
  if (job != Job::addressing) return;
  if (round.phase == Round::Phase::stock) {
    if (anything) round.taken |= std::uint64_t{1} << round.asked;
    ++round.asked;
  } else if (is_special(send.frame, Op::compare)) {
    round.searcher.compared(anything);
  } else if (is_special(send.frame, Op::verify_short)) {
    verified(anything, notes);
  }
}

void Controller::stop() {
  job = Job::none;
  sends.clear();
  next = 0;
  times = 0;
  begun = asking = false;
  round.phase = Round::Phase::over;
}

}  // namespace drybus::iec62386
