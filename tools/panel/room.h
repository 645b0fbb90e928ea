// Who looks at the bench, and who of them holds the controls. Knows no clock; it is told what time it is.
#pragma once

#include <boost/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "tools/panel/pacer.h"
#include "tools/panel/refused.h"

namespace drybus::tools {

using ViewerId = std::uint32_t;

/// A holder who does nothing for so long after being asked loses the controls.
inline constexpr RealTime time_to_answer = std::chrono::seconds{30};

class Room {
 public:
  struct Viewer {
    ViewerId id = 0;
    std::string name;
  };

  /// The first to come holds the controls.
  ViewerId join();
  /// Who asked first gets what a holder leaves behind, or else who came first.
  void leave(ViewerId id);

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

  /// Passes the controls on when the time to answer is over.
  void at_real(RealTime real);
  /// When that is; nothing while nobody asks.
  [[nodiscard]] std::optional<RealTime> answer_due() const;

  /// Grows when anything is different.
  [[nodiscard]] std::uint64_t changes() const { return changes_; }

  /// As `you` gets to see it.
  [[nodiscard]] boost::json::object to_json(ViewerId you, RealTime real) const;

 private:
  void hand_to(std::optional<ViewerId> id);

  std::vector<Viewer> viewers_;   ///< in the order in which they came
  std::vector<ViewerId> asking_;  ///< likewise
  std::optional<ViewerId> holder_;
  RealTime asked_at_{};
  ViewerId next_id_ = 1;
  std::uint64_t changes_ = 0;
};

}  // namespace drybus::tools
