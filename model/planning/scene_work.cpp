#include "model/planning/scene_work.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <optional>
#include <utility>

#include "model/findings/scenes.h"
#include "model/planning/cover_work.h"
#include "model/record/describe.h"
#include "model/record/scene_keys.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// Until a load stands still whose way takes that long, and whoever waits for it sees that it does.
constexpr sim::Duration to_see_it_stand = std::chrono::milliseconds{500};

/// A scene of one zone: which modules it has, and what each of them is to store.
struct Job {
  Address zone;  ///< channel 0
  std::uint8_t scene = 0;
  std::vector<DeviceId> modules;
  std::vector<Level> levels;  ///< no_scene_level: whatever it is then
};

/// What all have in common, if it can be set.
struct Common {
  Level level = full_level;
  bool possible = true;
};

class SceneWriter {
 public:
  SceneWriter(const Site& site, const HumanTimes& times) : site_(site), times_(times) {}

  void add(const Job& job) {
    const std::string what = tr("Scene {} of zone {}/{}", job.scene, job.zone.site, job.zone.zone);
    const auto plate = plate_for(job);
    if (!plate)
      return cannot(what,
                    tr("no plate of that zone has keys that switch it on and store scene {}", job.scene));
    const Common common = common_of(job);
    if (!common.possible)
      return cannot(what,
                    tr("its levels are more than dark, full and one other, and a plate sets all alike"));
    if (std::string why = why_not(job, common); !why.empty()) return cannot(what, why);
    if (common.level != full_level && !lowering_key(*plate))
      return cannot(what, tr("{} has no key that lowers", site_.name(*plate)));
    write(job, *plate, common.level);
  }

  SceneWork take() { return std::move(work_); }

 private:
  [[nodiscard]] const PlateFamily& family(DeviceId plate) const { return site_.plate_family(plate); }
  [[nodiscard]] std::optional<Key> lowering_key(DeviceId plate) const {
    return plain_key(family(plate), Command::lower);
  }

  void cannot(const std::string& what, std::string_view why) {
    work_.cannot.push_back(tr("{} cannot be stored with these keys: {}.", what, why));
  }

  [[nodiscard]] std::optional<DeviceId> plate_for(const Job& job) const {
    for (DeviceId plate = 0; plate < site_.plates.size(); ++plate) {
      const PlateSpec& spec = site_.plates[plate];
      if (spec.neighbour || spec.site != job.zone.site || spec.zone != job.zone.zone) continue;
      const bool stores = scene_key(family(plate), Command::store, job.scene).has_value();
      if (stores && plain_key(family(plate), Command::on) && plain_key(family(plate), Command::off))
        return plate;
    }
    return std::nullopt;
  }

  static bool is_dark(Level level) { return !look_apart(level, 0); }
  static bool is_full(Level level) { return !look_apart(level, full_level); }

  static Common common_of(const Job& job) {
    Common common;
    for (const Level level : job.levels) {
      if (level == no_scene_level || is_dark(level) || is_full(level)) continue;
      if (common.level != full_level && look_apart(common.level, level)) common.possible = false;
      if (common.level == full_level) common.level = level;
    }
    return common;
  }

  /// Whether a module has to be set by its own button, and cannot be; and loads that nobody may switch.
  [[nodiscard]] std::string why_not(const Job& job, const Common& common) const {
    for (std::size_t i = 0; i < job.modules.size(); ++i) {
      const DeviceId module = job.modules[i];
      const std::string& name = site_.name(module);
      if (site_.modules[site_.module_index(module)].do_not_switch)
        return tr("{} is not to be switched", name);
      if (job.scene > site_.module_family(module).scenes) return tr("{} has fewer scenes", name);
      if (taps(job.levels[i], common.level) > 0 && site_.module_family(module).button.empty())
        return tr("{} has no button of its own", name);
    }
    return {};
  }

  /// How often a module's own button is pressed while its load is lit at the common level.
  static unsigned taps(Level wanted, Level common) {
    if (wanted == no_scene_level || !look_apart(wanted, common)) return 0;
    return is_dark(wanted) ? 1 : 2;
  }

  // --- steps ---

  void line(std::string text, std::vector<Step> steps) {
    work_.lines.push_back({std::move(text), static_cast<std::uint32_t>(work_.steps.size()),
                           static_cast<std::uint32_t>(steps.size())});
    work_.steps.insert(work_.steps.end(), steps.begin(), steps.end());
  }

  [[nodiscard]] sim::Duration fade() const {
    return site_.longest([](const Family& each) { return each.module.fade; }) + to_see_it_stand;
  }

  [[nodiscard]] std::string named(DeviceId device) const {
    const std::string& title = site_.title(device);
    return title == site_.name(device) ? title : fmt::format("{} ({})", title, site_.name(device));
  }

  /// What is done at a device, with where that is; `does` begins with a small letter.
  [[nodiscard]] std::string at(DeviceId device, std::string does) const {
    if (site_.places.size() > 1) return tr("In {}: {}", site_.places[site_.place(device)].name, does);
    does.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(does.front())));
    return does;
  }

  void write(const Job& job, DeviceId plate, Level common) {
    const Key on = *plain_key(family(plate), Command::on);
    line(at(plate, tr("{}; every load of zone {} comes on.", key_text(site_, plate, on), job.zone.zone)),
         {key_step(site_, plate, on, times_.press), wait_step(fade())});
    if (common != full_level) lower(job, plate, common);
    for (std::size_t i = 0; i < job.modules.size(); ++i) tap(job.modules[i], job.levels[i], common);
    const Key store = *scene_key(family(plate), Command::store, job.scene);
    const sim::Duration writing =
        site_.longest([](const Family& each) { return each.module.store; }) + to_see_it_stand;
    line(at(plate, tr("see that nothing moves any more. Then {}: all store scene {}.",
                      key_text(site_, plate, store), job.scene)),
         {key_step(site_, plate, store, times_.press), wait_step(writing)});
    const Key off = *plain_key(family(plate), Command::off);
    line(at(plate, tr("{}: the zone is dark again.", key_text(site_, plate, off))),
         {key_step(site_, plate, off, times_.press), wait_step(fade())});
  }

  /// The key is held until the load stands at the level; how long that is, the time from one end to the other says.
  void lower(const Job& job, DeviceId plate, Level common) {
    const Key key = *lowering_key(plate);
    const sim::Duration whole = site_.module_family(job.modules.front()).full_range;
    const sim::Duration lowering = whole * (full_level - common) / full_level;
    Step step = key_step(site_, plate, key, times_.press);
    step.kind = StepKind::hold;
    step.duration = lowering + (key.held ? family(plate).long_press : sim::Duration::zero());
    line(at(plate, tr("hold {} {} for {}, until the loads stand at {}.", site_.name(plate),
                      family(plate).name_of(key.button), duration_text(step.duration), percent_text(common))),
         {step, wait_step(to_see_it_stand)});
  }

  void tap(DeviceId module, Level wanted, Level common) {
    const unsigned times = taps(wanted, common);
    if (times == 0) return;
    std::vector<Step> steps;
    for (unsigned i = 0; i < times; ++i) {
      steps.push_back(push_step(StepKind::press, module, only(0), times_.press));
      steps.push_back(wait_step(fade()));
    }
    const std::string& button = site_.module_family(module).button;
    const std::string does =
        times == 1 ? tr("press {} {} once: it is dark then.", named(module), button)
                   : tr("press {} {} twice, with a pause: it is full then.", named(module), button);
    line(at(module, does), std::move(steps));
  }

  const Site& site_;
  const HumanTimes& times_;
  SceneWork work_;
};

}  // namespace

SceneWork scene_work(const Site& site, const HumanTimes& times, std::span<const unsigned> wanted) {
  std::map<std::pair<std::uint8_t, std::uint8_t>, std::vector<std::size_t>> zones;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleSpec& module = site.modules[i];
    if (module.neighbour) continue;
    const Address address = module.intended.value_or(module.memory.address);
    if (address.channel != 0) zones[{address.site, address.zone}].push_back(i);
  }
  SceneWriter writer{site, times};
  for (const auto& [zone, modules] : zones) {
    for (std::uint8_t scene = 1; scene <= max_scenes; ++scene) {
      const auto wants = [&](std::size_t module) { return (wanted[module] >> (scene - 1) & 1U) != 0; };
      if (std::none_of(modules.begin(), modules.end(), wants)) continue;
      Job job{{zone.first, zone.second, 0}, scene, {}, {}};
      for (const std::size_t module : modules) {
        job.modules.push_back(site.module_id(module));
        job.levels.push_back(site.modules[module].intended_scenes[scene - 1u]);
      }
      writer.add(job);
    }
  }
  return writer.take();
}

}  // namespace drybus::model
