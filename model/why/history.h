// Questions to a record: what was so just before an entry, and which entry made it so.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/people/change.h"
#include "model/record/trace.h"

namespace drybus::model {

/// A record with the scenario that it belongs to. Entries are named as ever; `before` bounds a search: only entries
/// with smaller numbers count. Steps are given back as the original scenario names them.
class History {
 public:
  /// All must outlive this.
  History(const Altered& altered, const sim::Record& record) : altered_(altered), record_(record) {}

  [[nodiscard]] const Scenario& scenario() const { return altered_.scenario(); }
  [[nodiscard]] const Site& site() const { return scenario().site; }
  [[nodiscard]] const Family& family() const { return site().family; }
  [[nodiscard]] const sim::Entry& operator[](sim::EntryId id) const { return record_[id]; }
  [[nodiscard]] const sim::Record& record() const { return record_; }
  /// One past the last entry: the bound of a search through everything.
  [[nodiscard]] sim::EntryId end() const { return static_cast<sim::EntryId>(record_.size() + 1); }

  /// The last entry that satisfies `suits`; no_entry when there is none.
  template <class Suits>
  [[nodiscard]] sim::EntryId last(sim::EntryId before, Suits suits) const {
    for (sim::EntryId id = before; id-- > 1;) {
      if (suits(record_[id])) return id;
    }
    return sim::no_entry;
  }
  /// The first entry after `after`.
  template <class Suits>
  [[nodiscard]] sim::EntryId next(sim::EntryId after, Suits suits) const {
    for (sim::EntryId id = after + 1; id < end(); ++id) {
      if (suits(record_[id])) return id;
    }
    return sim::no_entry;
  }

  /// The last entry of a kind about a device.
  [[nodiscard]] sim::EntryId last(What kind, DeviceId device, sim::EntryId before) const;
  /// The last entry that changed the device's mode.
  [[nodiscard]] sim::EntryId last_mode(DeviceId device, sim::EntryId before) const {
    return last(What::mode, device, before);
  }
  [[nodiscard]] bool in_setup(DeviceId device, sim::EntryId before) const;
  [[nodiscard]] bool powered(DeviceId device, sim::EntryId before) const;
  /// The first entry that is not before an instant.
  [[nodiscard]] sim::EntryId first_at(sim::Instant at) const;

  /// The entry of the step that led to an entry; no_entry when none did.
  [[nodiscard]] sim::EntryId step_entry(sim::EntryId entry) const;
  /// That step, as the original names it; nothing for a step that the original has not.
  [[nodiscard]] std::optional<StepRef> step_behind(sim::EntryId entry) const;
  /// The step of a What::step entry, as this scenario has it.
  [[nodiscard]] const Step& step_of(sim::EntryId step_entry) const;
  [[nodiscard]] std::optional<StepRef> original(sim::EntryId step_entry) const;
  [[nodiscard]] std::optional<StepRef> original_step(const StepRef& step) const {
    return altered_.origin(step);
  }
  /// How many steps the person's script has in the original.
  [[nodiscard]] std::uint32_t original_length(std::uint32_t person) const {
    return altered_.original_length(person);
  }
  /// " (press P1 accept)", or nothing when no step led to it.
  [[nodiscard]] std::string in_brackets(sim::EntryId entry) const;

  /// "P1 set", "M1 local": what is held for setup.
  [[nodiscard]] std::string gesture_text(DeviceId device) const;

 private:
  const Altered& altered_;
  const sim::Record& record_;
};

}  // namespace drybus::model
