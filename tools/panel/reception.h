// Where viewers come in: holds their lines, passes what they say to the panel and the panel's letters to
// them, and wakes the panel when something is due.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <map>
#include <memory>

#include "tools/panel/front_desk.h"
#include "tools/panel/keeper.h"
#include "tools/panel/workshop.h"
#include "tools/panel/server.h"

namespace drybus::tools {

class Reception final : public FrontDesk {
 public:
  Reception(boost::asio::io_context& io, Task task, const ServerOptions& options);

  [[nodiscard]] RealTime now() const;
  [[nodiscard]] bool has_room_for(const Newcomer& who) const {
    return lines_.size() < most_viewers_ && workshop_.has_room_for(who);
  }

  /// From now on the line gets letters: its greeting first.
  ViewerId welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who);
  /// The line is no more; another one may have taken the viewer's seat.
  void goodbye(ViewerId id, const ViewerLine* line);
  /// Whether the text was understood.
  bool receive(ViewerId id, std::string_view text);
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id) const {
    return workshop_.whole_state(id, now());
  }
  void close() override;

 private:
  void deliver();
  void set_alarm();
  void wake();
  [[nodiscard]] RealTime shortest_turn() const;

  std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now();
  Workshop workshop_;
  Keeper keeper_;
  std::map<ViewerId, std::shared_ptr<ViewerLine>> lines_;
  std::size_t most_viewers_;
  boost::asio::steady_timer alarm_;
  RealTime last_turn_{};
  bool closed_ = false;
};

}  // namespace drybus::tools
