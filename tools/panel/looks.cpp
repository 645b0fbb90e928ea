#include "tools/panel/looks.h"

namespace drybus::tools {

Looks::Looks(const model::Site& site, const std::set<model::PlaceId>& places) {
  flags_.emplace(site.device_count(), false);
  std::size_t count = 0;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<model::DeviceId>(i);
    if (!places.contains(site.place(device))) continue;
    if (++count > most_devices_looked_at) {
      ++left_out_;
    } else {
      (*flags_)[i] = true;
    }
  }
}

std::vector<model::DeviceId> Looks::devices(const model::Site& site) const {
  std::vector<model::DeviceId> all;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    if (at(static_cast<model::DeviceId>(i))) all.push_back(static_cast<model::DeviceId>(i));
  }
  return all;
}

}  // namespace drybus::tools
