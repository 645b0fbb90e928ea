// What a page looks at: all of a site, or of a large one the rooms that are open there. The rest is not told.
#pragma once

#include <optional>
#include <set>
#include <vector>

#include "model/site/site.h"

namespace drybus::tools {

/// A site with more devices than this is told in parts.
inline constexpr std::size_t most_devices_at_once = 200;
/// So many rooms one page has open, and so many devices in them; the rest of a larger room is left out.
inline constexpr std::size_t most_rooms_at_once = 12;
inline constexpr std::size_t most_devices_looked_at = 400;

inline bool is_told_in_parts(const model::Site& site) {
  return site.device_count() > most_devices_at_once;
}

class Looks {
 public:
  /// At everything.
  Looks() = default;
  Looks(const model::Site& site, const std::set<model::PlaceId>& places);

  [[nodiscard]] bool all() const { return !flags_; }
  [[nodiscard]] bool at(model::DeviceId device) const { return !flags_ || (*flags_)[device]; }
  /// Those looked at, in the order of the site.
  [[nodiscard]] std::vector<model::DeviceId> devices(const model::Site& site) const;
  /// Devices in these rooms that are left out, as they are too many.
  [[nodiscard]] std::size_t left_out() const { return left_out_; }

 private:
  std::optional<std::vector<bool>> flags_;
  std::size_t left_out_ = 0;
};

}  // namespace drybus::tools
