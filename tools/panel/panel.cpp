#include "tools/panel/panel.h"

#include <algorithm>
#include <stdexcept>

#include "tools/base/json_text.h"
#include "tools/panel/request.h"
#include "tools/panel/state_json.h"
#include "tools/panel/take_message.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {
constexpr std::size_t longest_viewer_name = 40;
constexpr std::uint32_t largest_viewer = 0xffff'ffff;
}  // namespace

Panel::Panel(LoadedScenario loaded) : bench_(std::move(loaded)), reporter_(bench_) {}

void Panel::send(std::optional<ViewerId> to, Letter::Kind kind, const json::object& message) {
  letters_.push_back({to, kind, std::make_shared<const std::string>(json_text(message))});
}

std::shared_ptr<const std::string> Panel::whole_state(ViewerId id, RealTime real) const {
  json::object state = state_json(bench_);
  state["viewers"] = room_.to_json(id, real);
  return std::make_shared<const std::string>(json_text(state));
}

// --- coming and going ---

ViewerId Panel::join(RealTime real) {
  pass_time(real);
  tell_news(real);  // so that nobody is told twice what the newcomer's state holds
  const ViewerId id = room_.join();
  json::object hello = hello_json(bench_);
  hello["you"] = {{"id", id}, {"name", room_.viewer(id).name}};
  send(id, Letter::Kind::personal, hello);
  letters_.push_back({id, Letter::Kind::personal, whole_state(id, real)});
  tell_who_is_there(real);
  return id;
}

void Panel::leave(ViewerId id, RealTime real) {
  pass_time(real);
  if (room_.holds(id)) let_go_for_whoever_left();
  room_.leave(id);
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
  bench_.at_real(real);
  const auto holder = room_.holder();
  room_.at_real(real);
  if (room_.holder() != holder) let_go_for_whoever_left();
}

void Panel::at_real(RealTime real) {
  pass_time(real);
  tell_news(real);
  tell_who_is_there(real);
}

std::optional<RealTime> Panel::next_due(RealTime real) const {
  std::optional<RealTime> due;
  const auto sooner = [&](RealTime at) { due = due ? std::min(*due, at) : at; };
  if (const auto happening = bench_.next_happening()) {
    sooner(real + *happening);
    sooner(clock_told_ + clock_told_every);
  }
  if (const auto answer = room_.answer_due()) sooner(*answer);
  return due;
}

// --- news ---

void Panel::tell_news(RealTime real) {
  auto news = reporter_.what_changed(bench_);
  if (!news && bench_.playing() && real - clock_told_ >= clock_told_every) {
    news = json::object{{"type", "changed"}, {"clock", clock_json(bench_)}};
  }
  if (!news) return;
  clock_told_ = real;
  if (news->at("type").as_string() != "state") return send(std::nullopt, Letter::Kind::news, *news);
  for (const Room::Viewer& viewer : room_.viewers()) {
    (*news)["viewers"] = room_.to_json(viewer.id, real);
    send(viewer.id, Letter::Kind::news, *news);
  }
}

void Panel::tell_who_is_there(RealTime real) {
  if (room_told_ == room_.changes()) return;
  room_told_ = room_.changes();
  for (const Room::Viewer& viewer : room_.viewers()) {
    send(viewer.id, Letter::Kind::personal, room_.to_json(viewer.id, real));
  }
}

// --- messages ---

std::optional<json::object> Panel::carry_out(ViewerId id, const Request& request, RealTime real) {
  const std::string& verb = request.verb();
  if (verb == "ask_controls") {
    request.allow({});
    room_.ask(id, real);
  } else if (verb == "give_controls") {
    request.allow({"to"});
    room_.give(id, request.whole("to", 1, largest_viewer));
    let_go_for_whoever_left();
  } else if (verb == "keep_controls") {
    request.allow({});
    room_.keep(id);
  } else if (verb == "name") {
    request.allow({"name"});
    room_.rename(id, request.text("name", longest_viewer_name));
  } else if (verb == "state") {
    request.allow({});
    tell_news(real);
    letters_.push_back({id, Letter::Kind::personal, whole_state(id, real)});
  } else {
    if (needs_controls(verb) && !room_.holds(id)) {
      throw Refused{RefusalCode::controls, "Somebody else holds the controls. Ask for them."};
    }
    if (needs_controls(verb)) room_.keep(id);
    return do_request(bench_, request);
  }
  return std::nullopt;
}

bool Panel::receive(ViewerId id, std::string_view text, RealTime real) {
  pass_time(real);
  Answer answer;
  try {
    const Request request{text};
    answer.ref = request.ref();
    answer.reply = carry_out(id, request, real);
  } catch (const Refused& refused) {
    answer.refused = refused;
  } catch (const std::logic_error& error) {
    // A fault of ours; the class goes on, and the trainer reads what it was.
    answer.refused = Refused{RefusalCode::not_now, error.what()};
  }
  tell_news(real);
  tell_who_is_there(real);
  if (const auto message = answer_json(answer)) send(id, Letter::Kind::personal, *message);
  return !answer.refused || answer.refused->code() != RefusalCode::message;
}

}  // namespace drybus::tools
