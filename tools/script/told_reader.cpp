// What only reports have: devices told without a fact, switches that were read, several steps in a word.

#include <algorithm>
#include <array>
#include <charconv>

#include "model/call/told.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/fact_value.h"
#include "tools/script/keys.h"
#include "tools/script/step_reader.h"
#include "tools/script/told_words.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::Check;
using model::DeviceId;
using model::Fact;
using model::tr;

namespace {

/// What callers may say of a lamp, where nothing says whether lamp or load is meant.
std::string lamp_word(const std::string& written) {
  static constexpr std::array verbs = {std::pair{"blinks", "blink"}, std::pair{"breathes", "breathe"},
                                       std::pair{"blips", "blip"}, std::pair{"refuses", "refuse"}};
  for (const auto& [verb, word] : verbs) {
    if (written == verb || written == word) return word;
  }
  return {};
}

QuantityError no_switches(std::string_view written) {
  static constexpr std::array<std::string_view, 1> word = {"unknown"};
  return {tr("'{}' is not how switches are set", written), tr("site/zone, such as 23/4, or unknown"),
          nearest(written, word)};
}

}  // namespace

std::string told_value(Fact fact, const std::string& written) {
  const bool load = fact == Fact::load;
  if (written == "on" || written == "steady") return load ? "lit" : "steady";
  if (written == "off") return "dark";
  if (const std::string lamp = fact == Fact::indicator ? lamp_word(written) : ""; !lamp.empty()) return lamp;
  return written;
}

Quantity<std::pair<std::uint8_t, std::uint8_t>> parse_switches(const model::Family* family,
                                                               std::string_view written) {
  const std::size_t slash = written.find('/');
  if (slash == std::string_view::npos) return no_switches(written);
  std::array<std::uint8_t, 2> numbers{};
  const std::array parts = {written.substr(0, slash), written.substr(slash + 1)};
  const std::array<unsigned, 2> most = {family == nullptr ? 255u : family->plate.site_switches.largest(),
                                        family == nullptr ? 255u : family->plate.zone_switches.largest()};
  for (std::size_t i = 0; i < 2; ++i) {
    unsigned number = 0;
    const auto [end, error] = std::from_chars(parts[i].data(), parts[i].data() + parts[i].size(), number);
    if (error != std::errc{} || end != parts[i].data() + parts[i].size()) return no_switches(written);
    if (number > most[i]) {
      return QuantityError{i == 0 ? tr("no plate of this family can be set to site {}", number)
                                  : tr("no plate of this family can be set to zone {}", number),
                           tr("0 to {}", most[i]),
                           {}};
    }
    numbers[i] = static_cast<std::uint8_t>(number);
  }
  return std::pair{numbers[0], numbers[1]};
}

/// Where the fact begins in "M1.load"; in a report labels may have dots in them, and devices stand alone.
std::size_t StepReader::dot_in(const Node& key) const {
  if (told_ == nullptr) return key.text.find('.');
  return index_.names_device(key.text) ? std::string::npos : key.text.rfind('.');
}

std::optional<Check> StepReader::read_told_device(const Node& key, const Node& value) {
  const auto device = index_.device(key.place, key.text);
  const auto text = read_text(complaints_, value);
  if (!device || !text) return std::nullopt;
  Check check;
  check.seen = true;
  check.mark = key.place.mark;
  check.device = *device;
  const bool lamp = index_.site().is_plate(*device) || !lamp_word(*text).empty();
  check.fact = lamp ? Fact::indicator : Fact::load;
  const auto wanted = read_wanted_value(value, check);
  if (!wanted) return std::nullopt;
  check.wanted = {*wanted};
  return check;
}

/// "P1.switches: 23/4". True when it is one, read or complained of.
bool StepReader::read_switch_reading(const Node& key, const Node& value) {
  constexpr std::string_view ending = ".switches";
  if (told_ == nullptr || !key.text.ends_with(ending)) return false;
  const std::string name = key.text.substr(0, key.text.size() - ending.size());
  const auto device = index_.device(key.place_of(0, name.size()), name);
  const auto text = read_text(complaints_, value);
  if (!device || !text) return true;
  if (!index_.site().is_plate(*device)) {
    complaints_.add(key.place, tr("{} is a module, and has no switches", name), tr("a plate"));
    return true;
  }
  const auto numbers = parse_switches(family_, *text);
  if (numbers) {
    told_->read.push_back({*device, (*numbers).first, (*numbers).second, key.place.mark});
  } else {
    complain_of(complaints_, value, numbers.error());
  }
  return true;
}

std::vector<DeviceId> StepReader::read_devices(const Node& list, bool plates) {
  std::vector<DeviceId> devices;
  const std::vector<const Node*> one = {&list};
  for (const Node* item : list.kind == Node::Kind::list ? list.items : one) {
    const auto name = read_text(complaints_, *item);
    const auto device = name ? index_.device(item->place, *name) : std::nullopt;
    if (!device) continue;
    if (index_.site().is_plate(*device) != plates) {
      complaints_.add(item->place, plates ? tr("{} is a module", *name) : tr("{} is a plate", *name),
                      plates ? tr("a plate") : tr("a module"));
    } else {
      devices.push_back(*device);
    }
  }
  return devices;
}

/// "addressed: {with: P1, modules: [M1, M2]}"
void StepReader::read_addressed(const Action& action, Steps& into) {
  const Fields fields{complaints_, *action.value, "addressing", keys::addressed};
  const Node* with = fields.need("with");
  const Node* modules = fields.need("modules");
  if (with == nullptr || modules == nullptr) return;
  const auto plate = read_devices(*with, true);
  const auto addressed = read_devices(*modules, false);
  if (plate.size() != 1 || family_ == nullptr) return;
  if (addressed.empty()) complaints_.add(modules->place, tr("no module"), "[M1, M2]");
  if (addressed.size() > index_.site().modules.size())
    return complaints_.add(modules->place, tr("more modules than there are"));
  for (model::Step& step : model::addressed_steps(index_.site(), plate.front(), addressed))
    add(into, std::move(step), action.place);
}

/// "unsure: yes" on a step; on a look it may stand within.
void StepReader::read_unsure(const Node& node, std::string_view action, const Place& place) {
  const Node* marked = node.find("unsure");
  if (marked == nullptr || !read_yes_no(complaints_, *marked).value_or(false)) return;
  const bool look = action == "see" || action == "seen";
  (look ? told_->unsure : told_->unsure_steps).insert(ToldSteps::where(place.mark));
}

std::vector<StepReader::Never> StepReader::read_never(const Node& node) {
  std::vector<Never> all;
  const std::vector<const Node*> one = {&node};
  for (const Node* item : node.kind == Node::Kind::list ? node.items : one) {
    const auto text = read_text(complaints_, *item);
    if (!text) continue;
    const std::size_t named = index_.device_name_in(*text);
    const auto verbs = words::split(std::string_view{*text}.substr(named));
    const std::string_view verb = verbs.size() == 1 ? verbs[0].text : std::string_view{};
    if (named == 0 || (verb != "reacts" && verb != "blips")) {
      complaints_.add(item->place, tr("what does not happen is not clear: '{}'", *text),
                      tr("a module and 'reacts' or 'blips', such as M3 reacts"));
      continue;
    }
    const auto device = index_.device(item->place_of(0, named), std::string_view{*text}.substr(0, named));
    if (!device) continue;
    if (index_.site().is_plate(*device)) {
      complaints_.add(item->place, tr("{} is a plate", index_.site().name(*device)), tr("a module"));
    } else {
      all.push_back({*device, verb == "reacts" ? Fact::load : Fact::indicator, item->place});
    }
  }
  return all;
}

}  // namespace drybus::tools
