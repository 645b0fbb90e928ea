// Drives a world: takes the earliest event and carries it out, with everything recorded.
#pragma once

#include <string>
#include <vector>

#include "model/iec62386/trace.h"
#include "model/iec62386/watch.h"
#include "model/iec62386/world.h"
#include "model/protocol/protocol.h"

namespace drybus::iec62386 {

class Simulation {
 public:
  /// All of them must outlive it.
  Simulation(const Scenario& scenario, World& world, sim::Record& record,
             const protocol::RunOptions& options = {});

  /// Carries out the next event; false when nothing is pending any more.
  bool step();
  /// Whether every script is at its end and no controller is at work.
  [[nodiscard]] bool scripts_over() const;

  [[nodiscard]] Watch& watch() { return watch_; }
  [[nodiscard]] const std::vector<protocol::CheckOutcome>& checks() const { return checks_; }
  [[nodiscard]] std::vector<protocol::Carried> take_carried() { return std::move(carried_); }

 private:
  enum class Kind : std::uint16_t { person, try_send, frames_over, answers_over, silence, gear_timer, named };

  // --- events ---
  void begin();
  void gear_timer(Index gear, Timer timer, sim::EntryId cause);
  sim::EntryId add(What what, std::uint32_t who, sim::EntryId cause, std::uint32_t a = 0, std::uint64_t b = 0,
                   sim::EntryId because = sim::no_entry);
  sim::EventQueue::Handle push(sim::Duration after, Kind kind, std::uint32_t who, sim::EntryId cause,
                               std::uint16_t arg = 0);

  // --- gear ---
  Effects react_gear(Index gear, const Stimulus& stimulus, sim::EntryId cause, Index sender);
  void carry_out(Index gear, const Effects& effects, sim::EntryId cause, Level before);
  sim::EntryId record_deeds(Index gear, const Effects& effects, sim::EntryId cause, Level before);
  void draw_random(Index gear);

  // --- the line (line.cpp) ---
  void begin_work(Index controller);
  void go_on(Index controller);
  void schedule_send(Index controller, sim::Duration extra);
  void try_send(Index controller);
  void begin_sending(Index controller);
  void collide(Index controller, Sending& first);
  void frames_over(Index group);
  void deliver(Index group, const Sending& sending);
  void answers_over(Index group);
  void silence(Index controller);
  void answer_heard(Index controller, const sim::Heard& heard, sim::EntryId entry);
  void tell_notes(Index controller, const std::vector<Controller::Note>& notes);
  void job_over(Index controller, std::uint64_t value);
  void update_line(Index line, sim::EntryId cause);
  void update_all_lines(sim::EntryId cause);
  [[nodiscard]] bool is_low(Index group) const;
  [[nodiscard]] std::uint32_t load_ua(Index group) const;
  [[nodiscard]] std::uint32_t supply_ma(Index group) const;
  [[nodiscard]] bool reaches(Index controller, Index gear, bool back) const;
  [[nodiscard]] bool works(Index controller) const;
  sim::Duration draw(sim::Stream& stream, const Window& window);

  // --- people (people.cpp) ---
  void person(std::uint32_t who);
  /// The time that it takes, or none: it waits for a controller.
  std::optional<sim::Duration> do_step(std::uint32_t who, const Step& step);
  bool walk_to(std::uint32_t who, Index place);
  [[nodiscard]] Index place_of(const Step& step) const;
  void power(const Step& step, sim::EntryId cause);
  void fault(const Step& step, sim::EntryId cause);
  void swap(const Step& step, sim::EntryId cause);
  void plug(Index controller, bool on, sim::EntryId cause);
  void look(std::uint32_t who, const Step& step, sim::EntryId cause);
  void name_lamp(std::uint32_t who, sim::EntryId cause);
  void begin_naming(Index controller);

  const Scenario& scenario_;
  const Site& site_;
  World& world_;
  sim::Record& record_;
  Watch watch_;
  bool keeps_waves_;
  double spread_;
  std::vector<protocol::CheckOutcome> checks_;
  std::vector<protocol::Carried> carried_;  ///< by line
};

/// A fact in words, as checks compare it. REQUIRES: not findings.
std::string fact_value(const Scenario& scenario, const World& world, const Check& check);
/// "M1.short", "M2.scene 3", "findings"
std::string check_name(const Site& site, const Check& check);
/// The key of a fact in scripts: "lamp", "short", "power on level".
std::string_view to_string(Fact fact);

}  // namespace drybus::iec62386
