// Everything that a sentence about a finding may need; see words.cpp and longer_words.cpp.
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>
#include <vector>

#include "model/findings/findings.h"
#include "model/words/words.h"

namespace drybus::model {

/// safety_caution in the words that are spoken.
[[nodiscard]] std::string spoken_caution();

class Narrator {
 public:
  Narrator(const Scenario& scenario, const World& world, const sim::Record& record,
           const Observation& observation)
      : scenario_(scenario), world_(world), record_(record), observation_(observation) {}

  [[nodiscard]] std::string text() const;

  [[nodiscard]] std::string remedy() const;

 private:
  [[nodiscard]] static std::string caution() { return fmt::format(" {}", spoken_caution()); }
  [[nodiscard]] static std::string caution_for_switches();
  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] const Family& family() const { return site().family; }
  [[nodiscard]] DeviceId first() const { return observation_.devices.front(); }
  [[nodiscard]] std::string first_name() const { return site().name(first()); }
  [[nodiscard]] int factory_site() const { return site().family_of(first()).module.factory_site; }
  [[nodiscard]] const ModuleMemory& memory(DeviceId module) const;

  // --- words ---

  [[nodiscard]] static std::string list(std::vector<std::string> names);

  [[nodiscard]] std::string names(std::size_t from) const;

  /// A breach that was; else it still is.
  [[nodiscard]] bool is_over() const { return observation_.until.has_value(); }

  [[nodiscard]] std::string intended(DeviceId module) const;

  /// "hold P1 set for 2.5 s"
  [[nodiscard]] std::string to_setup(DeviceId device, bool capital = true) const;

  [[nodiscard]] std::string assign_button() const {
    const PlateFamily& plate = site().family_of(first()).plate;
    return plate.name_of(plate.assign);
  }

  [[nodiscard]] std::string any_button(DeviceId device) const;

  // --- what was so then, not what is so at the end ---

  /// The last entry of a kind about a device until the finding began, `fits` permitting; no_entry where there is none.
  template <class Fits>
  [[nodiscard]] sim::EntryId last_before(Fits fits) const {
    sim::EntryId found = sim::no_entry;
    for (sim::EntryId id = 1; id <= record_.size() && record_[id].at <= observation_.at; ++id) {
      if (fits(record_[id])) found = id;
    }
    return found;
  }

  [[nodiscard]] Address address_then(DeviceId module) const;

  [[nodiscard]] std::uint32_t site_number_then(DeviceId plate) const;

  // --- how it came, with times ---

  /// "press P1 up at 0:07.3", with the name of whoever did it where it was not the installer.
  [[nodiscard]] std::string told_step(sim::EntryId id) const;

  /// Switches, links and power are what the step itself was: saying it twice helps nobody.
  [[nodiscard]] bool is_the_step_itself(sim::EntryId id) const;

  /// " (press P1 up at 0:07.3)"; nothing when nobody's step led to the entry.
  [[nodiscard]] std::string in_brackets(sim::EntryId id) const;

  /// " At 0:02.5 P1 entered setup: its button was held long enough (hold P1 set for 2.5 s at 0:00.0)."
  [[nodiscard]] std::string sentence(sim::EntryId id, bool with_step = true) const;

  /// A sentence for each piece of evidence, in order of time; where there is none, since when it is so.
  [[nodiscard]] std::string how_it_came() const;

  /// The first piece of evidence of a kind about a device.
  [[nodiscard]] sim::EntryId evidence_of(DeviceId device, What kind) const;

  // --- texts that need more than a sentence ---

  [[nodiscard]] bool timed_out(DeviceId device) const;
  /// It was an offer's time to be confirmed that ended its setup, when the finding began or after the offer.
  [[nodiscard]] bool offer_lapsed(DeviceId device) const;

  [[nodiscard]] std::string setup_split() const;

  [[nodiscard]] std::string bring_together() const;

  [[nodiscard]] sim::EntryId offer() const { return observation_.evidence.back(); }
  [[nodiscard]] Address offered() const;
  [[nodiscard]] bool was_sent() const { return what(record_[offer()]) == What::sent_whole; }

  [[nodiscard]] std::string assign_unheard() const;

  [[nodiscard]] std::string orphan_address() const;

  [[nodiscard]] std::string why_not(DeviceId module) const;
  /// Those who had taken an address when the offer came, and so waited for none.
  [[nodiscard]] std::vector<DeviceId> had_taken_one() const;
  [[nodiscard]] std::vector<DeviceId> had_not() const;

  /// The module that the offer was meant for, as far as one can tell.
  [[nodiscard]] DeviceId wanted_module() const;

  [[nodiscard]] std::string assign_again() const;

  [[nodiscard]] const sim::Entry& misread_entry() const;
  [[nodiscard]] bool misread_in_setup() const { return misread_entry().b != 0; }

  [[nodiscard]] std::string press_misread() const;

  [[nodiscard]] std::string look_first() const;

  [[nodiscard]] std::string leave_one_in_setup() const;

  [[nodiscard]] std::string unaddressed() const;

  [[nodiscard]] std::string out_of_reach() const;

  /// The links on the way that were open or shorted when the telegram did not arrive, and since when.
  [[nodiscard]] std::string broken_links() const;
  [[nodiscard]] std::vector<DeviceId> on_another_bus() const;
  [[nodiscard]] std::string wrong_bus() const;
  [[nodiscard]] std::string within_reach() const;

  [[nodiscard]] std::string mend_the_way(DeviceId from, const std::string& to) const;

  [[nodiscard]] std::string stuck_button_name() const;

  [[nodiscard]] std::string stuck_button() const;

  [[nodiscard]] std::string make_it_come_up_dark() const;

  [[nodiscard]] Telegram telegram_heard() const;

  [[nodiscard]] std::string not_understood() const;

  [[nodiscard]] std::string use_what_it_knows() const;

  [[nodiscard]] std::string write_again() const;

  // --- scenes and masters: scene_words.cpp ---

  /// Those of the finding's devices that are modules, and how many.
  [[nodiscard]] std::string modules_named() const;
  [[nodiscard]] std::size_t how_many_modules() const;
  /// The plate that the telegram came from, and its scene.
  [[nodiscard]] DeviceId plate_of_scene() const;
  [[nodiscard]] Telegram telegram_of_scene() const;
  [[nodiscard]] std::string of_scene() const;
  [[nodiscard]] std::string scene_missed(int scene, const std::string& modules, std::size_t count) const;
  [[nodiscard]] std::string store_again() const;
  /// The scenes of a module that are not as they are to be, with what it has.
  [[nodiscard]] std::string scene_wrong() const;
  [[nodiscard]] std::string set_scenes_right() const;
  [[nodiscard]] std::string master_next_door() const;
  [[nodiscard]] std::string part_from_next_door() const;

  /// `again`: it has had one.
  [[nodiscard]] std::string address_it(DeviceId module, bool again) const;
  /// A plate of ours whose switches may be set for the module: nobody else is intended for it.
  [[nodiscard]] DeviceId plate_for_nobody(DeviceId module) const;

  /// "set P1's switches to site 23, zone 4"; of no_device: a plate's.
  [[nodiscard]] std::string set_switches(DeviceId plate, int site_number, int zone) const;

  [[nodiscard]] std::string give_it_a_plate() const;

  /// To those who share an address the ones that they were intended for; where that does not tell, free ones.
  [[nodiscard]] std::string part_addresses() const;

  const Scenario& scenario_;
  const World& world_;
  const sim::Record& record_;
  const Observation& observation_;
};

}  // namespace drybus::model
