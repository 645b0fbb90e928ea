#include "tools/panel/panel.h"

#include <algorithm>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/panel/gate.h"
#include "tools/panel/request.h"
#include "tools/panel/state_json.h"
#include "tools/panel/take_message.h"

namespace drybus::tools {

using model::tr;
using model::tr_as;

namespace json = boost::json;

namespace {
constexpr std::size_t longest_viewer_name = 40;
constexpr std::uint32_t largest_viewer = 0xffff'ffff;
constexpr double fastest_for_hands = 2;  ///< simulated seconds to a real one
}  // namespace

Panel::Panel(Task task, Log log, RoomKind kind)
    : bench_(std::move(task.story)),
      room_(Room::make(kind)),
      log_(std::move(log)),
      reporter_(bench_, room_->curtain()) {
  gather_looks();
  if (!task.lesson) return;
  questions_.emplace(std::move(task.lesson));
  begin_lesson();
}

void Panel::send(std::optional<ViewerId> to, Letter::Kind kind, const json::object& message) {
  letters_.push_back({to, kind, std::make_shared<const std::string>(json_text(message))});
}

std::shared_ptr<const std::string> Panel::whole_state(ViewerId id, RealTime real) const {
  json::object state = state_json(bench_, room_->curtain(), looks_of(id));
  state["viewers"] = room_->to_json(id, real);
  return std::make_shared<const std::string>(json_text(state));
}

void Panel::tell_trainers(const std::string& text) {
  for (const Room::Viewer& viewer : room_->viewers()) {
    if (viewer.away_since || !room_->leads(viewer.id)) continue;
    send(viewer.id, Letter::Kind::personal, json::object{{"type", "notice"}, {"text", text}});
  }
}

// --- coming and going ---

ViewerId Panel::join(RealTime real, const Newcomer& who) {
  pass_time(real);
  tell_news(real);  // so that nobody is told twice what the newcomer's state holds
  const std::string new_key = random_token();
  const auto come_back = room_->come_back(who.key, who.role, new_key);
  const ViewerId id = come_back ? *come_back : room_->join(new_key, who.role, who.id);
  if (come_back) log_.info("viewer {} is back", id);
  greet(id, real);
  return id;
}

void Panel::leave(ViewerId id, RealTime real) {
  pass_time(real);
  if (room_->holds(id)) let_go_for_whoever_left();
  room_->leave(id, real);
  tell_news(real);
  tell_who_is_there(real);
}

/// Nobody leaves a finger on a button.
void Panel::let_go_for_whoever_left() {
  try {
    if (bench_.holding()) bench_.release();
  } catch (const Refused&) {
    // No room for a branch in which the finger comes up; then it stays down in this one.
  }
}

// --- time ---

void Panel::pass_time(RealTime real) {
  passed_ = std::max(passed_, real);
  bench_.at_real(real);
  const auto holder = room_->holder();
  room_->at_real(real);
  if (room_->holder() != holder) let_go_for_whoever_left();
}

void Panel::log_who_holds_the_controls() {
  if (logged_holder_ == room_->holder()) return;
  logged_holder_ = room_->holder();
  if (!logged_holder_) return log_.info("nobody holds the controls");
  log_.info("viewer {} ({}) holds the controls", *logged_holder_, room_->viewer(*logged_holder_).name);
}

void Panel::at_real(RealTime real) {
  pass_time(real);
  tell_news(real);
  tell_who_is_there(real);
}

std::optional<RealTime> Panel::next_due() const {
  std::optional<RealTime> due;
  const auto sooner = [&](RealTime at) { due = due ? std::min(*due, at) : at; };
  if (const auto happening = bench_.next_happening()) {
    sooner(passed_ + *happening);
    sooner(clock_told_ + clock_told_every);
  }
  if (const auto answer = room_->next_due()) sooner(*answer);
  return due;
}

// --- news ---

void Panel::tell_news(RealTime real) {
  gather_looks();
  auto news = reporter_.what_changed(bench_, room_->curtain());
  if (!news && bench_.playing() && real - clock_told_ >= clock_told_every) {
    news = json::object{{"type", "changed"}, {"clock", clock_json(bench_, room_->curtain())}};
  }
  if (!news) return;
  clock_told_ = real;
  if (is_told_in_parts(bench_.run().scenario().site)) return tell_news_in_parts(*news, real);
  if (news->at("type").as_string() != "state") return send(std::nullopt, Letter::Kind::news, *news);
  for (const Room::Viewer& viewer : room_->viewers()) {
    if (viewer.away_since) continue;
    (*news)["viewers"] = room_->to_json(viewer.id, real);
    send(viewer.id, Letter::Kind::news, *news);
  }
}

void Panel::tell_who_is_there(RealTime real) {
  if (room_told_ == room_->changes()) return;
  room_told_ = room_->changes();
  log_who_holds_the_controls();
  for (const Room::Viewer& viewer : room_->viewers()) {
    if (viewer.away_since) continue;
    send(viewer.id, Letter::Kind::personal, room_->to_json(viewer.id, real));
  }
}

// --- messages ---

std::optional<json::object> Panel::carry_out(ViewerId id, const Request& request, RealTime real) {
  const std::string& verb = request.verb();
  if (verb == "ask_controls") {
    request.allow({});
    const auto holder = room_->holder();
    room_->ask(id, real);
    if (room_->holder() != holder) let_go_for_whoever_left();
  } else if (verb == "give_controls") {
    request.allow({"to"});
    room_->give(id, request.whole("to", 1, largest_viewer));
    let_go_for_whoever_left();
  } else if (verb == "give_back_controls") {
    request.allow({});
    room_->give_back(id);
    let_go_for_whoever_left();
  } else if (verb == "keep_controls") {
    request.allow({});
    room_->keep(id);
  } else if (verb == "name") {
    request.allow({"name"});
    room_->rename(id, request.text("name", longest_viewer_name));
    log_.info("viewer {} is called {}", id, room_->viewer(id).name);
  } else if (verb == "curtain") {
    move_curtain(id, request);
  } else if (verb == "save") {
    return saved_for(id, request);
  } else if (verb == "state") {
    request.allow({});
    tell_news(real);
    letters_.push_back({id, Letter::Kind::personal, whole_state(id, real)});
  } else if (verb == "rooms") {
    return look_at_rooms(id, request, real);
  } else if (verb == "lesson") {
    return about_lesson(id, request);
  } else {
    return on_the_bench(id, request, real);
  }
  return std::nullopt;
}

std::optional<json::object> Panel::on_the_bench(ViewerId id, const Request& request, RealTime real) {
  const Right right = right_for(request.verb());
  if (right == Right::leading && !room_->leads(id))
    throw Refused{RefusalCode::controls, room_->why_not_leading(tr_as("what is refused", "That"))};
  if (right == Right::hands && !room_->holds(id))
    throw Refused{RefusalCode::controls, room_->why_no_hands(id)};
  const bool lent = right == Right::hands && !room_->leads(id);
  // Whoever has only the hands cannot set the clock going, or slow it down to what hands can do.
  if (lent && bench_.speed_set() > fastest_for_hands) bench_.set_speed(1);
  if (right != Right::none && room_->kind() == RoomKind::alike) room_->keep(id);
  auto reply = do_request(bench_, request, room_->curtain());
  if (lent && request.verb() != "release") bench_.play();
  if (right == Right::hands) {
    note_deed(last_step_text(bench_.chosen()), real);
  } else if (right == Right::leading) {
    deed_.at = real;
  }
  return reply;
}

/// Behind the curtain of a lesson is the answer, for all but a trainer.
bool Panel::keeps_curtain_drawn(ViewerId id) const {
  return questions_ && !questions_->over() && room_->curtain() == Curtain::drawn &&
         !(room_->kind() != RoomKind::alike && room_->viewer(id).role == Role::trainer);
}

void Panel::move_curtain(ViewerId id, const Request& request) {
  request.allow({"drawn"});
  const bool drawn = request.truth("drawn");
  if (!room_->leads(id)) throw Refused{RefusalCode::controls, room_->why_not_leading(tr("The curtain"))};
  if (keeps_curtain_drawn(id) && !drawn)
    throw Refused{RefusalCode::not_now, tr("The curtain opens when the questions are over.")};
  if (room_->kind() == RoomKind::alike) room_->keep(id);
  room_->move_curtain(drawn ? Curtain::drawn : Curtain::open);
  log_.info("viewer {} {} the curtain", id, drawn ? "draws" : "opens");
}

/// What was found stands in what is saved.
json::object Panel::saved_for(ViewerId id, const Request& request) {
  if (room_->curtain() == Curtain::drawn && !room_->leads(id))
    throw Refused{RefusalCode::controls, room_->why_not_leading(tr("Saving while the curtain is drawn"))};
  if (keeps_curtain_drawn(id))
    throw Refused{RefusalCode::not_now, tr("It can be saved when the questions are over.")};
  json::object saved = do_request(bench_, request, room_->curtain()).value();
  log_.info("viewer {} saves {}, digest {}", id, std::string_view{saved.at("name").as_string()},
            std::string_view{saved.at("digest").as_string()});
  return saved;
}

void Panel::log_what_became(ViewerId id, std::string_view text, const Answer& answer) {
  log_.trace("viewer {} says {}", id, text);
  if (!answer.refused) return;
  log_.info("viewer {} is refused ({}): {}", id, to_string(answer.refused->code()), answer.refused->what());
}

bool Panel::receive(ViewerId id, std::string_view text, RealTime real) {
  pass_time(real);
  Answer answer;
  try {
    const Request request{text};
    answer.ref = request.ref();
    answer.reply = carry_out(id, request, real);
    ++done_;
  } catch (const Refused& refused) {
    answer.refused = refused;
  } catch (const std::logic_error& error) {
    // A fault of ours; the class goes on, and the trainer reads what it was.
    log_.error("a fault of drybus, after viewer {} said {}: {}", id, text, error.what());
    answer.refused = Refused{RefusalCode::not_now, error.what()};
  }
  log_what_became(id, text, answer);
  tell_news(real);
  tell_who_is_there(real);
  if (const auto message = answer_json(answer)) send(id, Letter::Kind::personal, *message);
  return !answer.refused || answer.refused->code() != RefusalCode::message;
}

}  // namespace drybus::tools
