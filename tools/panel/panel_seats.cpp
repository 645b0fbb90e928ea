// Seats that change from bench to bench, and the questions of a lesson at one.
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/panel/panel.h"
#include "tools/panel/request.h"
#include "tools/panel/state_json.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

void Panel::greet(ViewerId id, RealTime real) {
  if (deed_.at == RealTime{}) deed_.at = real;
  const Room::Viewer& viewer = room_->viewer(id);
  json::object hello = hello_json(bench_, room_->curtain());
  hello["you"] = {{"id", id}, {"name", viewer.name}, {"key", viewer.key}, {"role", to_string(viewer.role)}};
  hello["lesson"] = questions_.has_value();
  send(id, Letter::Kind::personal, hello);
  letters_.push_back({id, Letter::Kind::personal, whole_state(id, real)});
  tell_who_is_there(real);
}

void Panel::take_in(Room::Viewer viewer, RealTime real) {
  pass_time(real);
  tell_news(real);
  const ViewerId id = viewer.id;
  room_->take_in(std::move(viewer));
  if (room_->is_there(id)) return greet(id, real);
  tell_who_is_there(real);
}

Room::Viewer Panel::hand_over(ViewerId id, RealTime real) {
  pass_time(real);
  if (room_->holds(id)) let_go_for_whoever_left();
  Room::Viewer leaving = room_->hand_over(id);
  tell_news(real);
  tell_who_is_there(real);
  return leaving;
}

// --- the lesson ---

/// The story stands at its start.
void Panel::begin_lesson() {
  room_->move_curtain(Curtain::drawn);
  bench_.demonstrate({true, false, false});
  bench_.pause();
  hold_story();
  reporter_ = Reporter{bench_, room_->curtain()};
  gathered_.clear();
  gather_looks();
}

void Panel::hold_story() {
  const bool free = room_->kind() == RoomKind::led || !questions_;
  bench_.hold_story_at(free ? std::nullopt : questions_->stop());
}

json::object Panel::about_lesson(ViewerId id, const Request& request) {
  request.allow({"ask", "text"});
  if (!questions_) throw Refused{RefusalCode::not_now, tr("Nothing is asked here: this is no lesson.")};
  const std::string ask = request.text("ask");
  const bool only_looks = ask == "question";
  if (!only_looks && !room_->holds(id)) throw Refused{RefusalCode::controls, room_->why_no_hands(id)};
  const std::size_t number = questions_->pupil().question();
  const std::string text = ask == "answer" ? request.text("text", max_answer_bytes) : std::string{};
  json::object told = questions_->tell(ask, text, bench_);
  told["type"] = "lesson";
  if (only_looks) return told;
  if (questions_->over() && room_->curtain() == Curtain::drawn) room_->move_curtain(Curtain::open);
  hold_story();
  const json::value* verdict = told.if_contains("verdict");
  if (verdict != nullptr || ask == "hint") {
    const bool right = verdict != nullptr && verdict->as_string() == "right";
    const std::string deed = ask == "hint" ? "a hint" : right ? "right" : "wrong";
    note_deed("question " + std::to_string(number + 1) + ": " + deed, passed_);
    for (const Room::Viewer& other : room_->viewers()) {
      if (other.id != id && !other.away_since) send(other.id, Letter::Kind::personal, told);
    }
  }
  return told;
}

void Panel::note_deed(std::string text, RealTime real) {
  deed_ = {std::move(text), real};
}

}  // namespace drybus::tools
