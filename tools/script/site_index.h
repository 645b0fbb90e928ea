// Finds devices, places and links of a site by their names, and the nearest right name to a wrong one.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "model/site/site.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// A view of a site that must outlive it. Links are known only after the site's network was built.
class SiteIndex {
 public:
  /// `labels`: devices are found by their labels, too, upper and lower case alike.
  SiteIndex(const model::Site& site, Complaints& complaints, bool labels = false);

  // Each complains at `place` when there is none of that name.
  std::optional<model::DeviceId> device(const Place& place, std::string_view name) const;
  std::optional<model::PlaceId> place(const Place& place, std::string_view name) const;
  std::optional<std::uint32_t> link(const Place& place, std::string_view name) const;

  /// Nothing, and no complaint, when there is none of that name.
  [[nodiscard]] std::optional<model::DeviceId> find_device(std::string_view name) const;
  /// Whether it names one device or more; a label does where labels count.
  [[nodiscard]] bool names_device(std::string_view name) const;
  /// How many bytes at the start of a text name a device: the most whole words that do, or else the first word.
  [[nodiscard]] std::size_t device_name_in(std::string_view text) const;

  [[nodiscard]] const model::Site& site() const { return site_; }
  [[nodiscard]] const std::vector<std::string>& device_names() const { return device_names_; }

 private:
  const model::Site& site_;
  Complaints& complaints_;
  std::vector<std::string> device_names_;
  std::vector<std::string> place_names_;
  std::vector<std::string> link_names_;
  std::unordered_map<std::string, model::DeviceId> devices_;
  std::unordered_multimap<std::string, model::DeviceId> labels_;  ///< in small letters
  std::unordered_map<std::string, model::PlaceId> places_;
  std::unordered_map<std::string, std::uint32_t> links_;
};

}  // namespace drybus::tools
