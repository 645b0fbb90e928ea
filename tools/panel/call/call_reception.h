// Where those come in who look at a call: holds their lines, passes what they say to the desk, what is to be thought
// about to the thinker beside it, and the letters to them all.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "tools/panel/bounds.h"
#include "tools/panel/call/call_desk.h"
#include "tools/panel/front_desk.h"
#include "tools/words/languages.h"

namespace drybus::tools {

class CallReception final : public FrontDesk {
 public:
  /// `language`: that of the call; empty: as it is written.
  CallReception(boost::asio::io_context& io, CallFile file, model::Catalogue catalogue, const Bounds& bounds,
                Log log, std::string_view language = {});

  [[nodiscard]] RealTime now() const override;
  [[nodiscard]] bool has_room_for(const Newcomer&) const override { return lines_.size() < most_viewers_; }
  [[nodiscard]] const PageFile* page_file(std::string_view path, std::string_view accepted) override;
  ViewerId welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who) override;
  void goodbye(ViewerId id, const ViewerLine* line) override;
  bool receive(ViewerId id, std::string_view text) override;
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id) const override;
  void close() override;

 private:
  void speak(std::string_view language);
  void deliver();
  void set_alarm();

  std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now();
  CallDesk desk_;
  std::map<ViewerId, std::shared_ptr<ViewerLine>> lines_;
  std::size_t most_viewers_;
  boost::asio::steady_timer alarm_;
  bool closed_ = false;
  const model::Words* words_ = nullptr;
  PageFile words_file_{"words.json", words_for_page("en")};
  Thinker thinker_;  ///< the first to go: it speaks to the others
};

}  // namespace drybus::tools
