#include "tools/script/fact_value.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg_as;
using model::tr;

namespace {

using model::Fact;
using model::Pattern;
using Words = std::span<const std::string_view>;

/// No module refuses, and no plate is identified.
bool can_show(bool plate, Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
    case Pattern::blip:
    case Pattern::blink:
      return true;
    case Pattern::breathe:
    case Pattern::steady:
      return !plate;
    case Pattern::refuse:
      return plate;
  }
  return false;
}

/// What an indicator can show, in the order in which people are told.
Words patterns_of(bool plate) {
  constexpr std::array in_order = {Pattern::dark,   Pattern::blink, Pattern::breathe,
                                   Pattern::steady, Pattern::blip,  Pattern::refuse};
  static_assert(in_order.size() == sim::count_of<Pattern>);
  const auto names = [&](bool of_plate) {
    std::vector<std::string_view> words;
    for (const Pattern pattern : in_order) {
      if (can_show(of_plate, pattern)) words.push_back(to_string(pattern));
    }
    return words;
  };
  static const auto of_plates = names(true);
  static const auto of_modules = names(false);
  return plate ? Words{of_plates} : Words{of_modules};
}

Quantity<std::string> choice(std::string_view what, std::string_view written, Words right) {
  if (std::find(right.begin(), right.end(), written) != right.end()) return std::string{written};
  return QuantityError{tr("unknown {} '{}'", in_words_spoken(what, "what"), written), one_of(right),
                       nearest(written, right)};
}

Quantity<std::string> level(std::string_view written) {
  const auto level = parse_percent(written);
  if (!level) return level.error();
  return model::percent_text(*level);
}

Quantity<std::string> number(std::string_view written, std::uint64_t most) {
  const auto number = parse_whole(written);
  if (!number) return number.error();
  if (*number > most) {
    return QuantityError{tr("{} is out of range", *number), tr("a whole number from 0 to {}", most), {}};
  }
  return fmt::format("{}", *number);
}

unsigned largest(const AddressBounds& bounds, Fact fact) {
  return fact == Fact::channel ? bounds.channel : fact == Fact::site ? bounds.site : bounds.zone;
}

}  // namespace

std::span<const Fact> facts_of(bool plate) {
  static constexpr std::array of_plates = {Fact::indicator, Fact::mode, Fact::channel, Fact::site,
                                           Fact::zone};
  static constexpr std::array of_modules = {Fact::indicator, Fact::load,  Fact::mode,
                                            Fact::address,   Fact::level, Fact::power_up,
                                            Fact::site,      Fact::zone,  Fact::channel};
  return plate ? std::span<const Fact>{of_plates} : std::span<const Fact>{of_modules};
}

AddressBounds bounds_of(const model::Family* family) {
  if (family == nullptr) return any_address;
  const model::PlateFamily& plate = family->plate;
  return {plate.site_switches.largest(), plate.zone_switches.largest(), plate.channels};
}

AddressBounds largest_of(const AddressBounds& a, const AddressBounds& b) {
  return {std::max(a.site, b.site), std::max(a.zone, b.zone), std::max(a.channel, b.channel)};
}

AddressBounds bounds_of(const model::Site& site) {
  AddressBounds most;
  site.each_family([&](const model::Family& each) { most = largest_of(most, bounds_of(&each)); });
  return most;
}

Quantity<model::Address> parse_address_of(const AddressBounds& bounds, std::string_view written) {
  const auto address = model::parse_address(written);
  if (!address) {
    return QuantityError{tr("'{}' is not an address", written), tr("site/zone/channel, such as 23/4/1"), {}};
  }
  const auto impossible = [](std::string what, int least, unsigned most) {
    return QuantityError{std::move(what), tr("{} to {}", least, most), {}};
  };
  if (address->zone == 0) return impossible(tr("zone 0 cannot be assigned"), 1, bounds.zone);
  if (address->channel == 0) return impossible(tr("channel 0 cannot be assigned"), 1, bounds.channel);
  if (address->site > bounds.site)
    return impossible(tr("no plate of this family can be set to site {}", address->site), 0, bounds.site);
  if (address->zone > bounds.zone)
    return impossible(tr("no plate of this family can be set to zone {}", address->zone), 1, bounds.zone);
  if (address->channel > bounds.channel)
    return impossible(tr("no plate of this family has a channel {}", address->channel), 1, bounds.channel);
  return *address;
}

Quantity<std::string> parse_fact_value(const model::Site& site, model::DeviceId device, Fact fact,
                                       std::string_view written, bool families_known) {
  const bool plate = site.is_plate(device);
  const AddressBounds bounds = !families_known ? any_address
                               : plate         ? bounds_of(&site.family_of(device))
                                               : bounds_of(site);
  switch (fact) {
    case Fact::indicator:
      return choice(msg_as("what", "pattern"), written, patterns_of(plate));
    case Fact::mode:
      return choice(msg_as("what", "mode"), written, words::modes());
    case Fact::power_up:
      return choice(msg_as("what", "power-up mode"), written, words::power_ups());
    case Fact::load:
      if (written == "lit" || written == "dark") return std::string{written};
      return level(written);
    case Fact::level:
      return level(written);
    case Fact::address: {
      if (written == "none") return std::string{written};
      const auto address = parse_address_of(bounds, written);
      if (!address) return address.error();
      return model::to_string(*address);
    }
    case Fact::channel:
    case Fact::site:
    case Fact::zone:
      return number(written, largest(bounds, fact));
    case Fact::findings:
      break;
  }
  return std::string{written};
}

std::string refusal(std::string_view asked, const QuantityError& error) {
  std::string text = fmt::format("'{}': {}", asked, error.message);
  if (!error.expected.empty()) text += tr("; expected {}", error.expected);
  if (!error.suggestion.empty()) text += tr(". Did you mean '{}'?", error.suggestion);
  return text;
}

}  // namespace drybus::tools
