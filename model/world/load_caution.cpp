#include "model/world/load_caution.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "model/world/partners.h"

namespace drybus::model {

namespace {

bool may_switch(const Site& site, const Step& step, DeviceId module) {
  switch (step.kind) {
    case StepKind::press:
    case StepKind::hold:
      return step.device == module || (site.is_plate(step.device) && is_joined(site, step.device, module));
    case StepKind::power:
      return step.device == no_device || step.device == module;
    case StepKind::wait:
    case StepKind::walk:
    case StepKind::switches:
    case StepKind::fault:
    case StepKind::see:
    case StepKind::expect:
    case StepKind::note:
      return false;
  }
  return false;
}

}  // namespace

std::string load_caution(const Site& site, std::span<const Step> steps) {
  std::vector<std::string> reached;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (!site.modules[i].do_not_switch) continue;
    const DeviceId module = site.module_id(i);
    if (std::any_of(steps.begin(), steps.end(),
                    [&](const Step& step) { return may_switch(site, step, module); }))
      reached.push_back(site.title(module));
  }
  if (reached.empty()) return {};
  return fmt::format(
      "{} {} not to be switched without care, and this may switch {}: see first that nothing starts and "
      "nobody stands in "
      "the dark.",
      fmt::join(reached, ", "), reached.size() == 1 ? "is" : "are", reached.size() == 1 ? "it" : "them");
}

}  // namespace drybus::model
