#include "tools/options/firmware_choice.h"

#include <fmt/format.h>

#include <fstream>
#include <iterator>

#include "model/firmware/outside.h"
#include "model/words/words.h"
#include "sim/digest.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/capsule/capsule.h"
#include "tools/script/quantity.h"
#include "tools/seat/black_box.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::msg;
using model::tr;

namespace {
constexpr std::uint64_t most_days = 3650;
}  // namespace

void offer_firmware(CommandLine& line) {
  line.add()(
      "firmware", po::value<std::vector<std::string>>()->composing(),
      msg("run this in place of the built-in devices: module=PATH.so, plate=PATH.so, or PATH.so for both; "
          "repeatable")
          .data());
  offer_manner(line);
}

void offer_manner(CommandLine& line) {
  line.add()("uptime", po::value<std::string>(),
             msg("with --firmware: how old devices are when the run begins, such as 49d17h").data());
  line.add()(
      "every-turn",
      msg("with --firmware: go through every turn of a main loop, also where nothing can happen (slow)")
          .data());
}

FirmwareChoice read_firmware(const CommandLine& line) {
  return FirmwareChoice{line.texts("firmware"), read_manner(line)};
}

namespace {
/// "49d17h": days, and whatever else is a time.
sim::Duration read_age(const std::string& text) {
  const std::size_t d = text.find('d');
  const auto days =
      d == std::string::npos ? Quantity<std::uint64_t>{std::uint64_t{0}} : parse_whole(text.substr(0, d));
  const std::string rest = d == std::string::npos ? text : text.substr(d + 1);
  const auto hours = rest.empty() ? Quantity<sim::Duration>{sim::Duration{}} : parse_duration(rest);
  if (!days || !hours || *days > most_days)
    throw Unusable{tr("--uptime: '{}' is no time, or more than ten years; give it as 49d17h or 90min", text)};
  return std::chrono::hours{24} * static_cast<std::int64_t>(*days) + *hours;
}
}  // namespace

model::FirmwareManner read_manner(const CommandLine& line) {
  model::FirmwareManner manner;
  if (line.has("uptime")) manner.age = read_age(line.text("uptime"));
  manner.every_turn = line.has("every-turn");
  if (line.texts("firmware").empty() && (line.has("uptime") || manner.every_turn))
    throw Unusable{tr("--uptime and --every-turn go with --firmware")};
  return manner;
}

FirmwareChoice::FirmwareChoice(const std::vector<std::string>& words, const model::FirmwareManner& manner)
    : words_(words), manner_(manner) {
  for (const std::string& word : words) take(word);
}

void FirmwareChoice::take(const std::string& word) {
  if (word == built_in_firmware) return;
  const std::size_t equals = word.find('=');
  const std::string kind = equals == std::string::npos ? "" : word.substr(0, equals);
  if (!kind.empty() && kind != "plate" && kind != "module" && kind.find('/') == std::string::npos) {
    const std::vector<std::string> known = {"plate", "module"};
    throw Unusable{
        tr("--firmware {}: expected module=PATH or plate=PATH.{}", word, did_you_mean(kind, known))};
  }
  const bool any = kind != "plate" && kind != "module";
  const std::string path = any ? word : word.substr(equals + 1);
  if (path.empty()) throw Unusable{tr("--firmware {}: the path of a shared library is missing", word)};
  const auto library = std::make_shared<FirmwareLibrary>(path);
  for (const bool plate : {true, false}) {
    const char* name = plate ? "plate" : "module";
    if (!any && kind != name) continue;
    if (!library->seat(plate)) {
      if (any) continue;
      throw Unusable{
          plate ? tr("--firmware {}: {} has no firmware for a plate; it has one for a module", word, path)
                : tr("--firmware {}: {} has no firmware for a module; it has one for a plate", word, path)};
    }
    std::shared_ptr<FirmwareLibrary>& place = plate ? plate_ : module_;
    if (place)
      throw Unusable{plate ? tr("--firmware {}: {} is chosen for plates already", word, place->path())
                           : tr("--firmware {}: {} is chosen for modules already", word, place->path())};
    place = library;
  }
}

void FirmwareChoice::put_in(model::Scenario& scenario) const {
  if (built_in()) return;
  note_devices(scenario.site);
  const auto outside = model::outside_of(scenario.site);  // stays outside
  const auto seat = [](const std::shared_ptr<FirmwareLibrary>& library, bool plate) {
    return library ? library->seat(plate) : std::nullopt;
  };
  const auto firmware = std::make_shared<model::FirmwareLogic>(scenario.site, seat(plate_, true),
                                                               seat(module_, false), manner_);
  scenario.site.logic = firmware;
  if (outside)
    scenario.site.logic =
        std::make_shared<model::OutsideLogic>(outside->device(), outside->steps(), firmware);
}

std::string FirmwareChoice::text() const {
  if (built_in()) return std::string{built_in_firmware};
  if (plate_ == module_) {
    return fmt::format("{} and {} ({})", plate_->seat(true)->firmware->name,
                       module_->seat(false)->firmware->name, plate_->path());
  }
  std::string text;
  for (const bool plate : {true, false}) {
    const auto& library = plate ? plate_ : module_;
    if (!library) continue;
    if (!text.empty()) text += ", ";
    text += fmt::format("{} ({})", library->seat(plate)->firmware->name, library->path());
  }
  return text;
}

std::string FirmwareChoice::options() const {
  std::string text;
  for (const std::string& word : words_) text += " --firmware " + word;
  if (manner_.age != sim::Duration::zero())
    text += fmt::format(" --uptime {}ms", std::chrono::ceil<std::chrono::milliseconds>(manner_.age).count());
  return text;
}

std::string FirmwareChoice::fingerprint() const {
  sim::Digest digest;
  for (const auto& library : {plate_, module_}) {
    if (!library) {
      digest.add(0);
      continue;
    }
    std::ifstream file{library->path(), std::ios::binary};
    const std::string bytes{std::istreambuf_iterator<char>{file}, {}};
    digest.add(std::string_view{bytes});
  }
  return digest.value().hex();
}

void FirmwareChoice::put_back() const {
  for (const auto& library : {plate_, module_}) {
    if (library) library->refuse_heap();
  }
}

}  // namespace drybus::tools
