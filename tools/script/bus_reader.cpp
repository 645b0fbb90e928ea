// The wiring of a site: lines, trees with junctions, radio.
#include <fmt/format.h>

#include <algorithm>
#include <boost/pending/disjoint_sets.hpp>
#include <map>
#include <set>

#include "model/planning/loads.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/keys.h"
#include "tools/script/site_index.h"
#include "tools/script/site_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

using sim::NodeId;

bool out_of_reach(const model::Site& site, const std::vector<std::optional<model::Spot>>& spots,
                  model::DeviceId a, model::DeviceId b) {
  const auto& from = spots[site.place(a)];
  const auto& to = spots[site.place(b)];
  return from && to && !model::within_reach(site.family.carrier_mhz, site.family.link_budget_db, *from, *to);
}

namespace {

class BusReader {
 public:
  BusReader(model::Site& site, const std::vector<std::optional<model::Spot>>& spots,
            const model::Family* family, Complaints& complaints)
      : site_(site), spots_(spots), family_(family), complaints_(complaints), index_(site, complaints) {}

  std::vector<sim::MediumSpec> read(const Fields& site) {
    site_place_ = site.map().place;
    const Node* bus = site.find("bus");
    if (bus == nullptr) {
      add_default();
    } else if (bus->kind == Node::Kind::list) {
      for (const Node* medium : bus->items) read_medium(*medium);
    } else {
      read_medium(*bus);
    }
    check_junctions();
    return std::move(media_);
  }

 private:
  struct Junction {
    NodeId id = 0;
    const Node* first_link = nullptr;
    Place place;
    int links = 0;
  };

  [[nodiscard]] bool family_is_radio() const { return site_.family.medium == sim::MediumKind::radio; }

  void add_default() {
    sim::MediumSpec medium = new_medium(site_.family.medium);
    for (NodeId id = 0; id < site_.device_count(); ++id) medium.nodes.push_back(id);
    if (family_is_radio()) {
      join_all_in_reach(medium, {}, site_place_);
    } else {
      join_in_a_row(medium, medium.nodes);
    }
    if (!medium.nodes.empty()) media_.push_back(std::move(medium));
  }

  [[nodiscard]] sim::MediumSpec new_medium(sim::MediumKind kind) const {
    return {kind, site_.family.bus, {}, {}};
  }

  void read_medium(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a bus"), keys::bus};
    if (node.kind != Node::Kind::map) return;
    const Node* line = fields.find("line");
    const Node* tree = fields.find("tree");
    const Node* radio = fields.find("radio");
    const Node* blocked = fields.find("blocked");
    if ((line != nullptr) + (tree != nullptr) + (radio != nullptr) != 1) {
      if (fields.has_unknown()) return;
      complaints_.add(node.place, tr("a bus is one of 'line', 'tree' and 'radio'"),
                      tr("{{line: [P1, M1]}}, {{tree: [P1-J1, J1-M1]}} or {{radio: all}}"));
      return;
    }
    if (blocked != nullptr && radio == nullptr) {
      complaints_.add(blocked->place, tr("'blocked' goes with 'radio'"));
    }
    if (family_ != nullptr && (radio != nullptr) != family_is_radio()) {
      complaints_.add(
          (radio != nullptr  ? radio
           : line != nullptr ? line
                             : tree)
              ->place,
          family_is_radio() ? tr("the devices of the family '{}' are joined by radio", family_->name)
                            : tr("the devices of the family '{}' are wired", family_->name),
          family_is_radio() ? "{radio: all}" : tr("{{line: [P1, M1]}} or {{tree: [P1-J1, J1-M1]}}"));
      return;
    }
    const std::size_t before = media_.size();
    if (line != nullptr) read_line(*line);
    if (tree != nullptr) read_tree(*tree);
    if (radio != nullptr) read_radio(*radio, blocked);
    if (const Node* cable = fields.find("cable")) {
      if (media_.size() > before) site_.cables.resize(media_.size());
      if (media_.size() > before && can_feed(*cable)) read_cable(*cable);
    }
  }

  // --- what feeds it ---

  bool can_feed(const Node& node) {
    if (family_ == nullptr || family_->supply) return true;
    complaints_.add(node.place, tr("the bus of the family '{}' feeds no devices", family_->name));
    return false;
  }

  void read_cable(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a cable"), keys::cable};
    if (node.kind != Node::Kind::map) return;
    const std::size_t before = complaints_.count();
    model::SupplyCable cable;
    read_core(fields, cable);
    read_lengths(fields, cable);
    if (const Node* at = fields.need("fed_at")) {
      if (const auto fed = node_of_bus(*at)) cable.fed_at = *fed;
    }
    if (complaints_.count() == before) site_.cables.back() = std::move(cable);
  }

  void read_core(const Fields& fields, model::SupplyCable& cable) {
    const Node* core = fields.need("core");
    const std::size_t before = complaints_.count();
    read_with_unit_into(complaints_, core, "mm2", 0.01, 1000, cable.core_mm2);
    read_whole_into(complaints_, fields.find("class"), cable.conductor_class, 1, 6);
    if (core == nullptr || complaints_.count() != before) return;
    if (model::conductor_ohms_per_km(cable.core_mm2, cable.conductor_class)) return;
    complaints_.add(core->place,
                    tr("no resistance is known here for {} in class {}", core->text, cable.conductor_class),
                    tr("0.5, 0.75, 1, 1.5 or 2.5 mm2 in class 1, 2 or 5"));
  }

  void read_lengths(const Fields& fields, model::SupplyCable& cable) {
    constexpr double furthest_m = 10'000;
    const sim::MediumSpec& medium = media_.back();
    double usual = 0;
    const Node* length = fields.find("length");
    read_with_unit_into(complaints_, length, "m", 0, furthest_m, usual);
    cable.lengths_m.assign(medium.links.size(), usual);
    std::vector<bool> said(medium.links.size(), length != nullptr);
    const Node* lengths = fields.find("lengths");
    if (lengths != nullptr && is_kind(complaints_, *lengths, Node::Kind::map, "lengths")) {
      for (const Node::Entry& entry : lengths->entries) {
        const auto link = link_of_bus(*entry.key);
        if (!link) continue;
        read_with_unit_into(complaints_, entry.value, "m", 0, furthest_m, cable.lengths_m[*link]);
        said[*link] = true;
      }
    }
    const auto unsaid = std::find(said.begin(), said.end(), false);
    if (unsaid == said.end()) return;
    const sim::Link& link = medium.links[static_cast<std::size_t>(unsaid - said.begin())];
    complaints_.add(fields.map().place,
                    tr("how long is {}-{}?", site_.node_name(link.a), site_.node_name(link.b)),
                    tr("a 'length' for every link, or the link under 'lengths'"));
  }

  /// A device or junction of the bus that was read last.
  std::optional<NodeId> node_of_bus(const Node& item) {
    const auto name = read_text(complaints_, item);
    if (!name) return std::nullopt;
    std::vector<std::string> names;
    for (const NodeId node : media_.back().nodes) {
      names.push_back(site_.node_name(node));
      if (names.back() == *name) return node;
    }
    complain_of_unknown(complaints_, item.place, msg_as("what", "device or junction of this bus"), *name,
                        names);
    return std::nullopt;
  }

  std::optional<std::size_t> link_of_bus(const Node& item) {
    const auto ends = link_ends(item);
    if (!ends) return std::nullopt;
    std::vector<std::string> names;
    const auto& links = media_.back().links;
    for (std::size_t i = 0; i < links.size(); ++i) {
      const std::string a = site_.node_name(links[i].a), b = site_.node_name(links[i].b);
      if ((a == ends->first.text && b == ends->second.text) ||
          (a == ends->second.text && b == ends->first.text))
        return i;
      names.push_back(fmt::format("{}-{}", a, b));
    }
    complain_of_unknown(complaints_, item.place, msg_as("what", "link"), item.text, names);
    return std::nullopt;
  }

  // --- who is on it ---

  /// Each device and each junction is on one bus, once.
  bool take(const Place& place, NodeId node, std::string_view name) {
    if (taken_.insert(node).second) return true;
    complaints_.add(place, tr("'{}' is already on a bus", name));
    return false;
  }

  std::vector<NodeId> read_devices(const Node& list, std::string_view what) {
    std::vector<NodeId> nodes;
    if (!is_kind(complaints_, list, Node::Kind::list, what)) return nodes;
    for (const Node* item : list.items) {
      const auto name = read_text(complaints_, *item);
      if (!name) continue;
      const auto device = index_.device(item->place, *name);
      if (device && take(item->place, *device, *name)) nodes.push_back(*device);
    }
    if (list.items.empty()) complaints_.add(list.place, tr("nobody is on this bus"));
    return nodes;
  }

  void add_medium(sim::MediumSpec medium) {
    std::sort(medium.nodes.begin(), medium.nodes.end());
    if (!medium.nodes.empty()) media_.push_back(std::move(medium));
  }

  // --- a line ---

  static void join_in_a_row(sim::MediumSpec& medium, const std::vector<NodeId>& nodes) {
    for (std::size_t i = 1; i < nodes.size(); ++i) medium.links.push_back({nodes[i - 1], nodes[i]});
  }

  void read_line(const Node& node) {
    sim::MediumSpec medium = new_medium(sim::MediumKind::line);
    medium.nodes = read_devices(node, "line");
    join_in_a_row(medium, medium.nodes);
    add_medium(std::move(medium));
  }

  // --- a tree ---

  /// The two names of "P1-M1"; complains when there are not two.
  std::optional<std::pair<words::Part, words::Part>> link_ends(const Node& item) {
    const auto text = read_text(complaints_, item);
    if (!text) return std::nullopt;
    const std::string_view name = item.text;
    const std::size_t hyphen = name.find('-');
    if (hyphen == std::string_view::npos || name.find('-', hyphen + 1) != std::string_view::npos ||
        hyphen == 0 || hyphen + 1 == name.size()) {
      complaints_.add(item.place, tr("'{}' is not a link", *text),
                      tr("two names with a hyphen, such as P1-M1"));
      return std::nullopt;
    }
    return std::pair{words::Part{name.substr(0, hyphen), 0},
                     words::Part{name.substr(hyphen + 1), hyphen + 1}};
  }

  /// A device, or a junction that may be new.
  std::optional<NodeId> tree_node(const Node& item, const words::Part& name) {
    const Place place = item.place_of(name.offset, name.text.size());
    if (const auto device = index_.find_device(name.text)) return *device;
    if (!is_name(name.text)) {
      complaints_.add(place, tr("'{}' cannot name a junction", name.text),
                      tr("letters, digits and underscores, a letter first"));
      return std::nullopt;
    }
    auto found = junctions_.find(name.text);
    if (found == junctions_.end()) {
      if (site_.device_count() + site_.junctions.size() >= max_network_nodes) {
        complaints_.add(place, tr("more than {} devices and junctions", max_network_nodes));
        return std::nullopt;
      }
      site_.junctions.emplace_back(name.text);
      const auto id = static_cast<NodeId>(site_.device_count() + site_.junctions.size() - 1);
      found = junctions_.emplace(std::string{name.text}, Junction{id, &item, place, 0}).first;
    }
    ++found->second.links;
    return found->second.id;
  }

  void read_tree(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::list, "tree")) return;
    if (node.items.empty()) complaints_.add(node.place, tr("nobody is on this bus"));
    sim::MediumSpec medium = new_medium(sim::MediumKind::line);
    std::set<NodeId> members;
    for (const Node* item : node.items) {
      const auto ends = link_ends(*item);
      if (!ends) continue;
      const auto a = tree_node(*item, ends->first);
      const auto b = tree_node(*item, ends->second);
      if (!a || !b) continue;
      join(*item, *ends, {*a, *b}, members);
      if (*a == *b || groups_.find_set(*a) == groups_.find_set(*b)) {
        complaints_.add(item->place, tr("'{}' closes a ring", item->text),
                        tr("a tree: one way from each to each"));
        continue;
      }
      groups_.union_set(*a, *b);
      medium.links.push_back({*a, *b});
    }
    medium.nodes.assign(members.begin(), members.end());
    add_medium(std::move(medium));
  }

  void join(const Node& item, const std::pair<words::Part, words::Part>& names, sim::Link link,
            std::set<NodeId>& members) {
    for (const auto& [node, name] : {std::pair{link.a, names.first}, std::pair{link.b, names.second}}) {
      if (members.contains(node)) continue;
      if (take(item.place_of(name.offset, name.text.size()), node, name.text)) members.insert(node);
    }
  }

  /// A junction with one link joins nothing: most likely somebody misspelt a device.
  void check_junctions() {
    for (auto& [name, junction] : junctions_) {
      if (junction.links != 1) continue;
      complaints_.add(junction.place,
                      tr("unknown device '{}' (as a junction it would join two links or more)", name),
                      one_of(index_.device_names()), nearest(name, index_.device_names()));
      junction.links = 0;
    }
  }

  // --- radio ---

  void read_radio(const Node& node, const Node* blocked) {
    sim::MediumSpec medium = new_medium(sim::MediumKind::radio);
    if (node.kind == Node::Kind::word && node.text == "all") {
      for (NodeId id = 0; id < site_.device_count(); ++id) {
        if (take(node.place, id, site_.name(id))) medium.nodes.push_back(id);
      }
    } else if (node.kind == Node::Kind::list) {
      medium.nodes = read_devices(node, "radio");
      std::sort(medium.nodes.begin(), medium.nodes.end());
    } else {
      complaints_.add(node.place, tr("whom the radio joins is not clear"),
                      tr("all, or a list such as [P1, M1]"));
    }
    const auto pairs =
        blocked == nullptr ? std::set<std::pair<NodeId, NodeId>>{} : read_blocked(*blocked, medium);
    join_all_in_reach(medium, pairs, node.place);
    add_medium(std::move(medium));
  }

  std::set<std::pair<NodeId, NodeId>> read_blocked(const Node& node, const sim::MediumSpec& medium) {
    std::set<std::pair<NodeId, NodeId>> pairs;
    if (!is_kind(complaints_, node, Node::Kind::list, "blocked")) return pairs;
    for (const Node* item : node.items) {
      const auto ends = link_ends(*item);
      if (!ends) continue;
      const auto a = blocked_device(*item, ends->first, medium);
      const auto b = blocked_device(*item, ends->second, medium);
      if (a && b) pairs.emplace(std::min(*a, *b), std::max(*a, *b));
    }
    return pairs;
  }

  std::optional<NodeId> blocked_device(const Node& item, const words::Part& name,
                                       const sim::MediumSpec& medium) {
    const Place place = item.place_of(name.offset, name.text.size());
    const auto device = index_.device(place, name.text);
    if (!device) return std::nullopt;
    if (std::binary_search(medium.nodes.begin(), medium.nodes.end(), *device)) return *device;
    complaints_.add(place, tr("'{}' is not on this radio", name.text));
    return std::nullopt;
  }

  /// Coordinates decide where both places have them; otherwise everybody hears everybody.
  void join_all_in_reach(sim::MediumSpec& medium, const std::set<std::pair<NodeId, NodeId>>& blocked,
                         const Place& place) {
    for (std::size_t i = 0; i < medium.nodes.size(); ++i) {
      for (std::size_t j = i + 1; j < medium.nodes.size(); ++j) {
        const NodeId a = medium.nodes[i];
        const NodeId b = medium.nodes[j];
        if (blocked.contains({a, b}) || out_of_reach(site_, spots_, a, b)) continue;
        if (medium.links.size() == max_radio_links) {
          complaints_.add(place,
                          tr("more than {} pairs of devices within reach of each other", max_radio_links));
          return;
        }
        medium.links.push_back({a, b});
      }
    }
  }

  model::Site& site_;
  const std::vector<std::optional<model::Spot>>& spots_;
  const model::Family* family_;
  Complaints& complaints_;
  SiteIndex index_;
  std::set<NodeId> taken_;
  std::map<std::string, Junction, std::less<>> junctions_;
  boost::disjoint_sets_with_storage<> groups_{
      max_network_nodes};  ///< of nodes that links join, to find rings
  std::vector<sim::MediumSpec> media_;
  Place site_place_;
};

}  // namespace

std::vector<sim::MediumSpec> bus_from(const Fields& fields, model::Site& site,
                                      const std::vector<std::optional<model::Spot>>& spots,
                                      const model::Family* family, Complaints& complaints) {
  return BusReader{site, spots, family, complaints}.read(fields);
}

}  // namespace drybus::tools
