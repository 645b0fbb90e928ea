// Who looks at the bench, and who of them holds the controls. Knows no clock; it is told what time it is.
//
// There are three kinds of room, and what one may do in it that one may not do in another stands in room_kinds.cpp alone.
#pragma once

#include <boost/json.hpp>
#include <memory>
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

enum class RoomKind : std::uint8_t {
  alike,  ///< whoever asks gets the controls in the end
  led,    ///< the controls are the trainers', who lend them
  own,    ///< a pupil's own bench; a trainer who looks in may take the controls for a while
};

class Room {
 public:
  struct Viewer {
    ViewerId id = 0;
    std::string name;
    std::string key;  ///< by which they come back to their seat
    Role role = Role::trainer;
    std::optional<RealTime> away_since = {};  ///< their line was lost, or the page is being loaded anew
  };

  static std::unique_ptr<Room> make(RoomKind kind);
  virtual ~Room() = default;
  Room(const Room&) = delete;
  Room& operator=(const Room&) = delete;

  /// Somebody new; `id` where somebody else gives them out.
  ViewerId join(std::string key, Role role = Role::trainer, std::optional<ViewerId> id = {});
  /// Somebody who has sat elsewhere until now, as they sat there.
  void take_in(Viewer viewer);
  /// They sit elsewhere from now on, and nobody waits for them here.
  Viewer hand_over(ViewerId id);
  /// As people sat when the program ended, all away since then; each may come back.
  void resume(std::vector<Viewer> seats, std::optional<ViewerId> holder, Curtain curtain, RealTime real);
  /// Who has the key to a seat takes it again, with all that goes with it; from now on it has a new key. Nobody comes back
  /// as somebody else.
  std::optional<ViewerId> come_back(std::string_view key, Role role, const std::string& new_key);
  /// The seat is kept for a while.
  void leave(ViewerId id, RealTime real);

  [[nodiscard]] virtual RoomKind kind() const = 0;
  /// Whether the hands on site are theirs.
  [[nodiscard]] bool holds(ViewerId id) const { return holder_ == id; }
  /// Whether the clock, the branches and the curtain are theirs.
  [[nodiscard]] virtual bool leads(ViewerId id) const = 0;
  /// Says so to somebody who does not hold the controls.
  [[nodiscard]] virtual std::string why_no_hands(ViewerId id) const = 0;
  /// Says so to somebody who does not lead, about `what`, such as "The curtain".
  [[nodiscard]] virtual std::string why_not_leading(std::string_view what) const = 0;
  [[nodiscard]] std::optional<ViewerId> holder() const { return holder_; }
  [[nodiscard]] const std::vector<Viewer>& viewers() const { return viewers_; }
  [[nodiscard]] const Viewer& viewer(ViewerId id) const;
  [[nodiscard]] const Viewer* find(ViewerId id) const;
  [[nodiscard]] bool is_there(ViewerId id) const;

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

 protected:
  Room() = default;

  // --- what differs from kind to kind ---

  /// How those are called who have said no name.
  [[nodiscard]] virtual std::string_view title_of(Role role) const { return to_string(role); }
  /// Whether who comes has the controls at once, now that nobody has them or `holder` does.
  [[nodiscard]] virtual bool takes_controls_on_coming(const Viewer& viewer, const Viewer* holder) const = 0;
  /// Nothing: they may ask.
  [[nodiscard]] virtual std::optional<std::string> why_no_asking(const Viewer& viewer) const = 0;
  [[nodiscard]] virtual bool gets_controls_at_once(const Viewer& viewer) const = 0;
  /// Nothing: they may give them to somebody.
  [[nodiscard]] virtual std::optional<std::string> why_no_giving(ViewerId from) const = 0;
  /// To whom the controls go back.
  [[nodiscard]] virtual std::optional<ViewerId> whose_controls() const = 0;
  /// Who has the controls after the holder has left.
  [[nodiscard]] virtual std::optional<ViewerId> next_holder() const = 0;
  /// Whether their seat is kept however long they are away.
  [[nodiscard]] virtual bool is_kept(const Viewer& viewer) const = 0;
  /// Whether a holder who does not answer loses the controls.
  [[nodiscard]] virtual bool has_to_answer() const { return false; }

  [[nodiscard]] bool is_trainer(ViewerId id) const;
  [[nodiscard]] const std::vector<ViewerId>& asking() const { return asking_; }

 private:
  void hand_to(std::optional<ViewerId> id);
  void give_up_seat(ViewerId id);
  void keep_few_seats();

  std::vector<Viewer> viewers_;   ///< in the order in which they came
  std::vector<ViewerId> asking_;  ///< likewise
  std::optional<ViewerId> holder_;
  Curtain curtain_ = Curtain::open;
  RealTime asked_at_{};
  ViewerId next_id_ = 1;
  std::uint64_t changes_ = 0;
};

}  // namespace drybus::tools
