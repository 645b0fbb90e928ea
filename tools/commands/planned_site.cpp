#include "tools/commands/planned_site.h"

#include "tools/script/complaints.h"
#include "tools/script/site_wishes.h"
#include "tools/script/tree.h"

namespace drybus::tools {

namespace {

/// Under which key of a device the file says what clashes.
std::string_view key_of(model::PlanPart part, bool plate) {
  switch (part) {
    case model::PlanPart::number:
      return plate ? "switches" : "intended";
    case model::PlanPart::load:
      return "load";
    case model::PlanPart::cable:
      return {};
  }
  return {};
}

}  // namespace

std::string clashes_text(const PlanReport& report) {
  Complaints complaints;
  for (const SourceFile& source : report.loaded.sources) complaints.add_source(source);
  const auto tree = parse_tree(0, complaints);
  for (const model::PlanClash& clash : report.plan.clashes) {
    const model::Site& site = report.plan.site;
    const bool plate = site.is_plate(clash.device);
    const Node* devices = tree ? tree->root().find(plate ? "plates" : "modules") : nullptr;
    const Node* device = devices == nullptr ? nullptr : devices->find(site.name(clash.device));
    const Node* part = device == nullptr ? nullptr : device->find(key_of(clash.part, plate));
    const Node* bus = tree && clash.part == model::PlanPart::cable ? tree->root().find("bus") : nullptr;
    const Node* at = bus != nullptr ? bus : part != nullptr ? part : device;
    complaints.add(at == nullptr ? Place{{0, 1, 1}, 1} : at->place, clash.what, clash.expected);
  }
  return to_text(complaints.sorted());
}

namespace {

/// Our plates whose switches the plan changes.
std::vector<model::PlateToSet> plates_to_set(const model::Site& found, const model::Site& planned) {
  std::vector<model::PlateToSet> all;
  for (model::DeviceId id = 0; id < planned.plates.size(); ++id) {
    const model::PlateSpec& is = found.plates[id];
    const model::PlateSpec& shall = planned.plates[id];
    if (!is.neighbour && (is.site != shall.site || is.zone != shall.zone))
      all.push_back({id, is.site, is.zone});
  }
  return all;
}

}  // namespace

PlanReport planned(std::string name, LoadedSite loaded, model::PlanOptions options) {
  PlanReport report;
  report.name = std::move(name);
  report.loaded = std::move(loaded);
  report.wishes = site_wishes(report.loaded);
  model::Allocation allocation = model::allocate(report.loaded.site, report.wishes);
  options.plates = std::move(allocation.plates);
  report.plan = model::make_plan(allocation.site, options);
  report.plan.clashes.insert(report.plan.clashes.begin(), allocation.clashes.begin(),
                             allocation.clashes.end());
  report.plan.notes.insert(report.plan.notes.begin(), allocation.notes.begin(), allocation.notes.end());
  report.buses = std::move(allocation.buses);
  report.loads = model::check_loads(report.plan.site);
  auto& told = report.plan.clashes;
  told.insert(told.end(), report.loads.clashes.begin(), report.loads.clashes.end());
  return report;
}

model::RouteProblem route_problem(const PlanReport& report) {
  const model::Plan& plan = report.plan;
  model::RouteProblem problem;
  problem.site = plan.site;
  problem.to_set = plates_to_set(report.loaded.site, plan.site);
  for (const model::ScheduleRow& row : plan.rows) {
    if (!row.held_already) problem.stops.push_back({row.module, row.address.channel, row.plates});
  }
  return problem;
}

}  // namespace drybus::tools
