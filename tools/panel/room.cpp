#include "tools/panel/room.h"

#include <fmt/format.h>

#include <algorithm>

#include "tools/panel/gate.h"

namespace drybus::tools {

namespace json = boost::json;

ViewerId Room::join(std::string key, Role role) {
  const ViewerId id = next_id_++;
  viewers_.push_back({id, fmt::format("{} {}", led_ ? to_string(role) : "viewer", id), std::move(key), role});
  const bool nobody_has_them = !holder_ || (led_ && viewer(*holder_).away_since && is_trainer(*holder_));
  if (nobody_has_them && (!led_ || role == Role::trainer)) holder_ = id;
  ++changes_;
  return id;
}

void Room::resume(std::vector<Viewer> seats, std::optional<ViewerId> holder, Curtain curtain, RealTime real) {
  viewers_ = std::move(seats);
  holder_.reset();
  for (Viewer& viewer : viewers_) {
    viewer.away_since = real;
    next_id_ = std::max(next_id_, viewer.id + 1);
    if (viewer.id == holder) holder_ = holder;
  }
  curtain_ = curtain;
  ++changes_;
}

std::optional<ViewerId> Room::come_back(std::string_view key, Role role, const std::string& new_key) {
  for (Viewer& viewer : viewers_) {
    if (key.empty() || viewer.role != role || !equal_in_constant_time(viewer.key, key)) continue;
    viewer.key = new_key;
    viewer.away_since.reset();
    ++changes_;
    return viewer.id;
  }
  return std::nullopt;
}

void Room::leave(ViewerId id, RealTime real) {
  for (Viewer& viewer : viewers_) {
    if (viewer.id == id) viewer.away_since = real;
  }
  ++changes_;
  keep_few_seats();
}

/// Whoever comes and goes all the time does not fill the room. The holder's seat is kept in any case.
void Room::keep_few_seats() {
  const auto is_empty = [](const Viewer& viewer) { return viewer.away_since.has_value(); };
  if (static_cast<std::size_t>(std::count_if(viewers_.begin(), viewers_.end(), is_empty)) <= most_empty_seats)
    return;
  const auto oldest = std::find_if(viewers_.begin(), viewers_.end(), [&](const Viewer& viewer) {
    return is_empty(viewer) && viewer.id != holder_ && !is_kept(viewer);
  });
  if (oldest != viewers_.end()) give_up_seat(oldest->id);
}

void Room::give_up_seat(ViewerId id) {
  std::erase_if(viewers_, [&](const Viewer& viewer) { return viewer.id == id; });
  std::erase(asking_, id);
  ++changes_;
  if (holder_ == id) hand_on();
}

bool Room::is_trainer(ViewerId id) const {
  return std::any_of(viewers_.begin(), viewers_.end(),
                     [&](const Viewer& viewer) { return viewer.id == id && viewer.role == Role::trainer; });
}

std::optional<ViewerId> Room::a_trainer() const {
  std::optional<ViewerId> away;
  for (const Viewer& viewer : viewers_) {
    if (viewer.role != Role::trainer) continue;
    if (!viewer.away_since) return viewer.id;
    away = viewer.id;
  }
  return away;
}

/// A lesson outlives its trainer's line, however long that is lost, unless another trainer is there.
bool Room::is_kept(const Viewer& viewer) const {
  return led_ && a_trainer() == viewer.id;
}

void Room::hand_on() {
  if (led_) return hand_to(a_trainer());
  if (!asking_.empty()) return hand_to(asking_.front());
  const auto first =
      std::find_if(viewers_.begin(), viewers_.end(), [](const Viewer& viewer) { return !viewer.away_since; });
  if (first != viewers_.end()) return hand_to(first->id);
  hand_to(viewers_.empty() ? std::nullopt : std::optional{viewers_.front().id});
}

const Room::Viewer& Room::viewer(ViewerId id) const {
  const auto found =
      std::find_if(viewers_.begin(), viewers_.end(), [&](const Viewer& viewer) { return viewer.id == id; });
  if (found == viewers_.end()) throw Refused{RefusalCode::unknown, fmt::format("There is no viewer {}.", id)};
  return *found;
}

void Room::hand_to(std::optional<ViewerId> id) {
  holder_ = id;
  asking_.clear();
  ++changes_;
}

void Room::ask(ViewerId id, RealTime real) {
  if (holder_ == id) throw Refused{RefusalCode::not_now, "You hold the controls already."};
  if (led_ && is_trainer(id)) return hand_to(id);
  if (viewer(id).role == Role::onlooker)
    throw Refused{RefusalCode::controls, "Onlookers cannot have the controls. The join link is for pupils."};
  if (!holder_ && !led_) return hand_to(id);
  if (std::find(asking_.begin(), asking_.end(), id) != asking_.end()) return;
  if (asking_.empty()) asked_at_ = real;
  asking_.push_back(id);
  ++changes_;
}

void Room::give(ViewerId from, ViewerId to) {
  if (led_ && !is_trainer(from)) throw Refused{RefusalCode::controls, "Only the trainer lends the controls. Give them back."};
  if (!led_ && holder_ != from) throw Refused{RefusalCode::controls, "Only who holds the controls can give them."};
  if (viewer(to).role == Role::onlooker)
    throw Refused{RefusalCode::controls, fmt::format("{} looks on and cannot have the controls.", viewer(to).name)};
  hand_to(to);
}

void Room::give_back(ViewerId from) {
  if (holder_ != from) throw Refused{RefusalCode::not_now, "You do not have the controls."};
  const auto trainer = led_ ? a_trainer() : std::nullopt;
  if (!trainer || trainer == from) throw Refused{RefusalCode::not_now, "There is nobody to give them back to."};
  hand_to(trainer);
}

std::string Room::why_no_hands(ViewerId id) const {
  if (!led_) return "Somebody else holds the controls. Ask for them.";
  if (is_trainer(id) && holder_) return fmt::format("{} has the controls now. Take them back first.", viewer(*holder_).name);
  return viewer(id).role == Role::onlooker ? "Onlookers cannot do that." : "The controls are the trainer's. Ask for them.";
}

void Room::keep(ViewerId id) {
  if (!(led_ ? is_trainer(id) : holds(id)) || asking_.empty()) return;
  asking_.clear();
  ++changes_;
}

void Room::rename(ViewerId id, const std::string& name) {
  for (Viewer& viewer : viewers_) {
    if (viewer.id == id) viewer.name = name;
  }
  ++changes_;
}

/// A trainer takes their time.
std::optional<RealTime> Room::answer_due() const {
  if (asking_.empty() || led_) return std::nullopt;
  return asked_at_ + time_to_answer;
}

void Room::at_real(RealTime real) {
  const auto due = answer_due();
  if (due && real >= *due) hand_to(asking_.front());
  const std::vector<Viewer> seats = viewers_;
  for (const Viewer& viewer : seats) {
    if (viewer.away_since && real >= *viewer.away_since + time_to_come_back && !is_kept(viewer))
      give_up_seat(viewer.id);
  }
}

std::optional<RealTime> Room::next_due() const {
  std::optional<RealTime> due = answer_due();
  for (const Viewer& viewer : viewers_) {
    if (!viewer.away_since || is_kept(viewer)) continue;
    const RealTime given_up = *viewer.away_since + time_to_come_back;
    due = due ? std::min(*due, given_up) : given_up;
  }
  return due;
}

json::object Room::to_json(ViewerId you, RealTime real) const {
  json::array list;
  std::size_t count = 0;
  for (const Viewer& viewer : viewers_) {
    if (!viewer.away_since) ++count;
    list.push_back(
        json::object{{"id", viewer.id}, {"name", viewer.name}, {"role", to_string(viewer.role)}, {"away", viewer.away_since.has_value()}});
  }
  json::array asking;
  for (const ViewerId id : asking_) asking.emplace_back(id);
  json::value left;
  if (const auto due = answer_due())
    left = std::chrono::duration<double>(std::max(*due - real, RealTime::zero())).count();
  return {{"type", "viewers"},
          {"you", you},
          {"count", count},
          {"holder", holder_ ? json::value(*holder_) : json::value(nullptr)},
          {"you_hold", holder_ == you},
          {"you_lead", leads(you)},
          {"led", led_},
          {"asking", std::move(asking)},
          {"asked_until_real_s", std::move(left)},
          {"list", std::move(list)}};
}

}  // namespace drybus::tools
