// An address for every module and a number for every plate of a site, before anything is touched.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "model/site/site.h"

namespace drybus::model {

/// Chance that some two of `sites` sites have the same number when each takes one of `numbers` at random: the
/// birthday product, 1 - (1 - 1/K)(1 - 2/K)...
double chance_some_two_clash(unsigned numbers, unsigned sites);

/// Chance that at least one of `neighbours` has the number that we took: 1 - (1 - 1/K)^N.
double chance_mine_is_hit(unsigned numbers, unsigned neighbours);

struct PlanOptions {
  /// Addresses by the name of the module that a schedule of before gave it.
  std::vector<std::pair<std::string, Address>> kept;
  std::optional<std::uint8_t> site_number;  ///< wanted in place of the plates' own
  /// By module: the plates that it shall have its address from; empty: any.
  std::vector<std::vector<DeviceId>> plates{};
};

/// Why a site number is what it is.
enum class NumberReason : std::uint8_t { as_given, was_factory, was_neighbours, wanted };

struct SiteNumber {
  std::uint8_t given = 0;  ///< as the plates' switches stand in the file
  std::uint8_t planned = 0;
  NumberReason reason = NumberReason::as_given;
};

/// Where a module's address comes from.
enum class AddressOrigin : std::uint8_t { intended, kept, proposed };
std::string_view to_string(AddressOrigin origin);

struct ScheduleRow {
  DeviceId module = no_device;
  Address address;
  AddressOrigin origin = AddressOrigin::proposed;
  std::vector<DeviceId> plates;  ///< that can assign it, the nearest first
  bool held_already = false;     ///< the module stores this address when work begins
};

/// Which part of what a site says of a device.
enum class PlanPart : std::uint8_t { number, load, cable };

/// Something that cannot be as the site says.
struct PlanClash {
  DeviceId device = no_device;
  std::string what;
  std::string expected;
  PlanPart part = PlanPart::number;
};

struct Plan {
  Site site;  ///< with the planned numbers on its plates, and every address intended
  std::vector<SiteNumber> numbers;
  std::vector<ScheduleRow> rows;  ///< our own modules, in the order of the site
  std::vector<PlanClash> clashes;
  std::vector<std::string> notes;
  unsigned possible_numbers = 0;  ///< site numbers that the switches can show
};

/// Zones go by the nearest plate, channels from 1 up in the order of the site; what is intended or kept
/// stays, and circuits that come later get what is free. The number proposed is keyed by the site's first
/// plate, so that not everybody who plans gets the same, and that adding circuits or plates does not change
/// it.
Plan make_plan(const Site& site, const PlanOptions& options = {});

}  // namespace drybus::model
