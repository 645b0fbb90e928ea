// The panel without its sockets: who is there says something, and letters go out to some or all of them.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "tools/log/log.h"
#include "tools/panel/bench.h"
#include "tools/panel/keep.h"
#include "tools/panel/questions.h"
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
  std::optional<ViewerId> id = {};  ///< where somebody else gives them out
};

/// What is worked at on a bench: a scenario, and where it is a lesson's story the lesson.
struct Task {
  Task(LoadedScenario of,
       std::shared_ptr<const LoadedLesson> asked = {})  // NOLINT(google-explicit-constructor)
      : story(std::move(of)), lesson(std::move(asked)) {}
  LoadedScenario story;
  std::shared_ptr<const LoadedLesson> lesson;
};

/// What somebody did last at a bench, for whoever has an eye on many.
struct Deed {
  std::string text;  ///< "P1 up for 0.2 s"; empty: nothing yet
  RealTime at{};     ///< when, or since when there has been nothing
};

/// While it plays, the clock is told at least so often.
inline constexpr RealTime clock_told_every = std::chrono::seconds{1};

class Panel {
 public:
  /// A lesson begins behind the curtain, which opens when its questions are over. Until then its story goes no further than the
  /// question, but for a trainer who leads.
  explicit Panel(Task task, Log log = {}, RoomKind kind = RoomKind::alike);

  /// Goes on as it was kept. REQUIRES: nobody has come yet. Throws Unusable as resume(Bench) does.
  void resume(const KeptBench& kept, RealTime real);
  /// All that is to be kept, but for the links.
  [[nodiscard]] KeptBench kept() const;
  /// Differs when something is to be kept anew.
  [[nodiscard]] std::uint64_t changes() const { return done_ + bench_.run().events() + room_->changes(); }
  /// Tells all who lead.
  void tell_trainers(const std::string& text);

  /// Somebody comes: they get `hello`, `state` and `viewers`.
  ViewerId join(RealTime real, const Newcomer& who = {});
  void leave(ViewerId id, RealTime real);

  // --- seats that change from bench to bench ---

  /// Somebody who has sat elsewhere; if they are there, they get what who joins gets.
  void take_in(Room::Viewer viewer, RealTime real);
  /// They sit elsewhere from now on. REQUIRES: they sit here.
  Room::Viewer hand_over(ViewerId id, RealTime real);
  /// They look this way again: as for somebody who joins.
  void greet(ViewerId id, RealTime real);

  /// A text from one of them. Answers whether it was understood, done or not; never throws.
  bool receive(ViewerId id, std::string_view text, RealTime real);

  /// Time goes by.
  void at_real(RealTime real);
  /// When at_real is to be called next at the latest; nothing while nothing moves.
  [[nodiscard]] std::optional<RealTime> next_due() const;

  /// The whole state, for somebody who has missed some news.
  [[nodiscard]] std::shared_ptr<const std::string> whole_state(ViewerId id, RealTime real) const;

  /// Takes what is to be sent, in this order.
  [[nodiscard]] std::vector<Letter> take_letters() { return std::exchange(letters_, {}); }

  [[nodiscard]] const Bench& bench() const { return bench_; }
  [[nodiscard]] const Room& room() const { return *room_; }
  [[nodiscard]] const std::optional<Questions>& questions() const { return questions_; }
  [[nodiscard]] const Deed& last_deed() const { return deed_; }

 private:
  void begin_lesson();
  void hold_story();
  [[nodiscard]] bool keeps_curtain_drawn(ViewerId id) const;
  boost::json::object about_lesson(ViewerId id, const class Request& request);
  void note_deed(std::string text, RealTime real);
  void pass_time(RealTime real);
  void tell_news(RealTime real);
  void tell_news_in_parts(const boost::json::object& news, RealTime real);
  boost::json::object look_at_rooms(ViewerId id, const class Request& request, RealTime real);
  [[nodiscard]] std::set<model::PlaceId> rooms_of(ViewerId id) const;
  [[nodiscard]] Looks looks_of(ViewerId id) const;
  void gather_looks();
  void tell_who_is_there(RealTime real);
  void let_go_for_whoever_left();
  std::optional<boost::json::object> on_the_bench(ViewerId id, const class Request& request, RealTime real);
  std::optional<boost::json::object> carry_out(ViewerId id, const class Request& request, RealTime real);
  void send(std::optional<ViewerId> to, Letter::Kind kind, const boost::json::object& message);

  [[nodiscard]] boost::json::object saved_for(ViewerId id, const class Request& request);
  void move_curtain(ViewerId id, const class Request& request);
  void log_what_became(ViewerId id, std::string_view text, const struct Answer& answer);
  void log_who_holds_the_controls();

  Bench bench_;
  std::unique_ptr<Room> room_;
  std::optional<Questions> questions_;
  Deed deed_;
  Log log_;
  std::optional<ViewerId> logged_holder_;
  Reporter reporter_;
  std::map<ViewerId, std::set<model::PlaceId>>
      rooms_;                          ///< that they look at; of a site that is told in parts
  std::set<model::PlaceId> gathered_;  ///< by all together
  std::vector<Letter> letters_;
  std::uint64_t room_told_ = 0;
  std::uint64_t done_ = 0;  ///< messages that were carried out
  RealTime clock_told_{};
  RealTime passed_{};  ///< up to when time has gone by
};

}  // namespace drybus::tools
