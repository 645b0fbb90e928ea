// What became of scenes in a run: who stored which level, who missed that, what a recall met; and master keys that reached
// somebody else. FindingWatch tells this of every entry.
#pragma once

#include <cstdint>
#include <vector>

#include "model/findings/finding_ids.h"
#include "model/people/script.h"
#include "model/record/trace.h"
#include "model/world/world.h"
#include "sim/record.h"

namespace drybus::model {

struct Observation;
struct Moment;

/// Levels that are as far apart as this are told apart by whoever looks: 5 %. Common practice, no source.
inline constexpr Level told_apart_from = 50;
constexpr bool look_apart(Level one, Level other) {
  return (one > other ? one - other : other - one) >= told_apart_from;
}

/// Scenes that a module is to have, as the site says, and has not, a bit each: scene 1 is bit 0. None while it has no
/// address: then that is to be told.
unsigned wrong_scenes(const ModuleSpec& module, const ModuleMemory& memory);
/// The same whether it has an address yet or not.
unsigned scenes_to_store(const ModuleSpec& module, const ModuleMemory& memory);

/// A plain value.
class SceneWatch {
 public:
  explicit SceneWatch(const Scenario& scenario);

  /// Takes in one entry of the record, and adds to what was observed or ends it.
  void take_in(const Moment& now, const sim::Record& record, sim::EntryId id,
               std::vector<Observation>& observed);

  /// What no event is: modules whose scenes are not those that they are to have.
  void add_wrong_scenes(const Moment& now, std::vector<Observation>& observations) const;

 private:
  /// A level that was stored for a scene from one plate, the last time.
  struct Stored {
    DeviceId plate = no_device;
    Level level = 0;
    sim::EntryId heard = sim::no_entry;
  };
  /// What is known of one scene of one module; the last element is what it has.
  using Stores = std::vector<Stored>;
  /// One telegram that stores or recalls a scene, and what came of it.
  struct Said {
    sim::EntryId telegram = sim::no_entry;
    bool taken = false;  ///< by somebody
    std::vector<DeviceId> not_by;
    std::vector<sim::EntryId> evidence;
  };
  /// A finding that goes on while these modules have that scene as it is.
  struct Open {
    FindingId id{};
    std::uint8_t scene = 0;
    std::vector<DeviceId> modules;
    std::size_t observation = 0;
    DeviceId plate = no_device;  ///< of scene_overwritten: whose it was; of master_next_door: the master
  };

  void stored(const Moment& now, const sim::Record& record, sim::EntryId id,
              std::vector<Observation>& observed);
  void missed(const Moment& now, const sim::Record& record, sim::EntryId id,
              std::vector<Observation>& observed);
  void recalled(const Moment& now, const sim::Record& record, sim::EntryId id,
                std::vector<Observation>& observed);
  void obeyed(const Moment& now, const sim::Record& record, sim::EntryId id,
              std::vector<Observation>& observed);
  void take_store(const Moment& now, const sim::Record& record, sim::EntryId heard, sim::EntryId id,
                  std::vector<Observation>& observed);
  void judge_overwritten(const sim::Record& record, sim::EntryId heard, const Stores& stores,
                         std::vector<Observation>& observed);
  void tell_partly(FindingId finding, const sim::Record& record, std::uint8_t scene, const Said& said,
                   std::vector<Observation>& observed);
  void tell(FindingId finding, DeviceId module, DeviceId plate, std::uint8_t scene, sim::Instant at,
            std::vector<sim::EntryId> evidence, std::vector<Observation>& observed);
  void close(DeviceId module, std::uint8_t scene, sim::Instant at, std::vector<Observation>& observed);
  [[nodiscard]] bool is_told(FindingId finding, DeviceId module, std::uint8_t scene) const;
  [[nodiscard]] Stores& stores_of(const Site& site, DeviceId module, std::uint8_t scene) {
    return stores_[site.module_index(module) * max_scenes + scene - 1u];
  }
  static Said& said_in(std::vector<Said>& all, sim::EntryId telegram);

  std::vector<Stores> stores_;  ///< by module, then by scene
  std::vector<Said> store_telegrams_;
  std::vector<Said> recall_telegrams_;
  std::vector<Open> open_;
};

}  // namespace drybus::model
