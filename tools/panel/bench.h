// The live bench: branches of one scenario, one of them chosen, and a clock that plays, stops, steps and goes
// back. No sockets and no clock of its own: it is told how late it is, and what somebody does.
//
// What cannot be done is thrown as Refused, and then nothing has changed.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tools/panel/branch.h"
#include "tools/panel/pacer.h"
#include "tools/panel/refused.h"
#include "tools/panel/save.h"
#include "tools/script/reader.h"

namespace drybus::tools {

using BranchId = std::uint32_t;

enum class BranchKind {
  free,           ///< what the holder of the controls does
  demonstration,  ///< the scenario's own script; it is never written to
};

/// A branch and what is known about it beside its run.
struct Course {
  BranchId id = 0;
  std::string name;
  BranchKind kind = BranchKind::free;
  std::optional<BranchId> parent;
  sim::Instant from{};
  std::unique_ptr<Branch> run;
  /// The press that nobody has let go of yet.
  std::optional<std::size_t> open_press;
};

/// A branch as it was kept, to go on with.
struct CourseToResume {
  BranchId id = 0;
  std::string name;
  BranchKind kind = BranchKind::free;
  std::optional<BranchId> parent;
  sim::Instant from{};
  sim::Instant now{};
  sim::Instant reached{};
  model::Scenario scenario;  ///< of a free one, every step with its hour
};

/// At which points a demonstration stops by itself.
struct TeachingPoints {
  bool notes = true;
  bool looks = false;
  bool findings = true;
};

struct TeachingPoint {
  enum class Kind { note, look, finding, end };
  Kind kind = Kind::note;
  std::string question;
  std::string answer;
  std::string remedy;          ///< of a finding
  std::string key;             ///< likewise
  std::optional<bool> passed;  ///< of a look
};

/// The demonstration has stopped by itself.
struct TeachingPause {
  sim::Instant at{};
  std::vector<TeachingPoint> points;
  bool answered = false;  ///< the answers are told
};

/// Names a finding for as long as it lasts: "setup-split@185.2@P1".
std::string finding_key(const model::Site& site, const model::Observation& observation);

class Bench {
 public:
  /// Stands at the start of a branch in which nobody has done anything yet.
  explicit Bench(LoadedScenario loaded);

  [[nodiscard]] const LoadedScenario& loaded() const { return loaded_; }
  [[nodiscard]] const std::vector<Course>& courses() const { return courses_; }
  [[nodiscard]] const Course& chosen() const { return courses_[chosen_]; }
  [[nodiscard]] const Branch& run() const { return *chosen().run; }
  [[nodiscard]] bool playing() const { return playing_; }
  /// How fast the clock goes now; faster than it was set while a demonstration hurries.
  [[nodiscard]] double speed() const { return playing_ ? pacer_.speed() : speed_; }
  [[nodiscard]] double speed_set() const { return speed_; }
  [[nodiscard]] bool hurries() const { return hurries_; }
  [[nodiscard]] const std::optional<TeachingPause>& pause_reached() const { return pause_; }
  /// The keys of the findings that the class is being asked for: nobody is told of them before the answer.
  [[nodiscard]] std::vector<std::string> findings_asked_for() const;
  /// Grows when the bench stands somewhere else than where time would have led it.
  [[nodiscard]] std::uint64_t jumps() const { return jumps_; }
  /// A setup's time-out that comes due next, as things stand.
  struct NextTimeOut {
    model::DeviceId device = model::no_device;
    sim::Instant at = sim::never;
  };
  [[nodiscard]] std::optional<NextTimeOut> next_time_out() const;

  // --- the clock ---

  /// It is now `real`; while it plays, the run catches up. Times never fall.
  void at_real(RealTime real);
  /// In how much real time something will happen by itself; nothing while it stands.
  [[nodiscard]] std::optional<RealTime> next_happening() const;
  void play();
  void pause();
  void set_speed(double speed);
  /// Whether a demonstration hurries over walks and waits, each in a few seconds; where a time-out comes it takes its time.
  void set_hurry(bool hurries);
  /// One event on.
  void step();
  /// To the next time-out.
  void jump();
  void seek(sim::Instant at);
  /// The demonstration goes no further than there; nothing: to its end.
  void hold_story_at(std::optional<sim::Instant> at) { story_end_ = at; }
  /// Tells the answers to what the demonstration has stopped for.
  void answer();

  // --- what the installer does ---

  void press(model::DeviceId device, model::Buttons buttons);
  void release();
  void press_for(model::DeviceId device, model::Buttons buttons, sim::Duration duration);
  void walk(model::PlaceId place);
  void set_switches(model::DeviceId plate, std::optional<std::uint8_t> site,
                    std::optional<std::uint8_t> zone);
  /// At one device, or (no_device) at all in the same place.
  void look(model::DeviceId device);
  void note(const std::string& text);
  /// Of one device, or (no_device) of the whole site.
  void set_power(model::DeviceId device, bool on);
  void break_something(const model::Fault& fault);
  /// Whether a finger is on a button that nobody has let go of.
  [[nodiscard]] bool holding() const;

  // --- branches ---

  BranchId branch(const std::string& name);
  void choose(BranchId id);
  void rename(BranchId id, const std::string& name);
  void remove(BranchId id);
  BranchId demonstrate(const TeachingPoints& points);

  /// Puts these in place of the branches that there are, each where it stood; the clock stands. REQUIRES: one of them is
  /// `stood_on`, which is chosen.
  void resume(std::vector<CourseToResume> courses, BranchId stood_on, double speed);

  /// The whole of a branch as a scenario of its own, which ends with what was found by then.
  [[nodiscard]] SavedScenario save(BranchId id);

  /// Puts another branch, or this one, at a moment and calls look(course); then all is as before.
  template <class Look>
  void view(BranchId id, sim::Instant at, Look&& look) {
    const Course& course = this->course(id);
    const WayBack way_back{*course.run};
    course.run->seek(std::min(at, course.run->reached()));
    look(course);
  }

  [[nodiscard]] const Course& course(BranchId id) const { return courses_[index_of(id)]; }

  static constexpr std::size_t most_branches = 12;
  static constexpr std::size_t most_steps = 20'000;
  static constexpr std::size_t most_waiting = 20;  ///< steps that the installer has not come to
  static constexpr sim::Duration longest = model::default_run_bound;

 private:
  /// Puts a run back to where it stood, whatever came in between.
  class WayBack {
   public:
    explicit WayBack(Branch& run) : run_(run), at_(run.now()) {}
    WayBack(const WayBack&) = delete;
    WayBack& operator=(const WayBack&) = delete;
    ~WayBack() { run_.seek(at_); }

   private:
    Branch& run_;
    sim::Instant at_;
  };

  [[nodiscard]] std::size_t index_of(BranchId id) const;
  Course& add_course(model::Scenario scenario, std::string name, BranchKind kind);
  Course& fork(const std::string& name);
  [[nodiscard]] bool has_to_fork() const;
  void fork_if_needed();
  void act(model::Step step);
  [[nodiscard]] bool joins_open_press(model::DeviceId device) const;
  void join_open_press(model::Buttons buttons);
  [[nodiscard]] model::Step let_go(const Course& course, bool clock_stands) const;
  void go_to(sim::Instant target, std::size_t most_events);
  bool demonstrate_to(sim::Instant target, std::size_t most_events);
  void look_for_teaching_points(std::size_t entries_before);
  [[nodiscard]] bool is_stop(const model::Step& step) const;
  [[nodiscard]] std::optional<std::size_t> hold_from(std::size_t step) const;
  bool take_up_script();
  void run_to(sim::Instant at);
  void stand_before_answer(sim::Instant at);
  void ask_again();
  void anchor();
  void set_pace();
  [[nodiscard]] std::optional<sim::Instant> idle_until() const;
  void refuse_when_full() const;
  void refuse_beyond_story(sim::Instant at) const;
  [[nodiscard]] sim::Instant furthest() const;
  void start_anew();
  [[nodiscard]] model::StepKind kind_of_push(const model::Step& step, sim::Duration lasted) const;

  LoadedScenario loaded_;
  model::Scenario pinned_;  ///< as loaded, but nobody pauses after an action and every step has its hour
  std::vector<Course> courses_;
  std::size_t chosen_ = 0;
  BranchId next_id_ = 1;
  bool playing_ = false;
  double speed_ = 1.0;
  Pacer pacer_;
  RealTime real_{};
  std::uint64_t jumps_ = 0;
  TeachingPoints points_;
  std::vector<std::string> known_findings_;  ///< of the demonstration, so that each is pointed out once
  std::optional<TeachingPause> pause_;
  std::optional<sim::Instant> story_end_;
  bool hurries_ = false;
  std::optional<sim::Instant> hurry_to_;  ///< where the stretch ends that the clock hurries over
};

}  // namespace drybus::tools
