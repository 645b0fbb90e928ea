#include "tools/load/load.h"

#include <fmt/format.h>

#include <array>
#include <fstream>

#include "model/record/trace.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/export/capture_reader.h"
#include "tools/export/record_reader.h"
#include "tools/load/file_kind.h"
#include "tools/load/scenario_files.h"
#include "tools/script/catalogue_reader.h"
#include "tools/script/family_search.h"
#include "tools/script/line_reader.h"

namespace drybus::tools {

using model::tr;

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

std::string bytes_of(const std::string& path, std::size_t most) {
  auto text = DiskFiles{most}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  return std::move(std::get<std::string>(text));
}

/// Beacons say nothing that is not known anyway.
void add_captured(sim::Instant at, const model::Telegram& telegram, std::vector<model::Captured>& into) {
  if (telegram.kind != model::TelegramKind::beacon) into.push_back({at, telegram});
}

/// A record as JSON Lines, or a capture as pcapng.
std::vector<model::Captured> load_capture(const std::string& path) {
  const std::string bytes = bytes_of(path, max_capture_bytes);
  std::vector<model::Captured> captured;
  if (!bytes.starts_with('{')) {
    for (const CapturedTelegram& each : parse_capture(path, bytes).telegrams) {
      if (each.telegram && !each.collided && !each.cut_short) add_captured(each.at, *each.telegram, captured);
    }
    return captured;
  }
  const auto reading = read_record_lines(bytes, path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  for (const ToldEntry& each : reading.value()) {
    if (each.kind != to_string(model::What::sent_whole)) continue;
    add_captured(sim::Instant{sim::Duration{each.at_ns}}, model::unpack(each.b), captured);
  }
  return captured;
}

/// More telegrams than this are no capture of a telephone call.
constexpr std::size_t max_captured = 5'000;

}  // namespace

LoadedReport load_report(const std::string& path, const std::optional<std::string>& capture, bool in_part) {
  refuse_other_kinds(path, {FileKind::report});
  auto reading = read_report(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  add_capture(reading.value(), capture, in_part);
  return std::move(reading.value());
}

void add_capture(LoadedReport& loaded, const std::optional<std::string>& capture, bool in_part) {
  if (capture) loaded.capture = *capture;
  if (in_part) loaded.call.capture_in_part = loaded.report.capture_in_part = true;
  if (!loaded.capture) return;
  loaded.call.capture = load_capture(loaded.capture->string());
  loaded.report.capture = loaded.call.capture;
  if (loaded.report.capture.size() > max_captured)
    throw Unusable{tr("{}: more than {} telegrams", loaded.capture->string(), max_captured)};
}

model::Catalogue load_catalogue(const std::string& for_path, const std::optional<std::string>& path) {
  const auto file = path ? std::optional<std::filesystem::path>{*path}
                         : find_catalogue(std::filesystem::path{for_path}.parent_path());
  if (!file) throw Unusable{tr("there is no catalogue.yaml beside the families: name one with --catalogue")};
  auto reading = read_catalogue(*file);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

LoadedRun load_run(const std::string& path, std::string_view firmware) {
  if (begins_like_a_capsule(path)) return load_capsule(path, firmware);
  refuse_other_kinds(path, {FileKind::scenario});
  if (const auto protocol = protocol_named_in(path))
    throw Unusable{
        tr("{}: this is a scenario of the protocol '{}'; run, check, why and sweep know it, and no other "
           "command yet",
           path, *protocol)};
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
            std::move(loaded.family_file),   std::move(loaded.sources),        std::move(loaded.spots),
            std::move(loaded.other_families)};
  }
  refuse_other_kinds(path, {FileKind::site});
  auto reading = read_site(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

LoadedFamily load_family(const std::string& name) {
  const auto folder = std::filesystem::current_path();
  const auto file = find_family(name, folder);
  if (!file) throw Unusable{tr("no family '{}'.{}", name, did_you_mean(name, known_families(folder, {})))};
  auto reading = read_family(*file);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

}  // namespace drybus::tools
