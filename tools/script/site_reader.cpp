#include "tools/script/site_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <deque>
#include <map>
#include <unordered_set>

#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/script/fact_value.h"
#include "tools/script/keys.h"
#include "tools/script/site_index.h"
#include "tools/script/told_words.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::Address;
using model::msg_as;
using model::PlaceId;
using model::tr;

std::vector<sim::Duration> walks_between(std::size_t places, const std::vector<model::WalkLeg>& given,
                                         const std::vector<std::optional<model::Spot>>& spots) {
  std::vector<model::WalkLeg> legs = given;
  for (PlaceId a = 0; a < places; ++a) {
    for (PlaceId b = 0; b < a; ++b) {
      if (!spots[a] || !spots[b]) continue;
      const double walk_s = model::distance_m(*spots[a], *spots[b]) / walking_speed_m_per_s;
      legs.push_back({a, b, sim::Duration{std::llround(walk_s * 1e9)}});
    }
  }
  std::vector<sim::Duration> walks = model::shortest_walks(places, legs, unknown_walk);
  // What somebody wrote holds, even where a way round would be shorter.
  for (const model::WalkLeg& leg : given) {
    walks[leg.a * places + leg.b] = leg.time;
    walks[leg.b * places + leg.a] = leg.time;
  }
  return walks;
}

void read_switch_number(Complaints& complaints, const Node& node, const model::SwitchBank* bank,
                        std::uint8_t& into) {
  const std::uint64_t most = bank == nullptr ? 255 : bank->largest();
  read_whole_into(complaints, &node, into, 0, most);
}

std::optional<Address> address_from(const Node& node, const AddressBounds& bounds, Complaints& complaints) {
  const auto text = read_text(complaints, node);
  if (!text) return std::nullopt;
  const auto address = parse_address_of(bounds, *text);
  if (address) return *address;
  complain_of(complaints, node, address.error());
  return std::nullopt;
}

namespace {

class SiteReader {
 public:
  SiteReader(const model::Family* family, const FamilyLoader& load_family, Complaints& complaints,
             bool unplanned, ToldSite* told)
      : family_(family),
        load_family_(load_family),
        complaints_(complaints),
        unplanned_(unplanned),
        told_(told) {
    if (family != nullptr) read_.site.family = *family;
  }

  ReadSite read(const Fields& fields) {
    if (const Node* generations = fields.find("generations")) read_generations(*generations);
    read_places(fields.find("places"));
    if (const Node* plates = fields.need("plates")) read_plates(*plates);
    if (const Node* modules = fields.need("modules")) read_modules(*modules);
    read_.site.other_families = {families_.begin(), families_.end()};
    if (told_ != nullptr) guess_switches(fields);
    model::build_network(read_.site, bus_from(fields, read_.site, read_.spots, family_, complaints_));
    return std::move(read_);
  }

 private:
  // --- places ---

  void read_places(const Node* node) {
    if (node != nullptr && is_kind(complaints_, *node, Node::Kind::map, "places")) {
      for (const Node::Entry& entry : node->entries) add_place(*entry.key);
    }
    if (read_.site.places.empty()) {
      if (node != nullptr && node->kind == Node::Kind::map) complaints_.add(node->place, tr("no places"));
      read_.site.places.push_back({"site"});
    }
    read_.spots.resize(read_.site.places.size());
    std::vector<model::WalkLeg> walks;
    if (node != nullptr && node->kind == Node::Kind::map) walks = read_place_details(*node);
    read_.site.walks = walks_between(read_.site.places.size(), walks, read_.spots);
  }

  void add_place(const Node& key) {
    if (character_count(key.text) > 48 || key.text.empty() || key.text.front() == ' ' ||
        key.text.back() == ' ' || key.text.find('\n') != std::string::npos) {
      complaints_.add(key.place, tr("'{}' cannot name a place", key.text),
                      tr("a name of up to 48 characters"));
    }
    if (read_.site.places.size() == max_places) {
      complaints_.add(key.place, tr("more than {} places", max_places));
    }
    if (read_.site.places.size() <= max_places) read_.site.places.push_back({key.text});
  }

  std::vector<model::WalkLeg> read_place_details(const Node& places) {
    const SiteIndex index{read_.site, complaints_};
    std::vector<model::WalkLeg> walks;
    const std::size_t count = std::min(places.entries.size(), read_.site.places.size());
    for (PlaceId id = 0; id < count; ++id) {
      const Node& node = *places.entries[id].value;
      if (node.kind == Node::Kind::nothing) continue;
      const Fields fields{complaints_, node, msg_as("what", "a place"), keys::place};
      const Node* at = fields.find("at");
      const Node* floor = fields.find("floor");
      if (at != nullptr) read_.spots[id] = read_spot(*at);
      if (floor != nullptr) read_floor(*floor, at != nullptr, read_.spots[id]);
      if (const Node* walk = fields.find("walk")) read_walks(*walk, id, index, walks);
    }
    return walks;
  }

  std::optional<model::Spot> read_spot(const Node& node) {
    if (node.kind != Node::Kind::list || node.items.size() != 2) {
      complaints_.add(node.place, tr("where a place is takes two distances"), "[3 m, 4.5 m]");
      return std::nullopt;
    }
    model::Spot spot;
    constexpr double furthest_m = 10'000;
    read_with_unit_into(complaints_, node.items[0], "m", -furthest_m, furthest_m, spot.x_m);
    read_with_unit_into(complaints_, node.items[1], "m", -furthest_m, furthest_m, spot.y_m);
    return spot;
  }

  void read_floor(const Node& node, bool has_spot, std::optional<model::Spot>& spot) {
    const auto text = read_text(complaints_, node);
    if (!text) return;
    int floor = 0;
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), floor);
    if (error != std::errc{} || end != text->data() + text->size() || floor < -20 || floor > 200) {
      complaints_.add(node.place, tr("'{}' is not a floor", *text), tr("a whole number from -20 to 200"));
    } else if (spot) {
      spot->floor = floor;
    } else if (!has_spot) {
      complaints_.add(node.place, tr("a floor means nothing without 'at'"), tr("at: [3 m, 4.5 m] beside it"));
    }
  }

  void read_walks(const Node& node, PlaceId from, const SiteIndex& index,
                  std::vector<model::WalkLeg>& walks) {
    if (!is_kind(complaints_, node, Node::Kind::map, "walk")) return;
    for (const Node::Entry& entry : node.entries) {
      const auto to = index.place(entry.key->place, entry.key->text);
      const auto time = read_quantity(complaints_, *entry.value, parse_duration);
      if (!to || !time) continue;
      if (*to == from) {
        complaints_.add(entry.key->place, tr("a walk from a place to itself"));
        continue;
      }
      const auto other = walk_times_.find({std::min(from, *to), std::max(from, *to)});
      if (other != walk_times_.end() && other->second != *time) {
        complaints_.add(entry.value->place, tr("this walk already takes {}", exact_duration(other->second)));
      }
      walk_times_.insert({{std::min(from, *to), std::max(from, *to)}, *time});
      walks.push_back({from, *to, *time});
    }
  }

  // --- devices ---

  bool take_device_name(const Node& key) {
    if (key.text == "all" || key.text == "findings" || key.text == "none" || !is_name(key.text)) {
      complaints_.add(key.place, tr("'{}' cannot name a device", key.text),
                      tr("letters, digits and underscores, a letter first, such as P1"));
      return false;
    }
    if (!device_names_.insert(key.text).second) {
      complaints_.add(key.place, tr("a plate is already called '{}'", key.text));
      return false;
    }
    if (device_names_.size() > max_network_nodes) {
      complaints_.add(key.place, tr("more than {} devices", max_network_nodes));
      return false;
    }
    return true;
  }

  template <class Spec>
  void read_common(const Node& device, const Fields& fields, Spec& spec) {
    if (const Node* label = fields.find("label")) spec.label = read_line(complaints_, *label).value_or("");
    if (const Node* neighbour = fields.find("neighbour")) {
      spec.neighbour = read_yes_no(complaints_, *neighbour).value_or(false);
    }
    const Node* place = fields.find("place");
    if (place == nullptr && read_.site.places.size() > 1) {
      if (device.kind == Node::Kind::map)
        complaints_.add(device.place, tr("a device needs its 'place', as there are several"));
      return;
    }
    if (place == nullptr) return;
    const auto name = read_text(complaints_, *place);
    if (!name) return;
    spec.place = places().place(place->place, *name).value_or(PlaceId{0});
  }

  [[nodiscard]] const SiteIndex& places() {
    if (!place_index_) place_index_.emplace(read_.site, complaints_);
    return *place_index_;
  }

  void read_plates(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "plates")) return;
    for (const Node::Entry& entry : node.entries) {
      if (!take_device_name(*entry.key)) continue;
      model::PlateSpec plate;
      plate.name = entry.key->text;
      if (told_ != nullptr && entry.value->kind == Node::Kind::word) {
        read_told_switches(entry.value, plate);
      } else {
        const Fields fields{complaints_, *entry.value, msg_as("what", "a plate"), keys::plate};
        read_common(*entry.value, fields, plate);
        read_switches(fields, plate);
      }
      read_.site.plates.push_back(std::move(plate));
    }
  }

  void read_switches(const Fields& fields, model::PlateSpec& plate) {
    const model::Family* family = family_of(fields, plate.family);
    const bool open = told_ != nullptr || (unplanned_ && !plate.neighbour);
    const Node* switches = open ? fields.find("switches") : fields.need("switches");
    if (told_ != nullptr && (switches == nullptr || switches->kind == Node::Kind::word)) {
      if (!fields.misspelt("switches")) read_told_switches(switches, plate);
      return;
    }
    if (switches == nullptr) return;
    const Fields numbers{complaints_, *switches, "switches", keys::switches};
    const Node* site = numbers.need("site");
    const Node* zone = numbers.need("zone");
    if (site != nullptr)
      read_switch_number(complaints_, *site, family ? &family->plate.site_switches : nullptr, plate.site);
    if (zone != nullptr)
      read_switch_number(complaints_, *zone, family ? &family->plate.zone_switches : nullptr, plate.zone);
  }

  /// "23/4", or "unknown", which goes without saying.
  void read_told_switches(const Node* node, model::PlateSpec& plate) {
    const auto text = node == nullptr ? std::optional<std::string>{"unknown"} : read_text(complaints_, *node);
    if (!text) return;
    if (*text == "unknown") {
      told_->unread.push_back(static_cast<model::DeviceId>(read_.site.plates.size()));
      return;
    }
    const auto numbers = parse_switches(family_, *text);
    if (!numbers) return complain_of(complaints_, *node, numbers.error());
    plate.site = (*numbers).first;
    plate.zone = (*numbers).second;
  }

  /// Switches that nobody knows are most likely as they are meant to be: as most of the modules there want them, or most
  /// of all modules.
  void guess_switches(const Fields& fields) {
    for (const model::DeviceId unread : told_->unread) {
      model::PlateSpec& plate = read_.site.plates[unread];
      std::map<std::pair<std::uint8_t, std::uint8_t>, std::size_t> wanted;
      for (const model::ModuleSpec& module : read_.site.modules) {
        if (module.neighbour || !module.intended) continue;
        wanted[{module.intended->site, module.intended->zone}] += module.place == plate.place ? 1'000 : 1;
      }
      const auto most = std::max_element(wanted.begin(), wanted.end(),
                                         [](const auto& a, const auto& b) { return a.second < b.second; });
      if (most != wanted.end()) {
        plate.site = most->first.first;
        plate.zone = most->first.second;
      } else if (!complaints_.any()) {
        complaints_.add(fields.map().place,
                        tr("nobody knows how {} is set, and no module says which address it is meant to have",
                           plate.name),
                        tr("an address for each module, such as M1: 23/4/1"));
      }
    }
  }

  /// The device's own family where it names one, else the site's; null where it could not be read.
  const model::Family* family_of(const Fields& fields, std::uint16_t& which) {
    const Node* node = fields.find("family");
    if (node == nullptr) return family_;
    which = take_family(*node);
    return which == 0 ? nullptr : &families_[which - 1u];
  }

  /// One more than its place among the other families; 0 where it cannot be one of them.
  std::uint16_t take_family(const Node& node) {
    auto& others = read_.other_families;
    const auto known = std::find_if(others.begin(), others.end(),
                                    [&](const FamilySource& other) { return other.ref == node.text; });
    if (known != others.end()) return static_cast<std::uint16_t>(known - others.begin() + 1);
    FamilyUse use = load_family_(node);
    if (!use.family) return 0;
    if (family_ != nullptr && use.family->medium != family_->medium) {
      complaints_.add(node.place, tr("'{}' does not speak on this site's kind of bus", use.ref),
                      tr("a family with the same kind of bus"));
      return 0;
    }
    others.push_back({std::move(use.ref), std::move(use.file)});
    families_.push_back(std::move(*use.family));
    return static_cast<std::uint16_t>(others.size());
  }

  /// What plates of the families that were named so far can give; plates stand before modules.
  [[nodiscard]] AddressBounds bounds() const {
    AddressBounds most = bounds_of(family_);
    for (const model::Family& each : families_) most = largest_of(most, bounds_of(&each));
    return most;
  }

  /// Families that a device here may turn out to be of, whatever is said of it.
  void read_generations(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::list, "generations")) return;
    for (const Node* item : node.items) {
      if (is_kind(complaints_, *item, Node::Kind::word, msg_as("what", "a family"))) take_family(*item);
    }
  }

  // --- modules in a word ---

  void read_told_modules(const Node& node) {
    std::vector<std::string> labels;
    if (node.kind == Node::Kind::word) {
      const auto count = read_whole(complaints_, node, 1, 255);
      labels.resize(count.value_or(0));
    }
    for (const Node* item : node.items) labels.push_back(read_line(complaints_, *item).value_or(""));
    if (labels.size() > max_network_nodes)
      return complaints_.add(node.place, tr("more modules than a site can have"));
    for (std::size_t i = 0; i < labels.size(); ++i) {
      model::ModuleSpec module;
      module.name = fmt::format("M{}", i + 1);
      module.label = labels[i] == module.name ? "" : labels[i];
      if (!device_names_.insert(module.name).second)
        return complaints_.add(node.place, tr("a plate is already called '{}'", module.name));
      const std::size_t channels = read_.site.family.plate.channels;
      if (!read_.site.plates.empty() && told_->unread.empty() && i < channels) {
        const model::PlateSpec& plate = read_.site.plates.front();
        module.intended = Address{plate.site, plate.zone, static_cast<std::uint8_t>(i + 1)};
      }
      add_told(std::move(module));
    }
  }

  void add_told(model::ModuleSpec module) {
    module.memory = model::factory_memory(read_.site.family.module);
    told_->told_short.push_back(read_.site.module_id(read_.site.modules.size()));
    read_.site.modules.push_back(std::move(module));
  }

  void read_modules(const Node& node) {
    if (told_ != nullptr && (node.kind == Node::Kind::word || node.kind == Node::Kind::list))
      return read_told_modules(node);
    if (!is_kind(complaints_, node, Node::Kind::map, "modules")) return;
    for (const Node::Entry& entry : node.entries) {
      if (!take_device_name(*entry.key)) continue;
      model::ModuleSpec module;
      module.name = entry.key->text;
      if (told_ != nullptr && entry.value->kind == Node::Kind::word) {
        module.intended = address_from(*entry.value, bounds(), complaints_);
        add_told(std::move(module));
        continue;
      }
      const Fields fields{complaints_, *entry.value, msg_as("what", "a module"), keys::module};
      read_common(*entry.value, fields, module);
      const model::Family* family = family_of(fields, module.family);
      if (const Node* intended = fields.find("intended")) {
        module.intended = address_from(*intended, bounds(), complaints_);
      }
      if (const Node* scenes = fields.find("intended_scenes"))
        read_scenes(*scenes, family, module.intended_scenes);
      read_memory(fields, family, module.memory);
      if (const Node* load = fields.find("load")) module.load = read_load(*load);
      if (const Node* alone = fields.find("do_not_switch"))
        module.do_not_switch = read_yes_no(complaints_, *alone).value_or(true);
      read_.site.modules.push_back(std::move(module));
    }
  }

  std::optional<model::CircuitLoad> read_load(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a load"), keys::load};
    const Node* power = fields.need("power");
    const Node* dimming = fields.need("dimming");
    if (power == nullptr || dimming == nullptr) return std::nullopt;
    const std::size_t before = complaints_.count();
    model::CircuitLoad load;
    read_with_unit_into(complaints_, power, "W", 0, 1e6, load.watts);
    const auto method = read_choice(complaints_, *dimming, msg_as("what", "dimming"), words::dimmings());
    if (!method || complaints_.count() != before) return std::nullopt;
    load.method = static_cast<model::Dimming>(*method);
    return load;
  }

  void read_memory(const Fields& fields, const model::Family* of, model::ModuleMemory& memory) {
    const model::ModuleFamily& family = of == nullptr ? read_.site.family.module : of->module;
    memory = model::factory_memory(family);
    if (const Node* stored = fields.find("stored")) {
      if (const auto address = address_from(*stored, bounds(), complaints_)) {
        memory.address = *address;
        // As if it had been assigned: a changed site number turned the power-up mode off.
        if (address->site != family.factory_site) memory.power_up = model::PowerUp::off;
      }
    }
    if (const Node* power_up = fields.find("power_up")) {
      const auto choice =
          read_choice(complaints_, *power_up, msg_as("what", "power-up mode"), words::power_ups());
      if (choice) memory.power_up = static_cast<model::PowerUp>(*choice);
    }
    read_quantity_into(complaints_, fields.find("last_level"), parse_percent, memory.last_level);
    if (const Node* scenes = fields.find("scenes")) read_scenes(*scenes, of, memory.scenes);
  }

  void read_scenes(const Node& node, const model::Family* family,
                   std::array<model::Level, model::max_scenes>& levels) {
    if (!is_kind(complaints_, node, Node::Kind::map, "scenes")) return;
    const std::uint8_t scenes = family == nullptr ? model::max_scenes : family->module.scenes;
    for (const Node::Entry& entry : node.entries) {
      const auto number = read_whole(complaints_, *entry.key, 1, scenes);
      const auto level = read_quantity(complaints_, *entry.value, parse_percent);
      if (number && level) levels[*number - 1] = *level;
    }
  }

  const model::Family* family_;
  const FamilyLoader& load_family_;
  Complaints& complaints_;
  bool unplanned_;
  ToldSite* told_;  ///< null: nothing may be left open
  ReadSite read_;
  std::deque<model::Family> families_;  ///< read_.site's others, in places that stay
  std::unordered_set<std::string> device_names_;
  std::map<std::pair<PlaceId, PlaceId>, sim::Duration> walk_times_;
  std::optional<SiteIndex> place_index_;
};

}  // namespace

ReadSite site_from(const Fields& fields, const model::Family* family, const FamilyLoader& load_family,
                   Complaints& complaints, bool unplanned, ToldSite* told) {
  return SiteReader{family, load_family, complaints, unplanned, told}.read(fields);
}

}  // namespace drybus::tools
