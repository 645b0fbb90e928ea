#include "tools/load.h"

#include <fmt/format.h>

#include <array>
#include <fstream>

#include "tools/command.h"
#include "tools/command_line.h"
#include "tools/output.h"
#include "tools/scenario_files.h"
#include "tools/script/family_search.h"

namespace drybus::tools {

namespace {

bool begins_like_a_capsule(const std::string& path) {
  if (!DiskFiles{}.exists(path)) return false;
  std::array<char, 32> beginning{};
  std::ifstream in{path, std::ios::binary};
  in.read(beginning.data(), beginning.size());
  return is_capsule({beginning.data(), static_cast<std::size_t>(in.gcount())});
}

LoadedRun load_capsule(const std::string& path, std::string_view firmware) {
  const auto text = DiskFiles{max_capsule_bytes}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text)) {
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  }
  const Capsule capsule = parse_capsule(path, std::get<std::string>(text));
  for (const std::string& line : differences(path, capsule.run, firmware)) print_err(line + "\n");
  return {open_capsule(path, capsule), capsule.run};
}

}  // namespace

LoadedRun load_run(const std::string& path, std::string_view firmware) {
  if (begins_like_a_capsule(path)) return load_capsule(path, firmware);
  auto reading = read_scenario(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return {std::move(reading.value()), std::nullopt};
}

LoadedScenario load_scenario(const std::string& path) {
  return load_run(path).loaded;
}

LoadedSite load_site(const std::string& path) {
  if (begins_scenario(path)) {
    LoadedScenario loaded = load_scenario(path);
    return {std::move(loaded.scenario.site), std::move(loaded.scenario.about), std::move(loaded.family_ref),
            std::move(loaded.family_file),   std::move(loaded.sources),        std::move(loaded.spots)};
  }
  auto reading = read_site(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

LoadedFamily load_family(const std::string& name) {
  const auto folder = std::filesystem::current_path();
  const auto file = find_family(name, folder);
  if (!file)
    throw Unusable{fmt::format("no family '{}'.{}", name, did_you_mean(name, known_families(folder, {})))};
  auto reading = read_family(*file);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

}  // namespace drybus::tools
