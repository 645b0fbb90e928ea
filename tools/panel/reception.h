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
#include "tools/panel/server.h"
#include "tools/panel/workshop.h"
#include "tools/words/languages.h"

namespace drybus::tools {

class Reception final : public FrontDesk {
 public:
  Reception(boost::asio::io_context& io, Task task, const ServerOptions& options);

  [[nodiscard]] RealTime now() const override;
  [[nodiscard]] bool has_room_for(const Newcomer& who) const override {
    return lines_.size() < most_viewers_ && workshop_.has_room_for(who);
  }
  /// A class speaks one language: the one that was asked for, else that of whoever opens the page first.
  [[nodiscard]] const PageFile* page_file(std::string_view path, std::string_view accepted) override;
  ViewerId welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who) override;
  void goodbye(ViewerId id, const ViewerLine* line) override;
  bool receive(ViewerId id, std::string_view text) override;
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id) const override {
    const model::Speaking speaking{words_};
    return workshop_.whole_state(id, now());
  }
  void close() override;

 private:
  void speak(std::string_view language);
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
  std::string language_;  ///< empty: not settled
  const model::Words* words_ = nullptr;
  PageFile words_file_{"words.json", words_for_page("en")};
};

}  // namespace drybus::tools
