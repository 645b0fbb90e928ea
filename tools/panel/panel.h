// The panel without its sockets: who is there says something, and letters go out to some or all of them.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tools/panel/bench.h"
#include "tools/panel/keep.h"
#include "tools/log/log.h"
#include "tools/panel/reporter.h"
#include "tools/panel/room.h"

namespace drybus::tools {

/// A message on its way out.
struct Letter {
  enum class Kind {
    personal,  ///< an answer, a greeting: has to arrive
    news,      ///< `changed` or `state`: a whole state makes up for those that are lost
  };
  std::optional<ViewerId> to;  ///< nothing: everybody
  Kind kind = Kind::news;
  std::shared_ptr<const std::string> text;
};

/// Who comes in.
struct Newcomer {
  std::string key = {};  ///< from the hello that they had before: with it they have their seat again
  Role role = Role::trainer;
};

/// While it plays, the clock is told at least so often.
inline constexpr RealTime clock_told_every = std::chrono::seconds{1};

class Panel {
 public:
  /// `led`: trainers, pupils and onlookers have rights of their own; else all are alike.
  explicit Panel(LoadedScenario loaded, Log log = {}, bool led = false);

  /// Goes on as it was kept. REQUIRES: nobody has come yet. Throws Unusable as resume(Bench) does.
  void resume(const KeptBench& kept, RealTime real);
  /// All that is to be kept, but for the links.
  [[nodiscard]] KeptBench kept() const;
  /// Differs when something is to be kept anew.
  [[nodiscard]] std::uint64_t changes() const { return done_ + bench_.run().events() + room_.changes(); }
  /// Tells all who lead.
  void tell_trainers(const std::string& text);

  /// Somebody comes: they get `hello`, `state` and `viewers`.
  ViewerId join(RealTime real, const Newcomer& who = {});
  void leave(ViewerId id, RealTime real);

  /// A text from one of them. Answers whether it was understood, done or not; never throws.
  bool receive(ViewerId id, std::string_view text, RealTime real);

  /// Time goes by.
  void at_real(RealTime real);
  /// When at_real is to be called next at the latest; nothing while nothing moves.
  [[nodiscard]] std::optional<RealTime> next_due(RealTime real) const;

  /// The whole state, for somebody who has missed some news.
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id, RealTime real) const;

  /// Takes what is to be sent, in this order.
  [[nodiscard]] std::vector<Letter> take_letters() { return std::exchange(letters_, {}); }

  [[nodiscard]] const Bench& bench() const { return bench_; }
  [[nodiscard]] const Room& room() const { return room_; }

 private:
  void pass_time(RealTime real);
  void tell_news(RealTime real);
  void tell_who_is_there(RealTime real);
  void let_go_for_whoever_left();
  std::optional<boost::json::object> on_the_bench(ViewerId id, const class Request& request);
  std::optional<boost::json::object> carry_out(ViewerId id, const class Request& request, RealTime real);
  void send(std::optional<ViewerId> to, Letter::Kind kind, const boost::json::object& message);

  [[nodiscard]] boost::json::object saved_for(ViewerId id, const class Request& request);
  void move_curtain(ViewerId id, const class Request& request);
  void log_what_became(ViewerId id, std::string_view text, const struct Answer& answer);
  void log_who_holds_the_controls();

  Bench bench_;
  Room room_;
  Log log_;
  std::optional<ViewerId> logged_holder_;
  Reporter reporter_;
  std::vector<Letter> letters_;
  std::uint64_t room_told_ = 0;
  std::uint64_t done_ = 0;  ///< messages that were carried out
  RealTime clock_told_{};
};

}  // namespace drybus::tools
