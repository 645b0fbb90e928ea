#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "model/diagnosis/capture_fit.h"
#include "model/diagnosis/load_match.h"
#include "model/diagnosis/retelling_parts.h"
#include "model/diagnosis/unchanged.h"
#include "model/run/driver.h"
#include "model/words/words.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

/// Who says what a lamp shows may have looked a moment ago.
constexpr sim::Duration glance = std::chrono::seconds{1};
/// What a near match is worth against a full one; judgement.
constexpr double nearly_weight = 0.35;
/// Of what somebody called for, so much less often than of anything else they are wrong; judgement.
constexpr double believed_weight = 0.1;
/// A story with more events than this is no telephone call.
constexpr std::size_t most_events_told = 3'000'000;
/// To begin a run from a copy counts as so many events; judgement.
constexpr std::size_t events_of_a_run = 100;

}  // namespace

/// One run, from the start or from a copy.
class Retelling::Course {
 public:
  Course(const Retelling& retelling, const Scenario& scenario, Followed followed)
      : retelling_(retelling),
        scenario_(scenario),
        followed_(with_all_that_ask(scenario.site, std::move(followed))) {
    prediction.matches.assign(retelling.report_.seen.size(), Match::unknown);
  }

  void begin() {
    world = initial_world(scenario_);
    glances.assign(scenario_.site.device_count(), {});
    act_began = world.now;
    note_loads();
    attach();
    simulation_->begin();
    leave_out_the_rest();
  }

  void take_up(const Kept& kept, const std::vector<Telegram>& sent_as_told) {
    world = kept.world;
    glances = kept.glances;
    act_began = kept.act_began;
    loads_before = kept.loads_before;
    waiting = kept.waiting;
    prediction.sent.assign(sent_as_told.begin(),
                           sent_as_told.begin() + static_cast<std::ptrdiff_t>(kept.sent));
    attach();
    leave_out_the_rest();
    for (std::size_t i = world.people.size(); i < scenario_.people.size(); ++i) {
      world.people.push_back({scenario_.people[i].place, 0, 0, 0});
      simulation_->schedule(sim::Duration::zero(), Happening::person, static_cast<std::uint32_t>(i), 0,
                            sim::no_entry);
    }
  }

  /// Until the installer has nothing left to do or `after_event` says so; false when that takes too many
  /// events.
  template <class AfterEvent>
  bool run(std::size_t most_events, AfterEvent after_event) {
    Budget budget;
    budget.events = most_events;
    Driver driver{*simulation_, budget};
    bool enough = false;
    std::uint16_t step = world.people.front().step;
    try {
      return driver.go_on([&] { return enough || world.people.front().done != 0; },
                          [&] {
                            ++events;
                            glance_at_lamps();
                            if (world.people.front().step != step) {
                              note_act();
                              note_waiting(world.people.front().step);
                            }
                            step = world.people.front().step;
                            enough = after_event();
                          });
    } catch (const UsedUp& used_up) {
      went_on_too_long = used_up.what();
      return false;
    }
  }

  /// Modules that are as they were at this point of what was told will go on so: they are followed no longer.
  /// False while any others are left.
  bool let_go(const Kept& told, const Rejoining& rejoining) {
    bool all = true;
    for (std::size_t module = 0; module < world.modules.size(); ++module) {
      if (!followed_.has(module)) continue;
      if (!rejoining.module_alike(module)) {
        all = false;
        continue;
      }
      if (asks_for_itself(scenario_.site, scenario_.site.module_id(module))) continue;
      followed_.remove(module);
      simulation_->set_power(scenario_.site.module_id(module), false, sim::no_entry);
      go_on_as_told(scenario_.site.module_id(module));
    }
    if (all) {
      const auto& sent = retelling_.as_told_.sent;
      prediction.sent.insert(prediction.sent.end(), sent.begin() + static_cast<std::ptrdiff_t>(told.sent),
                             sent.end());
      for (DeviceId plate = 0; plate < scenario_.site.plates.size(); ++plate) go_on_as_told(plate);
    }
    return all;
  }

  /// Whether it can fit no better than this any more.
  [[nodiscard]] bool is_hopeless(double least) const { return log_fit <= least && due_soon_.empty(); }

  World world;
  Glances glances;
  sim::Instant act_began{};
  std::vector<Level> loads_before;
  std::vector<DeviceId> waiting;  ///< in setup since before the first answer, if it goes on
  Prediction prediction;
  double log_fit = 0;  ///< of what was seen so far
  std::size_t events = 0;
  std::string went_on_too_long;  ///< who used up all the events, if somebody did

 private:
  void attach() {
    for (std::size_t device = 0; device < world.devices.size(); ++device) {
      showing_.push_back(world.devices[device].indicator);
      const bool module = !scenario_.site.is_plate(static_cast<DeviceId>(device));
      if (module && !followed_.has(scenario_.site.module_index(static_cast<DeviceId>(device)))) continue;
      watched_.push_back(static_cast<DeviceId>(device));
    }
    const bool captured = !retelling_.report_.capture.empty();
    logic_.emplace(followed_, captured ? &prediction.sent : nullptr);
    simulation_.emplace(scenario_, world);
    simulation_->use_logic(&*logic_);
    simulation_->on_check([this](std::uint32_t check, sim::EntryId) { return look(check); });
  }

  void go_on_as_told(DeviceId device) {
    for (const DueSoon& each : std::vector{due_soon_}) {
      if (retelling_.report_.seen[each.seen].device == device)
        end_of_waiting(device, retelling_.as_told_.matches[each.seen]);
    }
    for (std::uint32_t i = 0; i < prediction.matches.size(); ++i) {
      if (retelling_.report_.seen[i].device != device || prediction.matches[i] != Match::unknown) continue;
      prediction.matches[i] = retelling_.as_told_.matches[i];
      log_fit += retelling_.log_likelihood(i, prediction.matches[i]);
    }
  }

  /// Who is not followed loses power: then the medium need not work out what reaches it.
  void leave_out_the_rest() {
    for (std::size_t module = 0; module < world.modules.size(); ++module) {
      if (!followed_.has(module))
        simulation_->set_power(scenario_.site.module_id(module), false, sim::no_entry);
    }
  }

  void note_act() {
    const auto& script = scenario_.people.front().script;
    const std::uint16_t step = world.people.front().step;
    if (step >= script.size()) return;
    if (script[step].kind != StepKind::press && script[step].kind != StepKind::hold) return;
    act_began = world.now;
    note_loads();
  }

  void note_loads() {
    if (!retelling_.asks_what_changed()) return;
    loads_before.clear();
    for (const LoadState& load : world.loads) loads_before.push_back(heading(load));
  }

  void glance_at_lamps() {
    for (const DeviceId device : watched_) {
      const Pattern now = world.devices[device].indicator;
      if (now == showing_[device]) continue;
      glances[device][showing_[device]].ended = world.now;
      glances[device][now].began = world.now;
      showing_[device] = now;
      if (now == Pattern::breathe) end_of_waiting(device, Match::nearly);
    }
    std::erase_if(due_soon_, [this](const DueSoon& each) { return each.until < world.now; });
    std::erase_if(waiting, [this](DeviceId device) { return world.devices[device].mode != Mode::setup; });
  }

  /// A setup that went on when all was done may be over by the first answer: nobody says how long that took.
  void note_waiting(std::uint16_t step) {
    const auto from = retelling_.report_.answers_from;
    if (!from || step != retelling_.looked_index(*from)) return;
    for (const DeviceId device : watched_) {
      if (world.devices[device].mode == Mode::setup) waiting.push_back(device);
    }
  }

  bool look(std::uint32_t index) {
    const Seen& seen = retelling_.report_.seen[index];
    const Site& site = scenario_.site;
    if (!site.is_plate(seen.device) && !followed_.has(site.module_index(seen.device))) return true;
    const Match match = seen.fact == Fact::indicator ? match_indicator(seen)
                                                     : match_load_of(site.module_index(seen.device), seen);
    prediction.matches[index] = match;
    log_fit += retelling_.log_likelihood(index, match);
    if (match == Match::no && seen.fact == Fact::indicator && seen.what == to_string(Pattern::breathe) &&
        at_rest(world.devices[seen.device].indicator))
      due_soon_.push_back({index, world.now + phase_unknown()});
    return match != Match::no;
  }

  /// A lamp breathes from the first beacon on, and nobody knows at which moment between two of them they
  /// looked.
  [[nodiscard]] sim::Duration phase_unknown() const {
    return std::max(glance, scenario_.site.longest([](const Family& each) { return each.plate.beacon; }));
  }

  /// The strongest pattern that came since something was pressed, or shows now: what somebody who watches will tell.
  [[nodiscard]] Pattern answer_of(DeviceId device) const {
    Pattern strongest = world.devices[device].indicator;
    for (const Pattern pattern : sim::all_of<Pattern>()) {
      if (glances[device][pattern].began >= act_began) strongest = std::max(strongest, pattern);
    }
    return strongest;
  }

  [[nodiscard]] Match match_load_of(std::size_t module, const Seen& seen) const {
    const LoadState& load = world.loads[module];
    if (seen.what != as_it_was) return match_load(load, world.now, seen.what);
    return heading(load) == loads_before[module] ? Match::yes : Match::no;
  }

  [[nodiscard]] Match match_indicator(const Seen& seen) const {
    const Pattern now = world.devices[seen.device].indicator;
    if (to_string(seen.watched ? answer_of(seen.device) : now) == seen.what) return Match::yes;
    // What was in setup is at rest when that is over.
    const bool may_be_over = std::find(waiting.begin(), waiting.end(), seen.device) != waiting.end();
    if (may_be_over && at_rest(seen.what)) return Match::nearly;
    if (seen.watched) return to_string(now) == seen.what ? Match::nearly : Match::no;
    const bool of_beacons = at_rest(now) && at_rest(seen.what);
    for (const Pattern pattern : sim::all_of<Pattern>()) {
      if (to_string(pattern) != seen.what) continue;
      const Glance& shown = glances[seen.device][pattern];
      if (shown.ended == sim::Instant::min()) continue;
      // What showed before anything was pressed is no answer to it.
      const bool answers = of_beacons || shown.began >= act_began;
      if (answers && world.now - shown.ended <= (of_beacons ? phase_unknown() : glance)) return Match::nearly;
    }
    return Match::no;
  }

  /// Looks at a device that were too early by a moment come out better.
  void end_of_waiting(DeviceId device, Match match) {
    std::erase_if(due_soon_, [&](const DueSoon& each) {
      if (retelling_.report_.seen[each.seen].device != device) return false;
      Match& known = prediction.matches[each.seen];
      log_fit += retelling_.log_likelihood(each.seen, std::max(known, match)) -
                 retelling_.log_likelihood(each.seen, known);
      known = std::max(known, match);
      return true;
    });
  }

  /// A look that is wrong, but will be right when its lamp breathes by then.
  struct DueSoon {
    std::uint32_t seen = 0;
    sim::Instant until{};
  };
  std::vector<DueSoon> due_soon_;
  const Retelling& retelling_;
  const Scenario& scenario_;
  Followed followed_;
  std::vector<Pattern> showing_;
  std::vector<DeviceId> watched_;
  std::optional<PartlyFollowed> logic_;
  std::optional<Simulation> simulation_;
};

Retelling::Retelling(const Report& report, const Catalogue& catalogue)
    : report_(report), catalogue_(catalogue), told_(report.believed) {
  forget_words(told_);
  const std::size_t steps = told_.people.front().script.size();
  told_.checks.clear();
  std::vector<Step> looks(steps + 1);
  for (std::uint32_t i = 0; i < report.seen.size(); ++i) {
    const Seen& seen = report.seen[i];
    told_.checks.push_back({seen.fact, seen.device, {seen.what}, true, {}});
    weigh(seen);
    looks[seen.after_step ? *seen.after_step + 1 : steps].checks.push_back(i);
  }
  Changes put_in;
  std::uint32_t before = 0;
  for (std::uint32_t step = 0; step <= steps; ++step) {
    if (!looks[step].checks.empty()) {
      looks[step].kind = StepKind::see;
      put_in.push_back(change::Insert{{0, step}, {looks[step]}});
      ++before;
    }
    looks_before_.push_back(before);
  }
  told_.people.front().script = altered_script(told_, 0, put_in).steps;
  scratch_ = told_;

  const Followed everybody{told_.site.modules.size(), true};
  Course course{*this, told_, everybody};
  course.begin();
  go_through(course, static_cast<std::uint32_t>(steps));
  as_told_ = std::move(course.prediction);
  finish(as_told_);
}

void Retelling::go_through(Course& course, std::uint32_t steps) {
  const auto copy = [&] {
    return Kept{course.world,        course.glances, course.act_began,
                course.loads_before, course.waiting, course.prediction.sent.size()};
  };
  // The first copy stands for the start, before anybody did anything.
  kept_.push_back(copy());
  kept_for_.assign(1, 0);
  PersonState last = course.world.people.front();
  const bool ended = course.run(most_events_told, [&] {
    const PersonState& person = course.world.people.front();
    if (person.done != 0 || person == last) return false;
    if (person.step == last.step && kept_.size() > 1) {
      kept_.back() = copy();  // further into the same step
    } else {
      // Steps that take no time were gone through in one event: they begin from the copy before.
      while (kept_for_.size() <= steps &&
             looked_index(static_cast<std::uint32_t>(kept_for_.size())) <= person.step) {
        kept_for_.push_back(static_cast<std::uint32_t>(kept_.size()) - 1);
      }
      kept_.push_back(copy());
    }
    last = person;
    return false;
  });
  if (!ended) {
    throw std::length_error{tr("what was told goes on for too long to be gone through") +
                            (course.went_on_too_long.empty() ? "" : ": " + course.went_on_too_long)};
  }
  kept_for_.resize(steps + 1, static_cast<std::uint32_t>(kept_.size()) - 1);
  kept_.push_back(copy());
  most_events_ = 10 * course.events + 100'000;
}

bool Retelling::asks_what_changed() const {
  return std::any_of(report_.seen.begin(), report_.seen.end(),
                     [](const Seen& seen) { return seen.what == as_it_was; });
}

std::uint32_t Retelling::looked_index(std::uint32_t step) const {
  return step + looks_before_[step];
}

/// The changes, with steps named as they are with the looks among them: what is put in before a step comes
/// after the looks there.
Changes Retelling::among_looks(std::span<const Change> changes) const {
  const auto moved = [&](StepRef& ref) {
    if (ref.person == 0) ref.step = looked_index(ref.step);
  };
  Changes all{changes.begin(), changes.end()};
  for (Change& change : all) {
    if (auto* skip = std::get_if<change::Skip>(&change)) moved(skip->step);
    if (auto* leave = std::get_if<change::Leave>(&change)) moved(leave->step);
    if (auto* last = std::get_if<change::Last>(&change)) moved(last->step);
    if (auto* insert = std::get_if<change::Insert>(&change)) moved(insert->before);
  }
  return all;
}

/// The scenario with changes. It is made in place: most of a site never changes, and is not copied for each
/// hypothesis.
const Scenario& Retelling::otherwise(std::span<const Change> changes, AlteredScript& script) const {
  if (start_changed_) scratch_.site = told_.site;
  start_changed_ = std::any_of(changes.begin(), changes.end(), [](const Change& change) {
    return std::holds_alternative<change::Memory>(change) ||
           std::holds_alternative<change::Generation>(change) ||
           std::holds_alternative<change::Switches>(change) || std::holds_alternative<change::Walk>(change);
  });
  const Changes named = among_looks(changes);
  scratch_.people.resize(told_.people.size());
  if (start_changed_) alter_start(named, scratch_);
  script = altered_script(told_, 0, named);
  scratch_.people.front().script = std::move(script.steps);
  add_helpers(named, scratch_);
  return scratch_;
}

void Retelling::take_up(Course& course, const std::optional<std::uint32_t>& first) const {
  if (first) {
    course.take_up(kept_[kept_for_[*first]], as_told_.sent);
  } else {
    course.begin();
  }
}

Prediction Retelling::predict(std::span<const Change> changes, const Followed& followed, double least) const {
  AlteredScript script;
  const Scenario& scenario = otherwise(changes, script);
  const Reach reach{report_.believed, changes};
  Course course{*this, scenario, followed};
  take_up(course, reach.first);
  PersonState last = course.world.people.front();
  course.run(most_events_, [&] {
    if (course.is_hopeless(least)) return true;
    if (course.world.people.front() == last) return false;
    last = course.world.people.front();
    const Kept* there = same_point_as_told(course, script, reach.last);
    if (there == nullptr) return false;
    const Rejoining rejoining{told_.site, course.world, there->world};
    return rejoining.sends_alike() && course.let_go(*there, rejoining);
  });
  events_predicted_ += events_of_a_run + course.events;
  finish(course.prediction);
  return std::move(course.prediction);
}

/// The copy of the run as told in which the installer is at the same point, when all changes are over; else
/// null.
const Retelling::Kept* Retelling::same_point_as_told(const Course& course, const AlteredScript& script,
                                                     std::uint32_t last_change) const {
  const PersonState& person = course.world.people.front();
  const auto origin = script.origin(person.step);
  const auto last_step = static_cast<std::uint32_t>(looks_before_.size() - 1);
  if (person.done != 0 || !origin || *origin <= looked_index(std::min(last_change, last_step)))
    return nullptr;
  const auto kept = std::partition_point(kept_.begin(), std::prev(kept_.end()), [&](const Kept& each) {
    return each.world.people.front().step <= *origin;
  });
  if (kept == kept_.begin()) return nullptr;
  const Kept& there = *std::prev(kept);
  const PersonState& told = there.world.people.front();
  const bool same = told.step == *origin && told.phase == person.phase && told.place == person.place;
  return same ? &there : nullptr;
}

World Retelling::end_of(std::span<const Change> changes) const {
  AlteredScript script;
  const Scenario& scenario = otherwise(changes, script);
  const Followed everybody{told_.site.modules.size(), true};
  Course course{*this, scenario, everybody};
  take_up(course, Reach{report_.believed, changes}.first);
  course.run(most_events_, [] { return false; });
  return std::move(course.world);
}

const World& Retelling::before_step(std::uint32_t step) const {
  return step < report_.believed.people.front().script.size() ? kept_[kept_for_[step]].world
                                                              : kept_.back().world;
}

double Retelling::log_likelihood(std::uint32_t index, Match match) const {
  return log_likelihoods_[index][match];
}

void Retelling::weigh(const Seen& seen) {
  const double misreport = seen.unsure     ? catalogue_.misreport_unsure
                           : seen.believed ? catalogue_.misreport * believed_weight
                                           : catalogue_.misreport;
  // What else could have been said: the other patterns, lit for dark, or some other brightness.
  const bool two_way =
      seen.what == "lit" || (seen.fact == Fact::load && (seen.what == "dark" || seen.what == as_it_was));
  static_assert(sim::count_of<Pattern> == 6, "a module can show five of them, so four are others");
  // Who was asked for a yes or no is wrong with just one other word.
  const double others = two_way || seen.watched ? 1 : 4;
  sim::ByEnum<Match, double> logs;
  logs[Match::yes] = std::log(1 - misreport);
  logs[Match::nearly] = std::log(nearly_weight * (1 - misreport));
  logs[Match::no] = std::log(misreport / others);
  log_likelihoods_.push_back(logs);
}

void Retelling::finish(Prediction& prediction) const {
  prediction.log_fit = 0;
  for (std::uint32_t i = 0; i < prediction.matches.size(); ++i) {
    prediction.log_fit += log_likelihood(i, prediction.matches[i]);
  }
  if (!report_.capture.empty()) prediction.log_fit += capture_fit(report_, prediction.sent);
}

}  // namespace drybus::model
