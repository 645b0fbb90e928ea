#include "tools/script/site_index.h"

#include <algorithm>

#include "model/words/words.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace {

template <class Id>
std::optional<Id> look_up(const std::unordered_map<std::string, Id>& names, std::string_view name) {
  const auto found = names.find(std::string{name});
  if (found == names.end()) return std::nullopt;
  return found->second;
}

std::string in_small_letters(std::string_view text) {
  std::string small{text};
  std::transform(small.begin(), small.end(), small.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return small;
}

}  // namespace

SiteIndex::SiteIndex(const model::Site& site, Complaints& complaints, bool labels)
    : site_(site), complaints_(complaints) {
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    device_names_.push_back(site.name(static_cast<model::DeviceId>(i)));
    devices_.emplace(device_names_.back(), static_cast<model::DeviceId>(i));
    const std::string& title = site.title(static_cast<model::DeviceId>(i));
    if (labels && title != device_names_.back())
      labels_.emplace(in_small_letters(title), static_cast<model::DeviceId>(i));
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
  std::vector<model::DeviceId> found;
  if (const auto named = find_device(name)) found.push_back(*named);
  const auto [first, last] = labels_.equal_range(in_small_letters(name));
  for (auto label = first; label != last; ++label) found.push_back(label->second);
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  if (found.size() == 1) return found.front();
  if (found.size() > 1) {
    complaints_.add(place, tr("'{}' is both {} and {}", name, site_.name(found[0]), site_.name(found[1])),
                    tr("the name of one of them"));
  } else {
    // Where labels count, people write them, and misspell them.
    std::vector<std::string> right = device_names_;
    for (const std::string& device_name : device_names_) {
      const std::string& title = labels_.empty() ? device_name : site_.title(devices_.at(device_name));
      if (title != device_name) right.push_back(title);
    }
    complain_of_unknown(complaints_, place, msg_as("what", "device"), name,
                        std::span<const std::string>{right});
  }
  return std::nullopt;
}

bool SiteIndex::names_device(std::string_view name) const {
  return find_device(name) || labels_.contains(in_small_letters(name));
}

std::size_t SiteIndex::device_name_in(std::string_view text) const {
  const auto parts = words::split(text);
  if (parts.empty()) return 0;
  for (std::size_t count = labels_.empty() ? 1 : parts.size(); count > 0; --count) {
    const std::size_t end = parts[count - 1].offset + parts[count - 1].text.size();
    if (names_device(text.substr(parts[0].offset, end - parts[0].offset))) return end;
  }
  return parts[0].offset + parts[0].text.size();
}

std::optional<model::PlaceId> SiteIndex::place(const Place& place, std::string_view name) const {
  const auto found = look_up(places_, name);
  if (!found)
    complain_of_unknown(complaints_, place, msg_as("what", "place"), name,
                        std::span<const std::string>{place_names_});
  return found;
}

std::optional<std::uint32_t> SiteIndex::link(const Place& place, std::string_view name) const {
  const auto found = look_up(links_, name);
  if (!found)
    complain_of_unknown(complaints_, place, msg_as("what", "link"), name,
                        std::span<const std::string>{link_names_});
  return found;
}

}  // namespace drybus::tools
