#include "tools/commands/call_page.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "model/handover/round.h"
#include "tools/base/unusable.h"
#include "tools/call/begun.h"
#include "tools/commands/planned_site.h"
#include "tools/load/file_kind.h"
#include "tools/load/load.h"

namespace drybus::tools {

namespace {

/// The site with the addresses that `drybus plan` gives it.
LoadedScenario with_plan(LoadedSite site, const std::string& path, const std::string& title) {
  LoadedScenario loaded;
  loaded.scenario.title = title;
  loaded.family_ref = site.family_ref;
  loaded.family_file = site.family_file;
  loaded.other_families = site.other_families;
  loaded.spots = site.spots;
  const PlanReport plan = planned(path, std::move(site), {});
  if (!plan.plan.clashes.empty()) {
    throw Unusable{
        fmt::format("{}: it has to be planned before anybody can call about it: drybus plan {}\n{}", path,
                    path, clashes_text(plan))};
  }
  loaded.scenario.site = model::built(plan.plan, plan.wishes).site;
  return loaded;
}

CallToServe begin_on(const std::string& site, const std::string& path) {
  if (std::filesystem::exists(path))
    throw Unusable{fmt::format("{} is there already: name a file for the new call that is not", path)};
  LoadedSite loaded = load_site(site);
  const std::string title = std::filesystem::path{site}.stem().string();
  const auto& modules = loaded.site.modules;
  const bool complete = std::all_of(modules.begin(), modules.end(), [](const model::ModuleSpec& module) {
    return module.neighbour || module.intended || module.memory.address.channel != 0;
  });
  const std::string text =
      complete ? begun_on(site, path, title)
               : begun_with(with_plan(std::move(loaded), site, title), Before::addressed, path);
  CallToServe call{CallFile{path}, true};
  call.file.set_report(text);
  return call;
}

}  // namespace

std::string new_call_name() {
  for (int number = 1;; ++number) {
    const std::string name = fmt::format("call-{}.yaml", number);
    if (!std::filesystem::exists(name)) return name;
  }
}

std::optional<CallToServe> call_to_serve(const std::optional<std::string>& path,
                                         const std::optional<std::string>& kept_in) {
  const auto kind = path ? file_kind(*path) : std::nullopt;
  if (kind == FileKind::report) {
    if (kept_in) throw Unusable{"a call is kept in its own file: --call is for a new one"};
    return CallToServe{CallFile{*path}, false};
  }
  if (kind == FileKind::site) return begin_on(*path, kept_in ? *kept_in : new_call_name());
  if (!kept_in) return std::nullopt;
  if (path) throw Unusable{fmt::format("{} is no site: a call begins on one, or on nothing", *path)};
  return CallToServe{CallFile{*kept_in}, !std::filesystem::exists(*kept_in)};
}

}  // namespace drybus::tools
