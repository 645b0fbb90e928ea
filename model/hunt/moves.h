// What a hunt lets an installer do, and what it lets go wrong: each a step that `run` can replay.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"
#include "sim/enumeration.h"
#include "sim/search_tree.h"

namespace drybus::model {

/// Kinds of moves; each can be allowed or not, and allowed so many times.
BOOST_DEFINE_FIXED_ENUM_CLASS(
    MoveKind, std::uint8_t,
    presses,       ///< each button of our plates, each module's local button
    holds,         ///< the gesture that enters setup on a plate, the hold that does on a module
    waits,         ///< until just before or just after a time-out of setup, or blips falling asleep
    walks,         ///< to another place, with nothing done there yet
    long_presses,  ///< buttons that do something else in normal mode when held
    looks,         ///< at an indicator: what is seen there is believed from then on
    slips,         ///< a gesture or hold that is let go too soon
    loss,          ///< a module misses one telegram
    power,         ///< a device, or all, loses power and gets it back; a module loses it while it writes
    switches,      ///< one switch of a plate is set the other way (one step further, on a rotary one)
    stuck          ///< a button stays down
)

/// "long-presses"
std::string_view to_string(MoveKind kind);
std::optional<MoveKind> parse_move_kind(std::string_view text);

/// How often moves of each kind may be made; 0: not at all.
struct MoveBudget {
  static constexpr std::uint8_t unlimited = 255;
  /// What people do at will; errors and faults not at all.
  static constexpr sim::ByEnum<MoveKind, std::uint8_t> usual() {
    sim::ByEnum<MoveKind, std::uint8_t> of;
    for (const MoveKind kind : {MoveKind::presses, MoveKind::holds, MoveKind::waits, MoveKind::walks}) {
      of[kind] = unlimited;
    }
    return of;
  }
  sim::ByEnum<MoveKind, std::uint8_t> of = usual();

  std::uint8_t& operator[](MoveKind kind) { return of[kind]; }
  std::uint8_t operator[](MoveKind kind) const { return of[kind]; }
  friend bool operator==(const MoveBudget&, const MoveBudget&) = default;
};

/// What "once" means for a kind when it is allowed without a number: errors and faults once, all else at will.
std::uint8_t usual_budget(MoveKind kind);

/// How many moves of each kind were made.
using MovesMade = sim::ByEnum<MoveKind, std::uint8_t>;

struct Move {
  MoveKind kind = MoveKind::presses;
  bool free = false;  ///< is not counted against the budget: power coming back
  Step step;
  std::uint8_t switch_bit = 0;  ///< switches: which one, site switches first
  std::optional<DeviceId> cut;  ///< a module that loses power while the step goes on
};

/// Waits have no place in the table of moves: there is one for each thing that is waited for and each side of it.
struct Wait {
  sim::Action action = 0;
  sim::Duration duration{};
};

/// The shortest first, each duration once.
void put_in_order(std::vector<Wait>& waits);

/// How long until each device that goes through a main loop does something by itself: to be waited for, like a timer.
void add_changes_to_come(const Scenario& scenario, const World& world, std::vector<sim::Duration>& deadlines);

/// All moves of a site. `scenario.checks` must hold a look at each device's indicator from `first_look` on.
class Moves {
 public:
  Moves(const Scenario& scenario, const MoveBudget& budget, std::uint32_t first_look);

  [[nodiscard]] const std::vector<Move>& table() const { return table_; }
  [[nodiscard]] const MoveBudget& budget() const { return budget_; }

  /// Whether a move makes a difference now and is within its budget.
  [[nodiscard]] bool possible(const Move& move, const World& world, const MovesMade& made) const;

  /// The step that makes the move now. `step` is the move's own, from the table or a copy of it.
  void fill_in(const Move& move, const World& world, Step& step) const;

  /// The waits that are possible now, the shortest first, each duration once. `deadlines` are to be waited for, too.
  void add_waits(const World& world, const MovesMade& made, std::span<const sim::Duration> deadlines,
                 std::vector<Wait>& waits) const;
  /// How many actions stand for waits for what a world's own timers tell; those for deadlines come after them.
  [[nodiscard]] std::size_t wait_actions() const;
  [[nodiscard]] bool is_wait(sim::Action action) const { return action >= table_.size(); }

  /// Counts a move (null: a wait) that is made, where its kind is limited.
  void count(const Move* move, MovesMade& made) const {
    const MoveKind kind = move == nullptr ? MoveKind::waits : move->kind;
    const bool free = move != nullptr && move->free;
    if (!free && budget_[kind] != MoveBudget::unlimited) ++made[kind];
  }

  /// Appends what of the moves made tells states apart: how often, of the kinds that are limited.
  void add_to_key(const MovesMade& made, std::vector<std::byte>& key) const {
    for (const MoveKind kind : sim::all_of<MoveKind>()) {
      const std::uint8_t limit = budget_[kind];
      if (limit != 0 && limit != MoveBudget::unlimited) key.push_back(static_cast<std::byte>(made[kind]));
    }
  }

  /// When the power goes, for a move with a cut that begins now: in the middle of the write.
  [[nodiscard]] sim::Instant time_of_cut(const Move& move, const World& world) const;

 private:
  void add(Move move);
  void add_plate(DeviceId plate);
  void add_module(DeviceId module);
  void add_faults(DeviceId device);
  void add_switches(DeviceId plate);
  void add_cuts(DeviceId plate);
  /// From the press to the middle of the write.
  [[nodiscard]] sim::Duration cut_after(DeviceId module) const;

  const Scenario& scenario_;
  MoveBudget budget_;
  std::uint32_t first_look_;
  std::vector<Move> table_;
  sim::Duration on_the_bus_{};  ///< a telegram's time
};

}  // namespace drybus::model
