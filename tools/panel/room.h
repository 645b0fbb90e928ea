// Who looks at the bench, and who of them holds the controls. Knows no clock; it is told what time it is.
#pragma once

#include <boost/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "tools/panel/curtain.h"
#include "tools/panel/pacer.h"
#include "tools/panel/refused.h"

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
    std::optional<RealTime> away_since = {};  ///< their line was lost, or the page is being loaded anew
  };

  /// The first to come holds the controls.
  ViewerId join(std::string key);
  /// Who has the key to a seat takes it again, with all that goes with it; from now on it has a new key.
  std::optional<ViewerId> come_back(std::string_view key, const std::string& new_key);
  /// The seat is kept for a while.
  void leave(ViewerId id, RealTime real);

  [[nodiscard]] bool holds(ViewerId id) const { return holder_ == id; }
  [[nodiscard]] std::optional<ViewerId> holder() const { return holder_; }
  [[nodiscard]] const std::vector<Viewer>& viewers() const { return viewers_; }
  [[nodiscard]] const Viewer& viewer(ViewerId id) const;

  void ask(ViewerId id, RealTime real);
  /// Throws Refused unless `from` holds them and `to` is there.
  void give(ViewerId from, ViewerId to);
  /// The holder goes on working: whoever asked has to ask again.
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
