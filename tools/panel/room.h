// Who looks at the bench, and who of them holds the controls. Knows no clock; it is told what time it is.
#pragma once

#include <boost/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "tools/panel/curtain.h"
#include "tools/panel/pacer.h"
#include "tools/panel/refused.h"
#include "tools/panel/role.h"

namespace drybus::tools {

using ViewerId = std::uint32_t;

/// Who comes back within this time finds their seat as they left it.
inline constexpr RealTime time_to_come_back = std::chrono::seconds{10};
/// So many seats of those who are away are kept.
inline constexpr std::size_t most_empty_seats = 32;

/// A holder who does nothing for so long after being asked loses the controls.
inline constexpr RealTime time_to_answer = std::chrono::seconds{30};

class Room {
 public:
  struct Viewer {
    ViewerId id = 0;
    std::string name;
    std::string key;                          ///< by which they come back to their seat
    Role role = Role::trainer;
    std::optional<RealTime> away_since = {};  ///< their line was lost, or the page is being loaded anew
  };

  /// `led`: the controls are the trainers', who lend them. Else all are alike, and whoever asks gets them in the end.
  explicit Room(bool led = false) : led_(led) {}

  /// The first to come holds the controls; where somebody leads, the first trainer.
  ViewerId join(std::string key, Role role = Role::trainer);
  /// As people sat when the program ended, all away since then; each may come back.
  void resume(std::vector<Viewer> seats, std::optional<ViewerId> holder, Curtain curtain, RealTime real);
  /// Who has the key to a seat takes it again, with all that goes with it; from now on it has a new key. Nobody comes back
  /// as somebody else.
  std::optional<ViewerId> come_back(std::string_view key, Role role, const std::string& new_key);
  /// The seat is kept for a while.
  void leave(ViewerId id, RealTime real);

  [[nodiscard]] bool led() const { return led_; }
  /// Whether the hands on site are theirs.
  [[nodiscard]] bool holds(ViewerId id) const { return holder_ == id; }
  /// Whether the clock, the branches and the curtain are theirs.
  [[nodiscard]] bool leads(ViewerId id) const { return led_ ? is_trainer(id) : holds(id); }
  /// Says so to somebody who does not hold the controls.
  [[nodiscard]] std::string why_no_hands(ViewerId id) const;
  [[nodiscard]] std::optional<ViewerId> holder() const { return holder_; }
  [[nodiscard]] const std::vector<Viewer>& viewers() const { return viewers_; }
  [[nodiscard]] const Viewer& viewer(ViewerId id) const;

  void ask(ViewerId id, RealTime real);
  /// Throws Refused unless `from` holds them, or leads, and `to` is there and may have them.
  void give(ViewerId from, ViewerId to);
  /// Whoever borrowed them gives them back. Throws Refused where there is nobody to give them to.
  void give_back(ViewerId from);
  /// Not now: whoever asked has to ask again. Said by who leads, or by the holder, who can also just go on working.
  void keep(ViewerId id);
  void rename(ViewerId id, const std::string& name);

  /// The curtain before what nobody on site can see.
  [[nodiscard]] Curtain curtain() const { return curtain_; }
  void move_curtain(Curtain curtain) { curtain_ = curtain; }

  /// Passes the controls on when the time to answer is over, and gives up the seats of those who stay away.
  /// Who asked first gets what a holder leaves behind, or else who came first.
  void at_real(RealTime real);
  /// When the time to answer is over; nothing while nobody asks.
  [[nodiscard]] std::optional<RealTime> answer_due() const;
  /// When at_real has something to do.
  [[nodiscard]] std::optional<RealTime> next_due() const;

  /// Grows when anything is different.
  [[nodiscard]] std::uint64_t changes() const { return changes_; }

  /// As `you` gets to see it.
  [[nodiscard]] boost::json::object to_json(ViewerId you, RealTime real) const;

 private:
  void hand_to(std::optional<ViewerId> id);
  void hand_on();
  void give_up_seat(ViewerId id);
  [[nodiscard]] bool is_trainer(ViewerId id) const;
  /// A trainer who is here, or else one whose seat is kept.
  [[nodiscard]] std::optional<ViewerId> a_trainer() const;
  [[nodiscard]] bool is_kept(const Viewer& viewer) const;
  void keep_few_seats();

  bool led_;
  std::vector<Viewer> viewers_;   ///< in the order in which they came
  std::vector<ViewerId> asking_;  ///< likewise
  std::optional<ViewerId> holder_;
  Curtain curtain_ = Curtain::open;
  RealTime asked_at_{};
  ViewerId next_id_ = 1;
  std::uint64_t changes_ = 0;
};

}  // namespace drybus::tools
