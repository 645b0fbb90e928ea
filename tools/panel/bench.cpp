#include "tools/panel/bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <set>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/installer.h"
#include "tools/panel/exact_seconds.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

using model::tr;

using model::DeviceId;
using model::Step;
using model::StepKind;
using model::What;

namespace {

/// A bench that is far behind does not freeze: after so many events the clock goes on from where the run
/// stands.
constexpr std::size_t events_at_once = 20'000;
constexpr std::size_t events_of_a_leap = 500'000;

/// Everybody's steps have the hours that they have anyway. Then nobody needs the pause after each action,
/// which would keep the one at the bench from pressing as fast as fingers can.
model::Scenario with_hours(model::Scenario scenario) {
  for (model::Person& person : scenario.people) {
    const model::Timetable times = model::timetable(scenario.site, scenario.times, person);
    for (std::size_t i = 0; i < person.script.size(); ++i) person.script[i].at = times.begins[i];
  }
  scenario.times.pause = sim::Duration::zero();
  return scenario;
}

model::Scenario without_steps(model::Scenario scenario) {
  scenario.people[0].script.clear();
  return scenario;
}

std::string look_question(const model::Site& site, const model::Check& check) {
  if (check.fact == model::Fact::indicator) {
    return tr("What does the indicator of {} show?", site.name(check.device));
  }
  return tr("What about the {} of {}?", to_string(check.fact), site.name(check.device));
}

}  // namespace

std::string_view to_string(RefusalCode code) {
  switch (code) {
    case RefusalCode::busy:
      return "busy";
    case RefusalCode::controls:
      return "controls";
    case RefusalCode::unknown:
      return "unknown";
    case RefusalCode::message:
      return "message";
    case RefusalCode::limit:
      return "limit";
    case RefusalCode::not_now:
      return "not_now";
  }
  return "message";
}

std::string finding_key(const model::Site& site, const model::Observation& observation) {
  std::string key = fmt::format("{}@{}", to_string(observation.id), exact_seconds(observation.at));
  for (const DeviceId device : observation.devices) key += "@" + site.name(device);
  return key;
}

Bench::Bench(LoadedScenario loaded) : loaded_(std::move(loaded)), pinned_(with_hours(loaded_.scenario)) {
  add_course(without_steps(pinned_), "Free play", BranchKind::free);
}

// --- courses ---

Course& Bench::add_course(model::Scenario scenario, std::string name, BranchKind kind) {
  if (courses_.size() >= most_branches) {
    throw Refused{RefusalCode::limit, tr("There are {} branches already; remove one first.", most_branches)};
  }
  Course course;
  course.id = next_id_++;
  course.name = std::move(name);
  course.kind = kind;
  course.run = std::make_unique<Branch>(std::move(scenario));
  courses_.push_back(std::move(course));
  chosen_ = courses_.size() - 1;
  start_anew();
  return courses_.back();
}

std::size_t Bench::index_of(BranchId id) const {
  const auto found =
      std::find_if(courses_.begin(), courses_.end(), [&](const Course& course) { return course.id == id; });
  if (found == courses_.end()) throw Refused{RefusalCode::unknown, tr("There is no branch {}.", id)};
  return static_cast<std::size_t>(found - courses_.begin());
}

/// What was begun by now, on a branch of its own.
Course& Bench::fork(const std::string& name) {
  const Course& from = chosen();
  const sim::Instant now = from.run->now();
  model::Scenario scenario = from.run->scenario();
  // A demonstration has its pauses; beside it, the same steps have their hours.
  if (from.kind == BranchKind::demonstration) scenario = pinned_;
  scenario.people[0].script.resize(from.run->steps_begun());
  const auto open =
      from.open_press && *from.open_press < scenario.people[0].script.size() ? from.open_press : std::nullopt;
  const BranchId parent = from.id;
  Course& made = add_course(std::move(scenario), name, BranchKind::free);
  made.parent = parent;
  made.from = now;
  made.open_press = open;
  made.run->run_until(now, no_limit);
  start_anew();
  return made;
}

BranchId Bench::branch(const std::string& name) {
  return fork(name.empty() ? fmt::format("From {}", model::clock_text(run().now())) : name).id;
}

/// The demonstration is never written to, and neither is a past that has a future.
bool Bench::has_to_fork() const {
  return chosen().kind == BranchKind::demonstration || run().now() < run().reached();
}

void Bench::fork_if_needed() {
  if (has_to_fork()) fork(fmt::format("What if, at {}", model::clock_text(run().now())));
}

void Bench::choose(BranchId id) {
  chosen_ = index_of(id);
  playing_ = false;
  start_anew();
}

void Bench::rename(BranchId id, const std::string& name) {
  courses_[index_of(id)].name = name;
}

void Bench::remove(BranchId id) {
  const std::size_t index = index_of(id);
  if (courses_.size() == 1) throw Refused{RefusalCode::not_now, tr("The last branch cannot be removed.")};
  for (Course& other : courses_) {
    if (other.parent == id) other.parent = courses_[index].parent;
  }
  const bool was_chosen = index == chosen_;
  courses_.erase(courses_.begin() + static_cast<std::ptrdiff_t>(index));
  if (chosen_ > index || chosen_ == courses_.size()) --chosen_;
  if (!was_chosen) return;
  playing_ = false;
  start_anew();
}

BranchId Bench::demonstrate(const TeachingPoints& points) {
  const auto found = std::find_if(courses_.begin(), courses_.end(), [](const Course& course) {
    return course.kind == BranchKind::demonstration;
  });
  points_ = story_end_ ? TeachingPoints{true, false, false} : points;  // a lesson asks its own questions
  if (found == courses_.end()) {
    add_course(loaded_.scenario, "Demonstration", BranchKind::demonstration);
  } else {
    chosen_ = static_cast<std::size_t>(found - courses_.begin());
  }
  // From the start, held where the class is asked first, and with nothing known of what is to come.
  courses_[chosen_].run = std::make_unique<Branch>(loaded_.scenario, hold_from(0));
  start_anew();
  look_for_teaching_points(0);  // what is done at the very start
  playing_ = !pause_;
  return chosen().id;
}

/// The bench stands somewhere else: everybody has to look anew, and the clock starts from there.
void Bench::start_anew() {
  ++jumps_;
  pause_.reset();
  known_findings_.clear();
  for (const model::Observation& observation : run().observations()) {
    known_findings_.push_back(finding_key(run().scenario().site, observation));
  }
  anchor();
}

void Bench::resume(std::vector<CourseToResume> courses, BranchId stood_on, double speed) {
  courses_.clear();
  for (CourseToResume& kept : courses) {
    const bool free = kept.kind == BranchKind::free;
    Course& course = add_course(free ? std::move(kept.scenario) : loaded_.scenario, kept.name, kept.kind);
    course.id = kept.id;
    course.parent = kept.parent;
    course.from = kept.from;
    next_id_ = std::max(next_id_, kept.id + 1);
    if (free) {
      course.run->run_until(kept.reached, no_limit);
    } else {
      course.run = std::make_unique<Branch>(loaded_.scenario, hold_from(0));
    }
    seek(kept.now);
  }
  choose(stood_on);
  seek(run().now());
  if (chosen().kind == BranchKind::demonstration && !pause_) ask_again();
  set_speed(speed);
}

/// A demonstration that stopped at this moment stops there once more.
void Bench::ask_again() {
  const sim::Instant now = run().now();
  const auto entries = run().record().entries();
  const auto first =
      std::find_if(entries.begin(), entries.end(), [&](const sim::Entry& entry) { return entry.at >= now; });
  known_findings_.clear();
  for (const model::Observation& observation : run().observations()) {
    if (observation.at < now) known_findings_.push_back(finding_key(run().scenario().site, observation));
  }
  look_for_teaching_points(static_cast<std::size_t>(first - entries.begin()));
}

// --- the clock ---

void Bench::anchor() {
  hurry_to_.reset();
  pacer_.start(real_, run().now(), speed_);
  set_pace();
}

void Bench::at_real(RealTime real) {
  real_ = std::max(real_, real);
  if (!playing_) return;
  go_to(std::min(pacer_.target(real_), hurry_to_.value_or(sim::never)), events_at_once);
  set_pace();
}

void Bench::go_to(sim::Instant target, std::size_t most_events) {
  const Course& course = chosen();
  target = std::min(target, furthest());
  if (course.kind == BranchKind::demonstration && story_end_ && target == *story_end_) playing_ = false;
  if (target <= run().now()) return;
  const bool arrived = course.kind == BranchKind::demonstration ? demonstrate_to(target, most_events)
                                                                : course.run->run_until(target, most_events);
  if (!arrived) anchor();
  if (run().full() || run().now() >= sim::start_of_run + longest) playing_ = false;
}

/// As Branch::run_until, but stops at teaching points.
bool Bench::demonstrate_to(sim::Instant target, std::size_t most_events) {
  Branch& course = *chosen().run;
  course.hold_before(hold_from(course.steps_begun()));
  for (; course.next_at() <= target; --most_events) {
    if (most_events == 0 || course.full()) return false;
    const std::size_t entries = course.record().size();
    course.step();
    look_for_teaching_points(entries);
    if (pause_) {
      playing_ = false;
      return false;
    }
  }
  return course.run_until(target, most_events);
}

void Bench::look_for_teaching_points(std::size_t entries_before) {
  const Branch& course = run();
  const model::Scenario& scenario = course.scenario();
  std::vector<TeachingPoint> found;
  for (auto id = static_cast<sim::EntryId>(entries_before + 1); id <= course.record().size(); ++id) {
    const sim::Entry& entry = course.record()[id];
    if (points_.notes && model::what(entry) == What::step) {
      const Step& step = scenario.people[entry.who].script[entry.a];
      if (step.kind == StepKind::note)
        found.push_back({TeachingPoint::Kind::note, step.text, {}, {}, {}, {}});
    }
    if (points_.looks && model::what(entry) == What::checked && scenario.checks[entry.a].seen) {
      const model::Check& check = scenario.checks[entry.a];
      const model::CheckResult* outcome = course.outcome(id);
      found.push_back({TeachingPoint::Kind::look,
                       look_question(scenario.site, check),
                       fmt::format("{}.{} is {}", scenario.site.name(check.device), to_string(check.fact),
                                   outcome != nullptr ? outcome->actual : ""),
                       {},
                       {},
                       entry.b != 0});
    }
  }
  if (points_.findings && course.record().size() > entries_before) {
    for (const model::Observation& observation : course.observations()) {
      std::string key = finding_key(scenario.site, observation);
      if (std::find(known_findings_.begin(), known_findings_.end(), key) != known_findings_.end()) continue;
      const model::Finding finding = model::in_words(scenario, course.world(), course.record(), observation);
      found.push_back({TeachingPoint::Kind::finding,
                       tr("Something is out of step. What, and why?"),
                       finding.text,
                       finding.remedy,
                       key,
                       {}});
      known_findings_.push_back(std::move(key));
    }
  }
  const auto& people = course.world().people;
  const bool over = !course.is_held() && std::all_of(people.begin(), people.end(),
                                                     [](const auto& person) { return person.done != 0; });
  if (over && course.record().size() > entries_before) {
    found.push_back({TeachingPoint::Kind::end, tr("That was the whole script."), {}, {}, {}, {}});
  }
  if (!found.empty()) pause_ = TeachingPause{course.now(), std::move(found)};
}

std::optional<RealTime> Bench::next_happening() const {
  if (!playing_) return std::nullopt;
  return pacer_.until(std::min({run().next_at(), furthest(), hurry_to_.value_or(sim::never)}), real_);
}

void Bench::refuse_when_full() const {
  if (run().full()) {
    throw Refused{RefusalCode::limit,
                  tr("The bench holds as much as it can. Save this branch, or go back in time.")};
  }
  if (run().now() >= sim::start_of_run + longest) {
    throw Refused{RefusalCode::limit, tr("A run at the bench ends after {}.", model::duration_text(longest))};
  }
}

/// How far the chosen branch may go.
sim::Instant Bench::furthest() const {
  const sim::Instant end = sim::start_of_run + longest;
  return chosen().kind == BranchKind::demonstration && story_end_ ? std::min(*story_end_, end) : end;
}

void Bench::refuse_beyond_story(sim::Instant at) const {
  if (chosen().kind != BranchKind::demonstration || !story_end_ || at <= *story_end_) return;
  throw Refused{RefusalCode::not_now, tr("The story goes on when the question is answered.")};
}

void Bench::play() {
  refuse_when_full();
  refuse_beyond_story(run().now() + sim::Duration{1});
  pause_.reset();
  playing_ = take_up_script();
  anchor();
}

void Bench::pause() {
  playing_ = false;
}

void Bench::set_speed(double speed) {
  speed_ = std::clamp(speed, least_speed, most_speed);
  anchor();
}

void Bench::step() {
  refuse_when_full();
  refuse_beyond_story(run().is_held() ? run().now() + sim::Duration{1} : run().next_at());
  playing_ = false;
  pause_.reset();
  const bool was_held = run().is_held();
  if (!take_up_script() || was_held) return anchor();  // what the installer does now is the next event
  const sim::Instant next = run().next_at();
  if (next > sim::start_of_run + longest)
    throw Refused{RefusalCode::not_now, tr("Nothing is going to happen by itself.")};
  const std::size_t entries = run().record().size();
  chosen().run->step();
  if (chosen().kind == BranchKind::demonstration) look_for_teaching_points(entries);
  anchor();
}

std::optional<Bench::NextTimeOut> Bench::next_time_out() const {
  NextTimeOut next;
  const model::World& world = run().world();
  for (std::size_t i = 0; i < world.devices.size(); ++i) {
    const auto handle = world.devices[i].timers[static_cast<std::size_t>(model::Timer::time_out)];
    if (handle == sim::EventQueue::none) continue;
    const sim::Instant due = world.queue.due(handle);
    if (due < next.at) next = {static_cast<DeviceId>(i), due};
  }
  if (next.device == model::no_device) return std::nullopt;
  return next;
}

void Bench::jump() {
  refuse_when_full();
  const auto next = next_time_out();
  if (!next) throw Refused{RefusalCode::not_now, tr("No device is in setup, so no time-out is running.")};
  pause_.reset();
  if (take_up_script()) go_to(next->at, events_of_a_leap);
  anchor();
}

void Bench::seek(sim::Instant at) {
  at = std::min(at, sim::start_of_run + longest);
  refuse_beyond_story(at);
  pause_.reset();
  chosen().run->hold_before(std::nullopt);
  if (chosen().kind == BranchKind::demonstration && at > sim::start_of_run) {
    stand_before_answer(at);
  } else {
    run_to(at);
  }
}

void Bench::run_to(sim::Instant at) {
  if (at <= run().reached()) {
    chosen().run->seek(at);
  } else {
    chosen().run->run_until(at, events_of_a_leap);
  }
  start_anew();
}

// --- saving ---

SavedScenario Bench::save(BranchId id) {
  const model::Speaking speaking{nullptr};  // a file is the same in every language
  const Course& course = this->course(id);
  const std::string stem =
      std::filesystem::path{loaded_.sources.empty() ? "bench.yaml" : loaded_.sources[0].path}.stem().string();
  SavedScenario saved;
  view(id, course.run->reached(), [&](const Course& at_the_end) {
    model::Scenario done =
        at_the_end.kind == BranchKind::demonstration ? at_the_end.run->begun() : at_the_end.run->scenario();
    if (at_the_end.open_press) done.people[0].script[*at_the_end.open_press] = let_go(at_the_end, true);
    done.title = fmt::format("{} ({})", loaded_.scenario.title, at_the_end.name);
    done.about =
        fmt::format("What was done at the panel. It begins as \"{}\" does.\n", loaded_.scenario.title);
    saved = save_scenario(loaded_, std::move(done), at_the_end.run->now(),
                          at_the_end.open_press ? nullptr : &at_the_end.run->record(),
                          fmt::format("{}-{}.yaml", stem, id));
  });
  return saved;
}

}  // namespace drybus::tools
