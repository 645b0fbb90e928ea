#include "model/why/counterfactual.h"

#include <algorithm>

#include "model/run/run.h"
#include "model/world/facts.h"
#include "model/world/installer.h"
#include "model/world/partners.h"

namespace drybus::model {

namespace {

/// More copies than this are thinned out.
constexpr std::size_t most_kept = 512;

Course course_at_start(const Scenario& scenario, std::uint64_t seed) {
  return {initial_world(scenario, seed), {}, FindingWatch{scenario}};
}

bool comes_before(const World& world, const StepRef& ref) {
  const PersonState& person = world.people[ref.person];
  return person.done == 0 && (person.step < ref.step || (person.step == ref.step && person.phase == 0));
}

/// Whether a change can still be made to all of what it is about.
struct StillAhead {
  const World& world;

  bool operator()(const change::Skip& each) const { return comes_before(world, each.step); }
  bool operator()(const change::Leave& each) const { return comes_before(world, each.step); }
  bool operator()(const change::Last& each) const { return comes_before(world, each.step); }
  bool operator()(const change::Insert& each) const { return comes_before(world, each.before); }
  bool operator()(const change::Walk&) const { return false; }
  bool operator()(const change::Meanwhile& each) const {
    return world.now < each.steps.front().at.value_or(sim::start_of_run);
  }
  bool operator()(const change::Memory&) const { return false; }
  bool operator()(const change::Generation&) const { return false; }
  bool operator()(const change::Switches&) const { return false; }
  bool operator()(const change::NoExpiry& each) const { return world.now < each.at; }
  bool operator()(const change::Arrive& each) const { return world.now < each.at; }
  bool operator()(const change::InSetup& each) const { return world.now < each.at; }
};

/// Carries a course on to a moment or to the end of the scripts, with what happens otherwise.
class Otherwise {
 public:
  /// `watched`: findings will be asked for.
  Otherwise(const Scenario& scenario, Course& course, std::span<const Change> changes, std::size_t people,
            bool watched, const Budget& budget)
      : scenario_(scenario),
        course_(course),
        changes_(changes.begin(), changes.end()),
        people_(people),
        watched_(watched),
        simulation_(scenario, course.world, &course.record),
        driver_(simulation_, budget) {}

  template <class BeforeEvent>
  void run_until(sim::Instant until, BeforeEvent before_event) {
    // Nothing that comes before an event is done for one that is not due any more.
    const auto is_over = [&] {
      if (scripts_done() || course_.world.queue.empty() || course_.world.queue.next_at() > until) return true;
      before_event();
      put_in_setup();
      drop_timers();
      known_ = course_.record.size();
      return course_.world.queue.empty();
    };
    driver_.go_on(is_over, [this] {
      bring_what_was_lost(known_);
      observe();
    });
    if (!scripts_done() && until < sim::never) course_.world.now = std::max(course_.world.now, until);
  }

  void begin() {
    simulation_.begin();
    observe();
  }

  [[nodiscard]] bool scripts_done() const {
    const auto& people = course_.world.people;
    return std::all_of(people.begin(), people.begin() + static_cast<std::ptrdiff_t>(people_),
                       [](const PersonState& person) { return person.done != 0; });
  }

 private:
  void observe() {
    if (watched_) course_.watch.observe(scenario_, course_.world, course_.record);
  }

  void put_in_setup() {
    std::erase_if(changes_, [&](const Change& change) {
      const auto* setup = std::get_if<change::InSetup>(&change);
      if (setup == nullptr || course_.world.queue.next_at() < setup->at) return false;
      put_in_setup(*setup);
      return true;
    });
  }

  void put_in_setup(const change::InSetup& setup) {
    World& world = course_.world;
    const auto& logic = scenario_.site.logic;
    if (logic && logic->bytes_per_device(scenario_.site.is_plate(setup.device)) != 0)
      return;  // nobody knows a firmware's mind
    DeviceState& device = world.devices[setup.device];
    device.mode = Mode::setup;
    device.was_in_setup = 1;
    if (scenario_.site.is_plate(setup.device)) {
      world.plates[setup.device].mode = Mode::setup;
      world.plates[setup.device].channel = setup.channel;
    } else {
      world.modules[scenario_.site.module_index(setup.device)].mode = Mode::setup;
    }
    setup_began(scenario_.site, world, setup.device);
    simulation_.note(What::mode, setup.device, static_cast<std::uint32_t>(Mode::setup),
                     static_cast<std::uint64_t>(ModeReason::gesture));
  }

  void drop_timers() {
    std::erase_if(changes_, [&](const Change& change) {
      const auto* dropped = std::get_if<change::NoExpiry>(&change);
      if (dropped == nullptr || course_.world.queue.next_at() < dropped->at) return false;
      sim::EventQueue::Handle& handle =
          course_.world.devices[dropped->device].timers[static_cast<std::size_t>(dropped->timer)];
      if (handle != sim::EventQueue::none && course_.world.queue.due(handle) == dropped->at) {
        course_.world.queue.cancel(handle);
        handle = sim::EventQueue::none;
      }
      return true;
    });
  }

  void bring_what_was_lost(std::size_t known) {
    for (std::size_t id = known + 1; id <= course_.record.size(); ++id) {
      const sim::Entry entry = course_.record[static_cast<sim::EntryId>(id)];
      if (what(entry) != What::lost) continue;
      const auto sender = lost_sender(entry);
      const bool brought = std::any_of(changes_.begin(), changes_.end(), [&](const Change& change) {
        const auto* arrive = std::get_if<change::Arrive>(&change);
        return arrive && arrive->receiver == entry.who && arrive->sender == sender && arrive->at == entry.at;
      });
      if (brought) simulation_.hear(entry.who, sender, unpack(entry.b), static_cast<sim::EntryId>(id));
    }
  }

  const Scenario& scenario_;
  Course& course_;
  Changes changes_;
  std::size_t people_;
  bool watched_;
  Simulation simulation_;
  Driver driver_;
  std::size_t known_ = 0;  ///< entries before the event
};

/// Somebody who joins a run that is already under way.
void join(std::size_t first, const Scenario& scenario, Course& course) {
  for (std::size_t i = first; i < scenario.people.size(); ++i) {
    course.world.people.push_back({scenario.people[i].place, 0, 0, 0});
    course.world.queue.push(course.world.now, {static_cast<std::uint16_t>(Happening::person), 0,
                                               static_cast<std::uint32_t>(i), sim::no_entry});
  }
}

sim::Instant moment_of(const WhyQuestion& question, const Altered& altered) {
  if (question.finding) return sim::never;
  return question.at ? altered.moment(*question.at) : sim::never;
}

}  // namespace

Counterfactual::Counterfactual(const Scenario& scenario, std::optional<std::uint64_t> seed,
                               const Budget& budget)
    : scenario_(scenario),
      seed_(seed.value_or(scenario.seed)),
      budget_(budget),
      actual_(course_at_start(scenario, seed_)) {
  Otherwise driver{scenario, actual_, {}, scenario.people.size(), true, budget_};
  driver.begin();
  driver.run_until(sim::start_of_run + default_run_bound, [&] { keep(actual_); });
  unfinished_ = !driver.scripts_done();
}

void Counterfactual::keep(const Course& course) {
  if (chances_++ % (8 * spacing_) != 0) return;
  kept_.push_back({course.world, course.watch, course.record.size()});
  if (kept_.size() < most_kept) return;
  std::size_t even = 0;
  std::erase_if(kept_, [&](const Kept&) { return even++ % 2 != 0; });
  spacing_ *= 2;
}

const Counterfactual::Kept* Counterfactual::last_before(std::span<const Change> changes,
                                                        sim::Instant moment) const {
  const auto suits = [&](const Kept& kept) {
    return kept.world.now <= moment && std::all_of(changes.begin(), changes.end(), [&](const Change& change) {
             return std::visit(StillAhead{kept.world}, change);
           });
  };
  // Once too late for a change, always too late.
  const auto end = std::partition_point(kept_.begin(), kept_.end(), suits);
  return end == kept_.begin() ? nullptr : &*std::prev(end);
}

Course Counterfactual::fork(const Altered& altered, std::span<const Change> changes, sim::Instant moment,
                            bool watched) const {
  const Scenario& scenario = altered.scenario();
  if (const Kept* kept = last_before(changes, moment)) {
    Course course{kept->world, {}, kept->watch};
    for (std::size_t i = 1; i <= kept->entries; ++i)
      course.record.add(actual_.record[static_cast<sim::EntryId>(i)]);
    join(scenario_.people.size(), scenario, course);
    return course;
  }
  Course course = course_at_start(scenario, seed_);
  Otherwise{scenario, course, {}, scenario.people.size(), watched, budget_}.begin();
  return course;
}

Course Counterfactual::run(std::span<const Change> changes, const WhyQuestion& question) const {
  ++runs_;
  const Altered altered{scenario_, changes};
  const sim::Instant moment = moment_of(question, altered);
  const bool watched = question.finding.has_value();
  Course course = fork(altered, changes, moment, watched);
  Otherwise{altered.scenario(), course, changes, scenario_.people.size(), watched, budget_}.run_until(moment,
                                                                                                      [] {});
  return course;
}

std::string Counterfactual::answer(std::span<const Change> changes, const WhyQuestion& question) const {
  const Altered altered{scenario_, changes};
  const Course course = run(changes, question);
  return answer_of(altered.scenario(), course, question, &altered);
}

bool is_made_together(FindingId id) {
  return id == FindingId::two_plates_in_setup || id == FindingId::shared_address;
}

bool is_asked_about(const WhyQuestion& question, const Observation& seen) {
  if (seen.id != *question.finding) return false;
  if (question.among.empty()) return seen.devices.front() == question.device;
  return std::any_of(seen.devices.begin(), seen.devices.end(), [&](DeviceId device) {
    return std::find(question.among.begin(), question.among.end(), device) != question.among.end();
  });
}

std::string answer_of(const Scenario& scenario, const Course& course, const WhyQuestion& question,
                      const Altered* altered) {
  if (!question.finding) return fact_text(scenario, course.world, question.device, question.fact);
  const auto moment = [&](sim::Instant at) { return altered == nullptr ? at : altered->moment(at); };
  const sim::Instant from = moment(question.from) - finding_slack;
  const sim::Instant until = question.until ? moment(*question.until) + finding_slack : sim::never;
  for (const Observation& each : course.watch.observations(scenario, course.world)) {
    if (!is_asked_about(question, each)) continue;
    if (each.at <= until && each.until.value_or(sim::never) >= from) return "yes";
  }
  return "no";
}

}  // namespace drybus::model
