// Facts of devices and their values as people write them: one reading for scripts and for command lines.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "model/family/family.h"
#include "model/people/script.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// The facts that a kind of device has, in the order in which they are told.
std::span<const model::Fact> facts_of(bool plate);

/// "23/4/1", as the family's plates can give it; any where there is no family.
Quantity<model::Address> parse_address_of(const model::Family* family, std::string_view written);

/// The value in the words in which facts are told, so that it can be compared with them: "100%" and "100 %" are one.
/// Refuses what the fact of such a device can never be. REQUIRES: fact is not Fact::findings.
Quantity<std::string> parse_fact_value(const model::Family* family, bool plate, model::Fact fact,
                                       std::string_view written);

/// "'M1.mode is setpu': unknown mode 'setpu'; expected one of: normal, setup. Did you mean 'setup'?"
std::string refusal(std::string_view asked, const QuantityError& error);

}  // namespace drybus::tools
