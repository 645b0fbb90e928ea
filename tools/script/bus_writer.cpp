// A scenario's wiring, written.
#include <fmt/format.h>
#include <yaml-cpp/emitter.h>

#include <algorithm>
#include <bit>
#include <map>
#include <set>

#include "model/people/timetable.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/script/quantity.h"
#include "tools/script/scenario_writer.h"
#include "tools/script/site_reader.h"

namespace drybus::tools {

namespace fs = std::filesystem;

using model::DeviceId;
using model::PlaceId;
using model::Step;
using model::StepKind;

// --- its wiring ---

std::size_t ScenarioWriter::buses_to_write() const {
  std::size_t count = site_.network.media.size();
  while (count > 1 && site_.network.media[count - 1].nodes.size() == 1 &&
         site_.network.media[count - 1].kind == sim::MediumKind::line) {
    --count;
  }
  return count;
}

void ScenarioWriter::write_buses() {
  const std::size_t count = buses_to_write();
  if (count == 0) return;
  key("bus");
  if (count > 1) out_ << YAML::BeginSeq;
  for (std::size_t i = 0; i < count; ++i) {
    write_bus(site_.network.media[i], i < site_.cables.size() ? site_.cables[i] : std::nullopt);
  }
  if (count > 1) out_ << YAML::EndSeq;
}

void ScenarioWriter::write_bus(const sim::MediumSpec& medium,
                               const std::optional<model::SupplyCable>& cable) {
  out_ << YAML::Flow << YAML::BeginMap;
  switch (medium.kind) {
    case sim::MediumKind::line:
      write_line(medium);
      break;
    case sim::MediumKind::radio:
      write_radio(medium);
      break;
  }
  if (cable) write_cable(medium, *cable);
  out_ << YAML::EndMap;
}

void ScenarioWriter::write_cable(const sim::MediumSpec& medium, const model::SupplyCable& cable) {
  std::map<double, std::size_t> counts;
  for (const double length : cable.lengths_m) ++counts[length];
  const auto more = [](const auto& a, const auto& b) { return a.second < b.second; };
  const auto usual = std::max_element(counts.begin(), counts.end(), more);
  key("cable") << YAML::BeginMap;
  key("core") << exact_decimal(cable.core_mm2) + " mm2";
  key("class") << int{cable.conductor_class};
  if (usual != counts.end()) key("length") << exact_decimal(usual->first) + " m";
  if (counts.size() > 1) {
    key("lengths") << YAML::BeginMap;
    for (std::size_t i = 0; i < medium.links.size(); ++i) {
      if (cable.lengths_m[i] == usual->first) continue;
      key(site_.node_name(medium.links[i].a) + "-" + site_.node_name(medium.links[i].b))
          << exact_decimal(cable.lengths_m[i]) + " m";
    }
    out_ << YAML::EndMap;
  }
  key("fed_at") << site_.node_name(cable.fed_at);
  out_ << YAML::EndMap;
}

template <class Range>
void ScenarioWriter::write_names(const Range& nodes) {
  out_ << YAML::Flow << YAML::BeginSeq;
  for (const sim::NodeId node : nodes) out_ << site_.node_name(node);
  out_ << YAML::EndSeq;
}

std::vector<sim::NodeId> ScenarioWriter::row(const sim::MediumSpec& medium) const {
  if (medium.links.empty()) return medium.nodes;
  std::vector<sim::NodeId> nodes = {medium.links[0].a};
  for (const sim::Link& link : medium.links) {
    if (link.a != nodes.back()) return {};
    nodes.push_back(link.b);
  }
  const auto device = [this](sim::NodeId node) { return node < site_.device_count(); };
  return std::all_of(nodes.begin(), nodes.end(), device) ? nodes : std::vector<sim::NodeId>{};
}

void ScenarioWriter::write_line(const sim::MediumSpec& medium) {
  if (const auto nodes = row(medium); !nodes.empty()) {
    key("line");
    return write_names(nodes);
  }
  key("tree") << YAML::Flow << YAML::BeginSeq;
  for (const sim::Link& link : medium.links) out_ << site_.node_name(link.a) + "-" + site_.node_name(link.b);
  out_ << YAML::EndSeq;
}

void ScenarioWriter::write_radio(const sim::MediumSpec& medium) {
  key("radio");
  if (medium.nodes.size() == site_.device_count()) {
    out_ << "all";
  } else {
    write_names(medium.nodes);
  }
  const auto blocked = blocked_pairs(medium);
  if (blocked.empty()) return;
  key("blocked") << YAML::Flow << YAML::BeginSeq;
  for (const std::string& pair : blocked) out_ << pair;
  out_ << YAML::EndSeq;
}

std::vector<std::string> ScenarioWriter::blocked_pairs(const sim::MediumSpec& medium) const {
  std::set<std::pair<sim::NodeId, sim::NodeId>> joined;
  for (const sim::Link& link : medium.links)
    joined.emplace(std::min(link.a, link.b), std::max(link.a, link.b));
  std::vector<std::string> blocked;
  for (std::size_t i = 0; i < medium.nodes.size(); ++i) {
    for (std::size_t j = i + 1; j < medium.nodes.size(); ++j) {
      const sim::NodeId a = medium.nodes[i];
      const sim::NodeId b = medium.nodes[j];
      if (joined.contains({a, b}) || out_of_reach(site_, spots_, a, b)) continue;
      blocked.push_back(site_.node_name(a) + "-" + site_.node_name(b));
    }
  }
  return blocked;
}

}  // namespace drybus::tools
