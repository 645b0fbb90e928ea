// A call on a page without its sockets: whoever writes it says something, the file is brought up to date at once, and
// letters go out to all who look on. What is found out about it comes in from elsewhere, when it is known.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/words/words.h"
#include "tools/call/call_file.h"
#include "tools/call/reply.h"
#include "tools/call/told_text.h"
#include "tools/log/log.h"
#include "tools/panel/call/thinker.h"
#include "tools/panel/panel.h"
#include "tools/panel/request.h"

namespace drybus::tools {

class CallDesk {
 public:
  explicit CallDesk(CallFile file, Log log = {});

  /// Somebody comes: they get `hello`, `site` and `call`. Onlookers write nothing.
  ViewerId join(const Newcomer& who);
  void leave(ViewerId id) { roles_.erase(id); }

  /// A text from one of them. Answers whether it was understood, done or not; never throws.
  bool receive(ViewerId id, std::string_view text);

  /// From now on it is told in these words (null: as the texts are written); whoever makes the desk speak lets them live.
  void speak(const model::Words* words);

  /// Looks whether somebody else, at a terminal, has gone on with the file.
  void look_at_the_file();

  /// What is to be thought about next, if anything is.
  [[nodiscard]] std::optional<CallTask> take_task();
  void take(CallOutcome outcome);

  /// Takes what is to be sent, in this order.
  [[nodiscard]] std::vector<Letter> take_letters() { return std::exchange(letters_, {}); }
  /// The whole state, for somebody who has missed some news.
  [[nodiscard]] std::shared_ptr<const std::string> whole_state() const;

  [[nodiscard]] const CallFile& file() const { return file_; }

 private:
  void carry_out(const Request& request);
  void say(const Request& request);
  void say_intake(const std::string& line);
  void say_told(const std::string& line, std::optional<std::size_t> before);
  void answer(const Request& request);
  [[nodiscard]] Sighting sighting_of(const Request& request, std::string_view word) const;
  void take_out(const Request& request);
  void mark(const Request& request);
  void go_back();
  void rename(const Request& request);
  void set_before(const Request& request);
  void put(const std::string& text);
  void changed(bool telling);
  void see_where_it_stands();
  void think();

  [[nodiscard]] ToldText told() const { return {file_.report(), file_.text(), file_.path()}; }
  [[nodiscard]] std::size_t entry_of(const Request& request) const;
  [[nodiscard]] bool may_think() const;
  [[nodiscard]] boost::json::object site_message() const;
  [[nodiscard]] boost::json::object call_message() const;
  void send(std::optional<ViewerId> to, Letter::Kind kind, const boost::json::object& message);

  CallFile file_;
  Log log_;
  std::map<ViewerId, Role> roles_;
  ViewerId next_id_ = 1;
  std::vector<Letter> letters_;
  std::uint64_t revision_ = 1;
  std::uint64_t telling_ = 1;
  std::vector<std::string> before_;  ///< texts of the report while it was told, the last at the end
  std::optional<CallTask> task_;
  const model::Words* words_ = nullptr;
  std::optional<model::CallState> state_;
  std::uint64_t state_revision_ = 0;
  std::string failed_;
  std::filesystem::file_time_type written_{};
};

}  // namespace drybus::tools
