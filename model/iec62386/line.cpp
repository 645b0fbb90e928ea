// The line as it is used: when a frame may begin, what becomes of two at once, who hears it, which answers come back.
#include <algorithm>
#include <utility>

#include "model/iec62386/simulation.h"

namespace drybus::iec62386 {

// --- what the line is ---

std::uint32_t Simulation::load_ua(Index group) const {
  std::uint32_t all = 0;
  for (std::size_t i = 0; i < site_.gear.size(); ++i) {
    if (world_.group(site_.gear[i].line) == group) all += site_.gear[i].current_ua;
  }
  for (std::size_t i = 0; i < site_.controllers.size(); ++i) {
    const bool there = world_.controllers[i].plugged && world_.group(site_.controllers[i].line) == group;
    if (there && !site_.controllers[i].supplies_line) all += site_.controllers[i].current_ua;
  }
  return all;
}

std::uint32_t Simulation::supply_ma(Index group) const {
  std::uint32_t all = 0;
  for (Index i = 0; i < site_.lines.size(); ++i) {
    if (world_.group(i) != group) continue;
    if (world_.lines[i].supply_on) all += site_.lines[i].supply_ma;
    all += world_.lines[i].second_supply_ma;
  }
  return all;
}

bool Simulation::is_low(Index group) const {
  for (Index i = 0; i < site_.lines.size(); ++i) {
    if (world_.group(i) == group && (world_.lines[i].shorted || world_.lines[i].mains_on_it)) return true;
  }
  for (std::size_t i = 0; i < site_.gear.size(); ++i) {
    if (world_.group(site_.gear[i].line) == group && world_.beside[i].holds_low) return true;
  }
  return load_ua(group) > supply_ma(group) * 1000;
}

void Simulation::update_all_lines(sim::EntryId cause) {
  for (Index line = 0; line < site_.lines.size(); ++line) update_line(line, cause);
}

/// Lines that are one are low together.
void Simulation::update_line(Index line, sim::EntryId cause) {
  const bool low = is_low(world_.group(line));
  LineNow& now = world_.lines[line];
  if (now.low == low) return;
  now.low = low;
  now.low_since = add(What::line, site_.device_of_line(line), cause, low ? 1 : 0);
  now.idle_from = world_.now;
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    if (site_.gear[gear].line != line) continue;
    Stimulus stimulus;
    stimulus.kind = low ? Stimulus::Kind::line_low : Stimulus::Kind::line_high;
    if (low) world_.beside[gear].before_failure = world_.gear[gear].motion.at(world_.now);
    react_gear(gear, stimulus, now.low_since, no_index);
  }
  watch_.state_changed(now.low_since);
}

/// Whether a controller's frame reaches a gear, or its answer the controller.
bool Simulation::reaches(Index controller, Index gear, bool back) const {
  const ControllerSpec& one = site_.controllers[controller];
  const GearSpec& other = site_.gear[gear];
  if (world_.group(one.line) != world_.group(other.line)) return false;
  if (one.line != other.line) return true;
  const LineSpec& line = site_.lines[one.line];
  return back ? low_enough(line, other.at_m, one.at_m, line.supply_ma)
              : low_enough(line, one.at_m, other.at_m, line.supply_ma);
}

bool Simulation::works(Index controller) const {
  return world_.controllers[controller].plugged && site_.controllers[controller].has_bridge;
}

sim::Duration Simulation::draw(sim::Stream& stream, const Window& window) {
  return window.least + sim::Duration{static_cast<std::int64_t>(stream.below(
                            static_cast<std::uint64_t>((window.most - window.least).count()) + 1))};
}

// --- a controller's work ---

void Simulation::begin_work(Index index) {
  const Controller& controller = world_.controllers[index];
  add(What::job_begun, index, controller.cause, static_cast<std::uint32_t>(controller.job));
  watch_.job_begun(index, controller.cause);
  go_on(index);
}

void Simulation::go_on(Index index) {
  Controller& controller = world_.controllers[index];
  std::vector<Controller::Note> notes;
  const Send* send = controller.look_ahead(notes);
  const bool over = controller.job == Controller::Job::none;
  tell_notes(index, notes);
  if (send != nullptr) return schedule_send(index, 0ns);
  if (!over && controller.round.phase == Round::Phase::name) begin_naming(index);
}

namespace {
/// When what is on the line now will be over.
sim::Instant idle_after(const LineNow& line) {
  sim::Instant idle = line.idle_from;
  for (const Sending& each : line.sending) idle = std::max(idle, each.from + length(bits, each.frame));
  for (const Answering& each : line.answering)
    idle = std::max(idle, each.from + length(bits, answer_frame(0)));
  return idle;
}
}  // namespace

void Simulation::schedule_send(Index index, sim::Duration extra) {
  Controller& controller = world_.controllers[index];
  const bool inside = controller.begun && site_.controllers[index].keeps_line;
  const Priority priority = inside ? Priority{1} : controller.priority;
  const LineNow& line = world_.lines[world_.group(site_.controllers[index].line)];
  const sim::Duration settle = draw(world_.settling[index], settling.at(priority - 1U));
  const sim::Instant at = std::max(idle_after(line) + settle, world_.now) + extra;
  controller.due = push(at - world_.now, Kind::try_send, index, controller.cause);
}

void Simulation::try_send(Index index) {
  Controller& controller = world_.controllers[index];
  if (controller.job == Controller::Job::none) return;
  if (controller.next >= controller.sends.size()) return go_on(index);  // it had to wait before it decides
  const Index group = world_.group(site_.controllers[index].line);
  LineNow& line = world_.lines[group];
  if (!works(index) || line.low) {
    add(What::cannot_send, index, controller.cause, works(index) ? 0 : 1, 0, line.low_since);
    watch_.cannot_send(index, controller.cause);
    controller.stop();
    return job_over(index, 0);
  }
  const bool seen = !line.sending.empty() && world_.now - line.sending.front().from > unseen_for;
  if (seen || !line.answering.empty() || world_.now < line.idle_from) return schedule_send(index, 0ns);
  if (line.sending.size() > 1) return schedule_send(index, 0ns);
  if (!line.sending.empty()) return collide(index, line.sending.front());
  begin_sending(index);
}

namespace {
bool is_search(const Controller& controller, const BitFrame& frame) {
  if (controller.job == Controller::Job::inventory) return true;
  if (controller.job != Controller::Job::addressing) return false;
  if (controller.round.phase == Round::Phase::stock) return true;
  const Said said = read(frame);
  const Op op = said.command == nullptr ? Op::none : said.command->op;
  return op != Op::initialise && op != Op::randomise && op != Op::terminate;
}

/// What the record says of a frame beside its data.
std::uint32_t sent_bits(const Controller& controller, bool keeps_line, const BitFrame& frame) {
  const Priority priority = controller.begun && keeps_line ? Priority{1} : controller.priority;
  return frame.bits | (std::uint32_t{priority} << 8U) | (controller.times > 0 ? SentBits::again : 0U) |
         (is_search(controller, frame) ? SentBits::search : 0U);
}

}  // namespace

void Simulation::begin_sending(Index index) {
  Controller& controller = world_.controllers[index];
  const Index group = world_.group(site_.controllers[index].line);
  LineNow& line = world_.lines[group];
  const BitFrame frame = controller.sends[controller.next].frame;
  const std::uint32_t a = sent_bits(controller, site_.controllers[index].keeps_line, frame);
  const sim::EntryId entry = add(What::sent, index, controller.cause, a, frame.data);
  line.sending.push_back({index, frame, world_.now, entry, false});
  if (line.sending.size() == 1) line.over = push(length(bits, frame), Kind::frames_over, group, entry);
}

/// Two have begun without seeing one another.
void Simulation::collide(Index index, Sending& first) {
  Controller& controller = world_.controllers[index];
  const Index group = world_.group(site_.controllers[index].line);
  LineNow& line = world_.lines[group];
  const BitFrame mine = controller.sends[controller.next].frame;
  const sim::EntryId entry =
      add(What::collided, index, controller.cause, first.controller, mine.data, first.entry);
  const bool both_see =
      site_.controllers[index].sees_collisions && site_.controllers[first.controller].sees_collisions;
  const bool in_grid = world_.now - first.from <= same_grid;
  if (both_see && in_grid && mine.bits == first.frame.bits && mine.data != first.frame.data) {
    // In the first bit that differs the 1 is low at first, so the 0 sees that it has lost, and lets go.
    if (mine.data > first.frame.data) {
      const Index loser = first.controller;
      first.controller = index;
      first.frame = mine;
      first.entry = add(What::sent, index, controller.cause,
                        sent_bits(controller, site_.controllers[index].keeps_line, mine), mine.data);
      return schedule_send(loser, 0ns);
    }
    return schedule_send(index, 0ns);
  }
  if (both_see && !in_grid) {
    const Index other = first.controller;
    add(What::broken, index, entry, other);
    line.sending.clear();
    world_.queue.cancel(std::exchange(line.over, sim::EventQueue::none));
    const sim::Duration pulls = draw(world_.settling[index], break_lasts);
    line.idle_from = world_.now + pulls;
    for (const Index each : {index, other}) {
      const sim::Duration after = pulls + draw(world_.settling[each], after_break);
      world_.controllers[each].due = push(after, Kind::try_send, each, world_.controllers[each].cause);
    }
    return;
  }
  begin_sending(index);
  line.sending.back().shadow = mine == first.frame && in_grid;
}

/// Everything that was being sent is over: one frame for all to hear, or none that anybody can read.
void Simulation::frames_over(Index group) {
  LineNow& line = world_.lines[group];
  line.over = sim::EventQueue::none;
  const std::vector<Sending> over = std::exchange(line.sending, {});
  std::vector<sim::Edges> edges;
  for (const Sending& each : over) edges.push_back(edges_of(bits, each.frame, each.from));
  const sim::Edges together = over.size() == 1 ? edges.front() : sim::wired_and(edges);
  const sim::Heard heard =
      over.size() == 1 ? sim::Heard{sim::Heard::Kind::whole, over.front().frame} : decode(bits, together);
  line.idle_from = together.back() > world_.now ? together.back() : world_.now;
  const bool spoilt = line.low || heard.kind != sim::Heard::Kind::whole;
  if (keeps_waves_) {
    protocol::Carried& carried = carried_[group];
    carried.edges.insert(carried.edges.end(), together.begin(), together.end());
    for (const Sending& each : over)
      carried.frames.push_back(
          {each.from, each.frame, site_.controllers[each.controller].name, spoilt || each.shadow});
  }
  line.asker = no_index;
  for (const Sending& each : over) {
    if (world_.controllers[each.controller].job != Controller::Job::none)
      world_.controllers[each.controller].sent();
  }
  if (!spoilt)
    deliver(group, {over.front().controller, heard.frame, over.front().from, over.front().entry, false});
  for (const Sending& each : over) {
    Controller& controller = world_.controllers[each.controller];
    if (controller.asking && line.asker == no_index) {
      line.asker = each.controller;
      line.asked_by = each.entry;
      if (line.answering.empty()) push(answer_until, Kind::silence, each.controller, each.entry);
    } else if (controller.asking) {
      push(answer_until, Kind::silence, each.controller, each.entry);
    } else if (controller.job != Controller::Job::none) {
      const bool done_once = controller.times == 0;
      const sim::Duration wait =
          done_once && controller.next > 0 ? controller.sends[controller.next - 1].then_wait : 0ns;
      if (wait > 0ns) {
        schedule_send(each.controller, wait);
      } else {
        go_on(each.controller);
      }
    }
  }
}

void Simulation::deliver(Index group, const Sending& sending) {
  LineNow& line = world_.lines[group];
  watch_.frame(sending.frame, sending.entry, sending.controller);
  Stimulus stimulus;
  stimulus.frame = sending.frame;
  sim::Instant last{};
  for (Index gear = 0; gear < site_.gear.size(); ++gear) {
    GearSide& side = world_.beside[gear];
    if (!world_.gear[gear].powered || !reaches(sending.controller, gear, false)) continue;
    if (side.misses > 0) {
      --side.misses;
      continue;
    }
    const Effects effects = react_gear(gear, stimulus, sending.entry, sending.controller);
    if (!effects.answer) continue;
    const sim::Instant from = world_.now + draw(side.delay, answer_window);
    if (!reaches(sending.controller, gear, true)) {
      add(What::unheard, site_.device_of_gear(gear), sending.entry, sending.controller, *effects.answer);
      watch_.unheard(gear, sending.entry);
      continue;
    }
    line.answering.push_back({gear, *effects.answer, from});
    last = std::max(last, from);
  }
  if (!line.answering.empty())
    push(last + length(bits, answer_frame(0)) - world_.now, Kind::answers_over, group, sending.entry);
}

namespace {

sim::Edges edges_together(const std::vector<Answering>& answers) {
  std::vector<sim::Edges> edges;
  edges.reserve(answers.size());
  for (const Answering& each : answers) edges.push_back(edges_of(bits, answer_frame(each.value), each.from));
  return sim::wired_and(edges);
}

/// What several answers make of the line. Where the first and the last begin too far apart, nobody reads an answer, whatever
/// they say.
sim::Heard heard_of(const std::vector<Answering>& answers) {
  if (answers.size() == 1) return {sim::Heard::Kind::whole, answer_frame(answers.front().value)};
  const auto [first, last] = std::minmax_element(
      answers.begin(), answers.end(), [](const auto& a, const auto& b) { return a.from < b.from; });
  if (last->from - first->from > sim::most_spread(bits)) return {sim::Heard::Kind::garbled, {}};
  const sim::Heard heard = decode(bits, edges_together(answers));
  return heard.frame.bits == answer_frame(0).bits ? heard : sim::Heard{sim::Heard::Kind::garbled, {}};
}

}  // namespace

void Simulation::answers_over(Index group) {
  LineNow& line = world_.lines[group];
  const std::vector<Answering> answers = std::exchange(line.answering, {});
  const sim::Heard heard = heard_of(answers);
  const bool whole = heard.kind == sim::Heard::Kind::whole;
  if (keeps_waves_) {
    const sim::Edges together = edges_together(answers);
    protocol::Carried& carried = carried_[group];
    carried.edges.insert(carried.edges.end(), together.begin(), together.end());
    // Several that are read as one are one.
    for (const Answering& each : whole ? std::vector<Answering>{answers.front()} : answers)
      carried.frames.push_back({each.from, answer_frame(each.value), site_.gear[each.gear].name, !whole});
  }
  line.idle_from = world_.now;
  sim::EntryId entry = line.asked_by;
  if (line.asker == no_index) return;
  if (whole) {
    entry = add(What::answered, site_.device_of_gear(answers.front().gear), line.asked_by, line.asker,
                heard.frame.data);
  } else {
    entry = add(What::garbled, line.asker, line.asked_by, 0, answers.size());
  }
  answer_heard(std::exchange(line.asker, no_index), heard, entry);
}

void Simulation::silence(Index index) {
  LineNow& line = world_.lines[world_.group(site_.controllers[index].line)];
  if (!world_.controllers[index].asking) return;
  if (line.asker == index) line.asker = no_index;
  answer_heard(index, {}, line.asked_by);
}

void Simulation::answer_heard(Index index, const sim::Heard& heard, sim::EntryId) {
  Controller& controller = world_.controllers[index];
  if (!controller.asking) return;
  std::vector<Controller::Note> notes;
  controller.heard(heard, notes);
  tell_notes(index, notes);
  if (controller.job != Controller::Job::none) go_on(index);
}

void Simulation::tell_notes(Index index, const std::vector<Controller::Note>& notes) {
  const sim::EntryId cause = world_.controllers[index].cause;
  for (const Controller::Note& note : notes) {
    switch (note.kind) {
      case Controller::Note::Kind::nothing:
        break;
      case Controller::Note::Kind::found:
        add(What::found, index, cause, note.second, note.value);
        break;
      case Controller::Note::Kind::no_number:
        watch_.no_number(index, add(What::no_number, index, cause, 0, note.value));
        break;
      case Controller::Note::Kind::not_verified:
        add(What::not_verified, index, cause, note.value);
        break;
      case Controller::Note::Kind::lamp_shown:
        add(What::named, index, cause, note.value);
        break;
      case Controller::Note::Kind::read_back:
        add(What::read_back, index, cause, note.value, note.second);
        break;
      case Controller::Note::Kind::over:
        job_over(index, note.value | (std::uint64_t{note.second} << 32U));
        break;
    }
  }
}

void Simulation::job_over(Index index, std::uint64_t value) {
  Controller& controller = world_.controllers[index];
  const sim::EntryId entry = add(What::job_ended, index, controller.cause, 0, value);
  watch_.job_over(index, entry);
  if (controller.person == no_index) return;
  PersonNow& person = world_.people[std::exchange(controller.person, no_index)];
  person.waits = false;
  ++person.step;
  person.arrived = false;
  push(300ms, Kind::person, static_cast<std::uint32_t>(&person - world_.people.data()), entry);
}

}  // namespace drybus::iec62386
