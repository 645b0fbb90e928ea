// A large site is told in parts: each page has some of its rooms open, and is told of what happens there.
#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/panel/panel.h"
#include "tools/panel/request.h"
#include "tools/panel/state_json.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

/// Those that they asked for, and the one in which the installer stands.
std::set<model::PlaceId> Panel::rooms_of(ViewerId id) const {
  std::set<model::PlaceId> rooms;
  if (const auto asked = rooms_.find(id); asked != rooms_.end()) rooms = asked->second;
  const model::PlaceId place = bench_.run().installer().place;
  if (place != model::no_place) rooms.insert(place);
  return rooms;
}

Looks Panel::looks_of(ViewerId id) const {
  const model::Site& site = bench_.run().scenario().site;
  return is_told_in_parts(site) ? Looks{site, rooms_of(id)} : Looks{};
}

/// What all look at together is watched for news.
void Panel::gather_looks() {
  const model::Site& site = bench_.run().scenario().site;
  if (!is_told_in_parts(site)) return;
  std::erase_if(rooms_, [&](const auto& each) { return room_->find(each.first) == nullptr; });
  std::set<model::PlaceId> all;
  if (bench_.run().installer().place != model::no_place) all.insert(bench_.run().installer().place);
  for (const auto& [id, rooms] : rooms_) all.insert(rooms.begin(), rooms.end());
  if (all == gathered_ && !all.empty()) return;
  gathered_ = all;
  reporter_.look_at(bench_, Looks{site, all});
}

json::object Panel::look_at_rooms(ViewerId id, const Request& request, RealTime real) {
  request.allow({"rooms"});
  const model::Site& site = bench_.run().scenario().site;
  if (!is_told_in_parts(site))
    throw Refused{RefusalCode::not_now, tr("All rooms of this site are told anyway.")};
  std::set<model::PlaceId> rooms;
  for (const std::string& name : request.words("rooms", most_rooms_at_once)) {
    const auto found = std::find_if(site.places.begin(), site.places.end(),
                                    [&](const model::Place& place) { return place.name == name; });
    if (found == site.places.end()) throw Refused{RefusalCode::unknown, tr("There is no place '{}'.", name)};
    rooms.insert(static_cast<model::PlaceId>(found - site.places.begin()));
  }
  tell_news(real);
  rooms_[id] = std::move(rooms);
  gather_looks();
  return part_json(bench_, room_->curtain(), looks_of(id));
}

void Panel::tell_news_in_parts(const json::object& news, RealTime real) {
  const model::Site& site = bench_.run().scenario().site;
  const bool whole = news.at("type").as_string() == "state";
  for (const Room::Viewer& viewer : room_->viewers()) {
    if (viewer.away_since) continue;
    if (whole) {
      letters_.push_back({viewer.id, Letter::Kind::news, whole_state(viewer.id, real)});
      continue;
    }
    json::object told = news;
    if (const json::value* devices = news.if_contains("devices")) {
      const std::set<model::PlaceId> rooms = rooms_of(viewer.id);
      json::object theirs;
      for (const auto& [name, device] : devices->as_object()) {
        const auto id = site.find_device(std::string{name});
        if (id && rooms.contains(site.place(*id))) theirs[name] = device;
      }
      told["devices"] = std::move(theirs);
    }
    send(viewer.id, Letter::Kind::news, told);
  }
}

}  // namespace drybus::tools
