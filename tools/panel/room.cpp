#include "tools/panel/room.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/panel/gate.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

ViewerId Room::join(std::string key, Role role, std::optional<ViewerId> given) {
  const ViewerId id = given.value_or(next_id_);
  take_in({id, fmt::format("{} {}", title_of(role), id), std::move(key), role});
  return id;
}

void Room::take_in(Viewer viewer) {
  next_id_ = std::max(next_id_, viewer.id + 1);
  viewers_.push_back(std::move(viewer));
  const Viewer& came = viewers_.back();
  if (takes_controls_on_coming(came, holder_ ? find(*holder_) : nullptr)) holder_ = came.id;
  ++changes_;
}

Room::Viewer Room::hand_over(ViewerId id) {
  Viewer leaving = viewer(id);
  give_up_seat(id);
  return leaving;
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
  if (holder_ == id) hand_to(next_holder());
}

bool Room::is_trainer(ViewerId id) const {
  return std::any_of(viewers_.begin(), viewers_.end(),
                     [&](const Viewer& viewer) { return viewer.id == id && viewer.role == Role::trainer; });
}

const Room::Viewer* Room::find(ViewerId id) const {
  const auto found =
      std::find_if(viewers_.begin(), viewers_.end(), [&](const Viewer& viewer) { return viewer.id == id; });
  return found == viewers_.end() ? nullptr : &*found;
}

bool Room::is_there(ViewerId id) const {
  const Viewer* found = find(id);
  return found != nullptr && !found->away_since;
}

const Room::Viewer& Room::viewer(ViewerId id) const {
  const Viewer* found = find(id);
  if (found == nullptr) throw Refused{RefusalCode::unknown, tr("There is no viewer {}.", id)};
  return *found;
}

void Room::hand_to(std::optional<ViewerId> id) {
  holder_ = id;
  asking_.clear();
  ++changes_;
}

void Room::ask(ViewerId id, RealTime real) {
  if (holder_ == id) throw Refused{RefusalCode::not_now, tr("You hold the controls already.")};
  if (const auto why = why_no_asking(viewer(id))) throw Refused{RefusalCode::controls, *why};
  if (gets_controls_at_once(viewer(id))) return hand_to(id);
  if (std::find(asking_.begin(), asking_.end(), id) != asking_.end()) return;
  if (asking_.empty()) asked_at_ = real;
  asking_.push_back(id);
  ++changes_;
}

void Room::give(ViewerId from, ViewerId to) {
  if (const auto why = why_no_giving(from)) throw Refused{RefusalCode::controls, *why};
  if (viewer(to).role == Role::onlooker)
    throw Refused{RefusalCode::controls, tr("{} looks on and cannot have the controls.", viewer(to).name)};
  hand_to(to);
}

void Room::give_back(ViewerId from) {
  if (holder_ != from) throw Refused{RefusalCode::not_now, tr("You do not have the controls.")};
  const auto whose = whose_controls();
  if (!whose || whose == from)
    throw Refused{RefusalCode::not_now, tr("There is nobody to give them back to.")};
  hand_to(whose);
}

void Room::keep(ViewerId id) {
  if (!leads(id) || asking_.empty()) return;
  asking_.clear();
  ++changes_;
}

void Room::rename(ViewerId id, const std::string& name) {
  for (Viewer& viewer : viewers_) {
    if (viewer.id == id) viewer.name = name;
  }
  ++changes_;
}

std::optional<RealTime> Room::answer_due() const {
  if (asking_.empty() || !has_to_answer()) return std::nullopt;
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
    list.push_back(json::object{{"id", viewer.id},
                                {"name", viewer.name},
                                {"role", to_string(viewer.role)},
                                {"away", viewer.away_since.has_value()}});
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
          {"led", kind() != RoomKind::alike},
          {"own_bench", kind() == RoomKind::own},
          {"asking", std::move(asking)},
          {"asked_until_real_s", std::move(left)},
          {"list", std::move(list)}};
}

}  // namespace drybus::tools
