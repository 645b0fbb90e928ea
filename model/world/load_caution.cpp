#include "model/world/load_caution.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "model/words/words.h"
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
  return plural(
      "{} is not to be switched without care, and this may switch it: see first that nothing starts and "
      "nobody stands in the dark.",
      "{} are not to be switched without care, and this may switch them: see first that nothing starts and "
      "nobody stands in the dark.",
      reached.size(), fmt::format("{}", fmt::join(reached, ", ")));
}

}  // namespace drybus::model
