#include "tools/script/line_site.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/line_keys.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

using iec62386::Index;
using iec62386::Site;

namespace {

/// A line has no room for more, and neither has a scenario.
constexpr std::size_t most_gear = 4'096;
constexpr std::size_t most_others = 64;
/// Where nobody says how long a walk takes.
constexpr sim::Duration unsaid_walk = std::chrono::seconds{10};

template <class List>
std::optional<Index> find_name(const List& list, Complaints& complaints, const Place& place,
                               std::string_view what, std::string_view word) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].name == word) return static_cast<Index>(i);
    names.push_back(list[i].name);
  }
  complain_of_unknown(complaints, place, what, word, names);
  return std::nullopt;
}

/// "gear", which is a key elsewhere, and stays as it is there.
std::string_view spoken_kind(std::string_view kind) {
  return model::in_words_spoken(kind, "name");
}

}  // namespace

std::optional<Index> LineNames::gear(Complaints& complaints, const Place& place,
                                     std::string_view word) const {
  return find_name(site_.gear, complaints, place, spoken_kind(msg_as("name", "gear")), word);
}
std::optional<Index> LineNames::controller(Complaints& complaints, const Place& place,
                                           std::string_view word) const {
  return find_name(site_.controllers, complaints, place, spoken_kind(msg_as("name", "controller")), word);
}
std::optional<Index> LineNames::line(Complaints& complaints, const Place& place,
                                     std::string_view word) const {
  return find_name(site_.lines, complaints, place, spoken_kind(msg_as("name", "line")), word);
}
std::optional<Index> LineNames::place(Complaints& complaints, const Place& where,
                                      std::string_view word) const {
  return find_name(site_.places, complaints, where, spoken_kind(msg_as("name", "place")), word);
}

void read_current(Complaints& complaints, const Node* node, std::uint32_t& microamperes) {
  double milliamperes = microamperes / 1000.0;
  read_with_unit_into(complaints, node, "mA", 0, 1000, milliamperes);
  microamperes = static_cast<std::uint32_t>(milliamperes * 1000 + 0.5);
}

iec62386::GearMemory read_holds(const Node& node, Complaints& complaints) {
  iec62386::GearMemory memory;
  const Fields fields{complaints, node, msg_as("what", "what gear holds"), keys::line::holds};
  if (node.kind != Node::Kind::map) return memory;
  read_whole_into(complaints, fields.find("short"), memory.short_address, 0, 63);
  read_whole_into(complaints, fields.find("max level"), memory.max_level, 1, 254);
  read_whole_into(complaints, fields.find("min level"), memory.min_level, 1, 254);
  read_whole_into(complaints, fields.find("power on level"), memory.power_on);
  read_whole_into(complaints, fields.find("system failure level"), memory.system_failure);
  read_whole_into(complaints, fields.find("fade time"), memory.fade_time, 0, 15);
  read_whole_into(complaints, fields.find("random address"), memory.random, 0, iec62386::last_random);
  if (const Node* groups = fields.find("groups");
      groups != nullptr && is_kind(complaints, *groups, Node::Kind::list, "groups")) {
    for (const Node* each : groups->items) {
      if (const auto group = read_whole(complaints, *each, 0, 15))
        memory.groups = static_cast<std::uint16_t>(memory.groups | (1U << *group));
    }
  }
  if (const Node* scenes = fields.find("scenes");
      scenes != nullptr && is_kind(complaints, *scenes, Node::Kind::map, "scenes")) {
    for (const Node::Entry& entry : scenes->entries) {
      const auto scene = read_whole(complaints, *entry.key, 0, 15);
      const auto level = read_whole(complaints, *entry.value, 0, 254);
      if (scene && level) memory.scenes.at(*scene) = static_cast<iec62386::Level>(*level);
    }
  }
  return memory;
}

namespace {

class LineSiteReader {
 public:
  explicit LineSiteReader(Complaints& complaints) : complaints_(complaints) {}

  Site read(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a site"), keys::line::site};
    if (node.kind != Node::Kind::map) return {};
    read_places(fields.find("places"));
    read_lines(fields);
    if (const Node* controllers = fields.need("controllers")) read_controllers(*controllers);
    if (const Node* gear = fields.need("gear")) read_all_gear(*gear);
    return std::move(site_);
  }

 private:
  bool fresh_name(const Node& key) {
    if (!is_name(key.text)) {
      complaints_.add(key.place, tr("'{}' is no name", key.text),
                      tr("letters, digits and underscores, a letter first"));
      return false;
    }
    const auto taken = [&](const auto& list) {
      return std::any_of(list.begin(), list.end(), [&](const auto& each) { return each.name == key.text; });
    };
    if (!taken(site_.gear) && !taken(site_.controllers) && !taken(site_.lines)) return true;
    complaints_.add(key.place, tr("there is a {} already", key.text));
    return false;
  }

  void read_places(const Node* node) {
    if (node == nullptr || !is_kind(complaints_, *node, Node::Kind::map, "places") || node->entries.empty()) {
      site_.places.push_back({"here", {}});
    } else {
      for (const Node::Entry& entry : node->entries) {
        if (site_.places.size() < most_others) site_.places.push_back({entry.key->text, {}});
      }
    }
    const std::size_t count = site_.places.size();
    for (std::size_t i = 0; i < count; ++i) {
      site_.places[i].walk.assign(count, unsaid_walk);
      site_.places[i].walk[i] = sim::Duration::zero();
    }
    if (node == nullptr || node->kind != Node::Kind::map) return;
    for (std::size_t i = 0; i < std::min(count, node->entries.size()); ++i)
      read_place(*node->entries[i].value, i);
  }

  void read_place(const Node& node, std::size_t from) {
    const Fields fields{complaints_, node, msg_as("what", "a place"), keys::line::place};
    const Node* walk = node.kind == Node::Kind::map ? fields.find("walk") : nullptr;
    if (walk == nullptr || !is_kind(complaints_, *walk, Node::Kind::map, "walk")) return;
    const LineNames names{site_};
    for (const Node::Entry& entry : walk->entries) {
      const auto to = names.place(complaints_, entry.key->place, entry.key->text);
      const auto time = read_quantity(complaints_, *entry.value, parse_duration);
      if (to && time) site_.places[from].walk[*to] = site_.places[*to].walk[from] = *time;
    }
  }

  void read_lines(const Fields& fields) {
    const Node* one = fields.find("line");
    const Node* several = fields.find("lines");
    if (one != nullptr && several != nullptr)
      complaints_.add(several->place, tr("a site has either 'line' or 'lines'"));
    if (several == nullptr) return read_line("L1", one);
    if (!is_kind(complaints_, *several, Node::Kind::map, "lines")) return read_line("L1", nullptr);
    for (const Node::Entry& entry : several->entries) {
      if (site_.lines.size() < most_others && fresh_name(*entry.key)) read_line(entry.key->text, entry.value);
    }
    if (site_.lines.empty()) complaints_.add(several->place, tr("a site has a line at least"));
  }

  void read_line(const std::string& name, const Node* node) {
    iec62386::LineSpec line;
    line.name = name;
    if (node != nullptr) {
      const Fields fields{complaints_, *node, msg_as("what", "a line"), keys::line::line};
      std::uint32_t supply = line.supply_ma * 1000;
      read_current(complaints_, fields.find("supply"), supply);
      line.supply_ma = supply / 1000;
      read_with_unit_into(complaints_, fields.find("core"), "mm2", 0.1, 16, line.core_mm2);
    }
    site_.lines.push_back(std::move(line));
  }

  template <class Spec>
  void read_where(const Fields& fields, Spec& spec) {
    const LineNames names{site_};
    if (const Node* label = fields.find("label")) spec.label = read_line_text(*label);
    if (const Node* place = fields.find("place"))
      spec.place = names.place(complaints_, place->place, place->text).value_or(Index{0});
    if (const Node* line = fields.find("line"))
      spec.line = names.line(complaints_, line->place, line->text).value_or(Index{0});
    read_with_unit_into(complaints_, fields.find("at"), "m", 0, 10'000, spec.at_m);
    read_current(complaints_, fields.find("draws"), spec.current_ua);
  }
  std::string read_line_text(const Node& node) { return tools::read_line(complaints_, node).value_or(""); }
  void read_flag(const Node* node, bool& into) {
    if (node != nullptr) into = read_yes_no(complaints_, *node).value_or(into);
  }

  void read_controllers(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "controllers")) return;
    for (const Node::Entry& entry : node.entries) {
      if (site_.controllers.size() >= most_others)
        return complaints_.add(entry.key->place, tr("more than 64 controllers"));
      if (fresh_name(*entry.key)) read_controller(entry.key->text, *entry.value);
    }
    if (site_.controllers.empty())
      complaints_.add(node.place, tr("nobody can send: a site has a controller at least"));
  }

  void read_controller(const std::string& name, const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a controller"), keys::line::controller};
    iec62386::ControllerSpec spec;
    spec.name = name;
    if (node.kind == Node::Kind::map) {
      read_where(fields, spec);
      read_flag(fields.find("supplies"), spec.supplies_line);
      read_flag(fields.find("bridge"), spec.has_bridge);
      read_flag(fields.find("transactions"), spec.keeps_line);
      read_flag(fields.find("sees collisions"), spec.sees_collisions);
      read_flag(fields.find("all bytes"), spec.all_bytes);
      read_whole_into(complaints_, fields.find("priority"), spec.priority, 1, 5);
      const Node* buttons = fields.find("buttons");
      if (buttons != nullptr && is_kind(complaints_, *buttons, Node::Kind::map, "buttons")) {
        spec.priority = fields.find("priority") == nullptr ? iec62386::Priority{2} : spec.priority;
        for (const Node::Entry& entry : buttons->entries) {
          const Fields checked{complaints_, *entry.value, msg_as("what", "a button"), keys::line::button};
          if (entry.value->kind == Node::Kind::map)
            spec.buttons.push_back({entry.key->text, read_sends(*entry.value, complaints_)});
        }
      }
    }
    site_.controllers.push_back(std::move(spec));
  }

  void read_all_gear(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "gear")) return;
    for (const Node::Entry& entry : node.entries) {
      if (!read_range(*entry.key, *entry.value) && fresh_name(*entry.key))
        read_gear(entry.key->text, *entry.value, 0);
      if (site_.gear.size() > most_gear)
        return complaints_.add(entry.key->place, tr("more than {} gear", most_gear));
    }
  }

  /// "M1 to M64": as many, with `intended` counting up.
  bool read_range(const Node& key, const Node& value) {
    const auto words = words::split(key.text);
    if (words.size() != 3 || words[1].text != "to") return false;
    const auto number = [](std::string_view name, std::string_view& stem) -> std::optional<unsigned> {
      const std::size_t digits = name.find_first_of("0123456789");
      if (digits == std::string_view::npos || digits == 0) return std::nullopt;
      stem = name.substr(0, digits);
      unsigned value_read = 0;
      const std::string_view tail = name.substr(digits);
      const auto [end, error] = std::from_chars(tail.data(), tail.data() + tail.size(), value_read);
      return error == std::errc{} && end == tail.data() + tail.size() ? std::optional{value_read}
                                                                      : std::nullopt;
    };
    std::string_view stem;
    std::string_view other;
    const auto first = number(words[0].text, stem);
    const auto last = number(words[2].text, other);
    if (!first || !last || stem != other || *last < *first || *last - *first >= most_gear) {
      complaints_.add(key.place, tr("'{}' is no range", key.text), tr("M1 to M64"));
      return true;
    }
    Node each = key;
    for (unsigned i = *first; i <= *last; ++i) {
      each.text = fmt::format("{}{}", stem, i);
      if (fresh_name(each)) read_gear(each.text, value, i - *first);
    }
    return true;
  }

  void read_gear(const std::string& name, const Node& node, unsigned further) {
    const Fields fields{complaints_, node, "gear", keys::line::gear};
    iec62386::GearSpec spec;
    spec.name = name;
    if (node.kind == Node::Kind::map) {
      read_where(fields, spec);
      if (const Node* intended = fields.find("intended")) {
        const auto number = read_whole(complaints_, *intended, 0, 63);
        if (number && *number + further < iec62386::short_addresses)
          spec.intended = static_cast<iec62386::ShortAddress>(*number + further);
      }
      if (const Node* holds = fields.find("holds")) {
        spec.memory = read_holds(*holds, complaints_);
        if (further > 0 && spec.memory.short_address != iec62386::no_short)
          spec.memory.short_address =
              static_cast<iec62386::ShortAddress>((spec.memory.short_address + further) % 64);
      }
      read_flag(fields.find("former"), spec.former_life);
      read_whole_into(complaints_, fields.find("type"), spec.kind.type, 0, 253);
      read_whole_into(complaints_, fields.find("physical minimum"), spec.kind.physical_minimum, 1, 254);
      if (const Node* random = fields.find("random")) {
        static constexpr std::array<std::string_view, 2> sources = {"good", "poor"};
        spec.poor_random = read_choice(complaints_, *random, msg_as("what", "random source"), sources) ==
                           std::optional<std::size_t>{1};
      }
    }
    site_.gear.push_back(std::move(spec));
  }

  Complaints& complaints_;
  Site site_;
};

}  // namespace

Site read_line_site(const Node& node, Complaints& complaints) {
  return LineSiteReader{complaints}.read(node);
}

}  // namespace drybus::tools
