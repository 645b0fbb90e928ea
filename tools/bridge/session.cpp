#include "tools/bridge/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

using model::What;

namespace {

std::string patience_text(std::chrono::milliseconds patience) {
  return model::with_decimal_mark(fmt::format("{:g}", std::chrono::duration<double>(patience).count()));
}

model::Scenario prepared(const model::Scenario& given, const SessionOptions& options,
                         const std::shared_ptr<model::OutsideLogic>& outside) {
  model::Scenario scenario = given;
  scenario.site.logic = outside;
  if (options.until > sim::Duration::zero()) {
    model::Step last;
    last.kind = model::StepKind::note;
    last.at = sim::start_of_run + options.until;
    last.text = std::string{"The line to the device is held open until here."};
    scenario.people[0].script.push_back(std::move(last));
  }
  return scenario;
}

}  // namespace

Session::Session(const model::Scenario& scenario, Port& port, SessionOptions options)
    : port_(port),
      options_(std::move(options)),
      outside_(std::make_shared<model::OutsideLogic>(options_.device, std::vector<model::OutsideStep>{},
                                                     scenario.site.logic)),
      scenario_(prepared(scenario, options_, outside_)),
      world_(model::initial_world(scenario_)),
      watch_(scenario_) {
  outside_->listen([this](const model::Stimulus& stimulus) { hear(stimulus); });
  simulation_ = std::make_unique<model::Simulation>(scenario_, world_, &record_);
  driver_ = std::make_unique<model::Driver>(*simulation_, options_.budget);
  simulation_->on_check([this](std::uint32_t check, sim::EntryId step) {
    return model::judge(scenario_, world_, record_, watch_, check, step).passed;
  });
}

SessionResult Session::run(const std::atomic<bool>& interrupted) {
  Outgoing hello;
  hello.kind = Outgoing::Kind::hello;
  hello.plate = scenario_.site.is_plate(options_.device);
  hello.pace = options_.pace;
  hello.text = scenario_.site.name(options_.device);
  send(std::move(hello));
  begun_ = second_begun_ = Clock::now();
  simulation_->begin();
  settle();
  if (options_.pace == Pace::lock_step) {
    in_lock_step(interrupted);
  } else {
    in_real_time(interrupted);
  }
  while (!is_over()) step();  // without the device, where it takes part no longer
  Outgoing bye;
  bye.kind = Outgoing::Kind::bye;
  bye.at = now();
  bye.text = takes_part() ? "the session is over" : result_.ended_early;
  port_.send(bye);
  port_.close(std::chrono::milliseconds{500});
  outside_->listen({});
  result_.digest = model::digest_of(record_, world_);
  result_.ended = now();
  return result_;
}

// --- going on ---

void Session::step() {
  driver_->step();
  settle();
}

/// Takes in what the record has gained.
void Session::settle() {
  watch_.observe(scenario_, world_, record_);
  for (sim::EntryId id = looked_at_ + 1; id <= record_.size(); ++id) {
    const sim::Entry& entry = record_[id];
    const What what = model::what(entry);
    const bool mine = entry.who == options_.device;
    const bool came_on = what == What::power && mine && entry.a != 0;
    if (what == What::began || (what == What::timer && mine) || came_on) alarm_cause_ = id;
  }
  looked_at_ = static_cast<sim::EntryId>(record_.size());
  const bool on = world_.devices[options_.device].powered != 0;
  if (was_on_ && !on) {
    Outgoing off;
    off.kind = Outgoing::Kind::power;
    off.at = now();
    send(std::move(off));
  }
  was_on_ = on;
}

/// What comes in becomes a step, at a moment at which nothing else is due, and the run passes through it.
void Session::inject(sim::Instant at, const model::OutsideAct& act) {
  if (const std::string why = model::why_not(scenario_.site, options_.device, act); !why.empty())
    return count_unreadable(why);
  if (world_.devices[options_.device].powered == 0) {
    if (result_.without_power++ == 0)
      options_.tell(tr("it does something without power; that is passed over"));
    return;
  }
  if (outside_->steps().size() >= most_steps) return end_part(tr("it has done {} things", most_steps));
  at = std::max(at, now() + sim::Duration{1});
  while (world_.queue.next_at() == at) at += sim::Duration{1};
  outside_->add({at, act});
  outside_->schedule_next(world_, alarm_cause_);
  ++result_.acts;
  const auto& alarm =
      world_.devices[options_.device].timers[static_cast<std::size_t>(model::OutsideLogic::hour)];
  while (alarm != sim::EventQueue::none && !is_over()) step();
}

// --- lock-step ---

void Session::in_lock_step(const std::atomic<bool>& interrupted) {
  while (!is_over() && takes_part()) {
    if (interrupted) return end_part(tr("it was interrupted"));
    const sim::Instant next = world_.queue.next_at();
    const sim::Instant until = std::min(next, here() + longest_grant);
    if (!ask(until) || !takes_part()) continue;
    at_once_ = 0;
    granted_ = until;
    if (until == next) step();
  }
}

/// Tells until when time may go on, and takes the answer. True when there is nothing before.
bool Session::ask(sim::Instant until) {
  Outgoing time;
  time.kind = Outgoing::Kind::time;
  time.at = here();
  time.until = until;
  send(std::move(time));
  const Clock::time_point latest = Clock::now() + options_.patience;
  for (;;) {
    const auto message = port_.receive(latest);
    if (!message) {
      end_part(tr("it did not answer within {} s, at {}", patience_text(options_.patience),
                  model::clock_text(now())));
      return true;
    }
    if (const auto* end = std::get_if<LineEnd>(&*message)) {
      end_part(end->why);
      return true;
    }
    if (const auto* unreadable = std::get_if<Unreadable>(&*message)) {
      count_unreadable(unreadable->why);
      if (!takes_part()) return true;
      continue;
    }
    return take_answer(std::get<Incoming>(*message), until);
  }
}

bool Session::take_answer(const Incoming& answer, sim::Instant until) {
  if (!answer.act) return true;
  const sim::Instant at = answer.at == as_it_comes ? here() : answer.at;
  if (at < here() - one_moment || at > until) {
    end_part(tr("it lies about time: it does something at {}, and may from {} to {}", model::clock_text(at),
                model::clock_text(here()), model::clock_text(until)));
    return true;
  }
  if (++at_once_ > most_at_once) {
    end_part(
        tr("it does more than {} things before time goes on, at {}", most_at_once, model::clock_text(now())));
    return true;
  }
  inject(std::max(at, here()), *answer.act);
  return false;
}

// --- real time ---

sim::Instant Session::run_time() const {
  const double gone = static_cast<double>((Clock::now() - begun_).count()) * options_.speed;
  return sim::start_of_run + sim::Duration{static_cast<std::int64_t>(gone)};
}

Session::Clock::time_point Session::wall_time(sim::Instant at) const {
  constexpr double longest = 1e16;  // a hundred days of looking on
  const double ns = static_cast<double>((at - sim::start_of_run).count()) / options_.speed;
  return begun_ + std::chrono::nanoseconds{static_cast<std::int64_t>(std::min(ns, longest))};
}

void Session::in_real_time(const std::atomic<bool>& interrupted) {
  constexpr std::chrono::milliseconds look{100};  // whether it was interrupted
  while (!is_over() && takes_part()) {
    if (interrupted) return end_part(tr("it was interrupted"));
    const Clock::time_point due = wall_time(world_.queue.next_at());
    wait_until(std::min(due, Clock::now() + look));
    while (!is_over() && takes_part() && world_.queue.next_at() <= run_time()) step();
  }
}

/// Takes what comes meanwhile.
void Session::wait_until(Clock::time_point due) {
  while (takes_part()) {
    const auto message = port_.receive(due);
    if (!message) return;
    if (const auto* end = std::get_if<LineEnd>(&*message)) return end_part(end->why);
    if (!count_in_this_second()) return;
    if (const auto* unreadable = std::get_if<Unreadable>(&*message)) {
      count_unreadable(unreadable->why);
    } else {
      take_in_real_time(std::get<Incoming>(*message));
    }
    if (is_over() || world_.queue.next_at() <= run_time()) return;
  }
}

void Session::take_in_real_time(const Incoming& message) {
  if (!message.act) return;
  const sim::Instant here = run_time();
  while (!is_over() && world_.queue.next_at() <= here) step();
  if (message.at != as_it_comes && std::max(message.at, here) - std::min(message.at, here) > off_time) {
    if (result_.off_time++ == 0) {
      options_.tell(tr("its clock is off: it says {} at {}. What it does happens when it comes",
                       model::clock_text(message.at), model::clock_text(here)));
    }
  }
  if (!is_over()) inject(here, *message.act);
}

bool Session::count_in_this_second() {
  const Clock::time_point now = Clock::now();
  if (now - second_begun_ > std::chrono::seconds{1}) {
    second_begun_ = now;
    in_this_second_ = 0;
  }
  if (++in_this_second_ <= most_per_second) return true;
  end_part(tr("it sent more than {} messages in a second", most_per_second));
  return false;
}

// --- the line ---

void Session::hear(const model::Stimulus& stimulus) {
  Outgoing message;
  message.at = now();
  switch (stimulus.kind) {
    case model::Stimulus::Kind::power_on:
      message.kind = Outgoing::Kind::power;
      message.on = true;
      break;
    case model::Stimulus::Kind::contacts:
      message.kind = Outgoing::Kind::contact;
      message.button = stimulus.button;
      message.on = stimulus.closed;
      break;
    case model::Stimulus::Kind::telegram:
      message.kind = Outgoing::Kind::frame;
      message.telegram = stimulus.telegram;
      break;
    case model::Stimulus::Kind::timer:
      return;
  }
  send(std::move(message));
}

void Session::send(Outgoing message) {
  if (!takes_part()) return;
  ++result_.told;
  port_.send(message);
}

void Session::count_unreadable(const std::string& why) {
  constexpr std::uint64_t told_of = 5;
  if (++result_.unreadable <= told_of) options_.tell(tr("a message is passed over: {}", why));
  if (result_.unreadable > most_unreadable)
    end_part(tr("more than {} of its messages could not be read", most_unreadable));
}

void Session::end_part(const std::string& why) {
  if (!takes_part()) return;
  result_.ended_early = why;
  options_.tell(tr("{}; the run goes on without it", why));
}

}  // namespace drybus::tools
