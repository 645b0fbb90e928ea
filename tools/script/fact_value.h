// Facts of devices and their values as people write them: one reading for scripts and for command lines.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "model/family/family.h"
#include "model/people/script.h"
#include "model/site/site.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// The facts that a kind of device has, in the order in which they are told.
std::span<const model::Fact> facts_of(bool plate);

/// The largest numbers that some plate can give.
struct AddressBounds {
  unsigned site = 0;
  unsigned zone = 0;
  unsigned channel = 0;
};
inline constexpr AddressBounds any_address{255, 255, 255};

/// As plates of one family can give them; any where there is no family.
AddressBounds bounds_of(const model::Family* family);
AddressBounds largest_of(const AddressBounds& a, const AddressBounds& b);
/// As some family of a site can: a module takes what any of its plates offers.
AddressBounds bounds_of(const model::Site& site);

/// "23/4/1", as some plate can give it.
Quantity<model::Address> parse_address_of(const AddressBounds& bounds, std::string_view written);

/// The value in the words in which facts are told, so that it can be compared with them: "100%" and "100 %" are one.
/// Refuses what the fact of such a device can never be; of numbers any, where `families_known` is not so. REQUIRES: fact
/// is not Fact::findings.
Quantity<std::string> parse_fact_value(const model::Site& site, model::DeviceId device, model::Fact fact,
                                       std::string_view written, bool families_known = true);

/// "'M1.mode is setpu': unknown mode 'setpu'; expected one of: normal, setup. Did you mean 'setup'?"
std::string refusal(std::string_view asked, const QuantityError& error);

}  // namespace drybus::tools
