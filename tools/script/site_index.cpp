#include "tools/script/site_index.h"

namespace drybus::tools {

namespace {

template <class Id>
std::optional<Id> look_up(const std::unordered_map<std::string, Id>& names, std::string_view name) {
  const auto found = names.find(std::string{name});
  if (found == names.end()) return std::nullopt;
  return found->second;
}

}  // namespace

SiteIndex::SiteIndex(const model::Site& site, Complaints& complaints) : site_(site), complaints_(complaints) {
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    device_names_.push_back(site.name(static_cast<model::DeviceId>(i)));
    devices_.emplace(device_names_.back(), static_cast<model::DeviceId>(i));
  }
  for (std::size_t i = 0; i < site.places.size(); ++i) {
    place_names_.push_back(site.places[i].name);
    places_.emplace(place_names_.back(), static_cast<model::PlaceId>(i));
  }
  for (std::uint32_t i = 0; i < site.network.links.size(); ++i) {
    const auto& [a, b] = site.network.links[i];
    link_names_.push_back(site.link_name(i));
    links_.emplace(link_names_.back(), i);
    links_.emplace(site.node_name(b) + "-" + site.node_name(a), i);
  }
}

std::optional<model::DeviceId> SiteIndex::find_device(std::string_view name) const {
  return look_up(devices_, name);
}

std::optional<model::DeviceId> SiteIndex::device(const Place& place, std::string_view name) const {
  const auto found = find_device(name);
  if (!found) {
    complain_of_unknown(complaints_, place, "device", name, std::span<const std::string>{device_names_});
  }
  return found;
}

std::optional<model::PlaceId> SiteIndex::place(const Place& place, std::string_view name) const {
  const auto found = look_up(places_, name);
  if (!found)
    complain_of_unknown(complaints_, place, "place", name, std::span<const std::string>{place_names_});
  return found;
}

std::optional<std::uint32_t> SiteIndex::link(const Place& place, std::string_view name) const {
  const auto found = look_up(links_, name);
  if (!found)
    complain_of_unknown(complaints_, place, "link", name, std::span<const std::string>{link_names_});
  return found;
}

}  // namespace drybus::tools
