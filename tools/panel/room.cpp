#include "tools/panel/room.h"

#include <fmt/format.h>

#include <algorithm>

namespace drybus::tools {

namespace json = boost::json;

ViewerId Room::join() {
  const ViewerId id = next_id_++;
  viewers_.push_back({id, fmt::format("viewer {}", id)});
  if (!holder_) holder_ = id;
  ++changes_;
  return id;
}

void Room::leave(ViewerId id) {
  std::erase_if(viewers_, [&](const Viewer& viewer) { return viewer.id == id; });
  std::erase(asking_, id);
  ++changes_;
  if (holder_ != id) return;
  if (!asking_.empty()) return hand_to(asking_.front());
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
  if (!holder_) return hand_to(id);
  if (std::find(asking_.begin(), asking_.end(), id) != asking_.end()) return;
  if (asking_.empty()) asked_at_ = real;
  asking_.push_back(id);
  ++changes_;
}

void Room::give(ViewerId from, ViewerId to) {
  if (holder_ != from) throw Refused{RefusalCode::controls, "Only who holds the controls can give them."};
  hand_to(viewer(to).id);
}

void Room::keep(ViewerId id) {
  if (holder_ != id || asking_.empty()) return;
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
  if (asking_.empty()) return std::nullopt;
  return asked_at_ + time_to_answer;
}

void Room::at_real(RealTime real) {
  const auto due = answer_due();
  if (due && real >= *due) hand_to(asking_.front());
}

json::object Room::to_json(ViewerId you, RealTime real) const {
  json::array list;
  for (const Viewer& viewer : viewers_)
    list.push_back(json::object{{"id", viewer.id}, {"name", viewer.name}});
  json::array asking;
  for (const ViewerId id : asking_) asking.emplace_back(id);
  json::value left;
  if (const auto due = answer_due())
    left = std::chrono::duration<double>(std::max(*due - real, RealTime::zero())).count();
  return {{"type", "viewers"},
          {"you", you},
          {"count", viewers_.size()},
          {"holder", holder_ ? json::value(*holder_) : json::value(nullptr)},
          {"you_hold", holder_ == you},
          {"asking", std::move(asking)},
          {"asked_until_real_s", std::move(left)},
          {"list", std::move(list)}};
}

}  // namespace drybus::tools
