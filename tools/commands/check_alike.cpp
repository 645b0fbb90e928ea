#include "tools/commands/check_alike.h"

#include <fmt/format.h>

#include <exception>

#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/load/load.h"
#include "tools/observed/differences.h"
#include "tools/seat/children.h"

namespace drybus::tools {

using model::tr;

namespace {

/// Empty: they are alike. Else what tells them apart.
std::string apart(const std::string& path, const FirmwareChoice& firmware) {
  try {
    const model::Scenario built_in = load_scenario(path).scenario;
    model::Scenario scenario = built_in;
    firmware.put_in(scenario);
    const model::RunResult run = model::run(scenario);
    if (run.broken_off) return describe(scenario, *run.broken_off);
    const auto found =
        differences(seen_in(built_in, model::run(built_in).record), seen_in(scenario, run.record));
    return found.empty() ? "" : to_text(found.front());
  } catch (const std::exception& error) {
    return reason_of(error);
  }
}

}  // namespace

std::vector<std::string> driven_alike(const std::vector<std::string>& paths, const FirmwareChoice& firmware,
                                      std::size_t jobs) {
  const std::vector<std::string> all = in_children(
      paths.size(), jobs, [&](std::size_t i) { return apart(paths[i], firmware); },
      [](std::size_t, const std::string& how) { return how; });
  std::vector<std::string> alike;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (all[i].empty()) {
      alike.push_back(paths[i]);
    } else {
      print_err(tr("left out  {}: the firmware does something else there: {}\n", paths[i], all[i]));
    }
  }
  return alike;
}

}  // namespace drybus::tools
