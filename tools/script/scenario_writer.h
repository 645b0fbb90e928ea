// A scenario on its way into a file, part by part; see writer.h.
#pragma once

#include <yaml-cpp/emitter.h>

#include <optional>
#include <string>
#include <vector>

#include "model/firmware/outside.h"
#include "tools/script/writer.h"

namespace drybus::tools {

class ScenarioWriter {
 public:
  ScenarioWriter(const LoadedScenario& loaded, std::string family, std::vector<std::string> other_families)
      : scenario_(loaded.scenario),
        site_(loaded.scenario.site),
        family_(std::move(family)),
        other_families_(std::move(other_families)),
        spots_(loaded.spots) {
    spots_.resize(site_.places.size());
  }

  std::string write();
  /// One step on one line: "{hold: P1 set, for: 5500ms}".
  std::string write_one(const model::Step& step);

 private:
  YAML::Emitter& key(std::string_view name) { return out_ << YAML::Key << std::string{name} << YAML::Value; }

  void write_long_text(std::string_view name, const std::string& text);

  void write_times();

  // --- the site ---

  void write_site();

  [[nodiscard]] bool has_places() const;

  template <class Specs, class Write>
  void write_each(const Specs& specs, Write write);

  /// Walks that come out otherwise than they are when only these are written down.
  [[nodiscard]] std::vector<model::WalkLeg> walks_amiss(const std::vector<model::WalkLeg>& given) const;

  /// The walks that have to be written down, as nothing else leads to them. One may explain others, so the
  /// shortest comes first and the rest is looked at again; in a large site that would take too long.
  [[nodiscard]] std::vector<model::WalkLeg> walks_to_write() const;

  void write_places();

  void write_spot(const model::Spot& spot);

  template <class Spec>
  void write_label_and_place(const Spec& spec);

  void write_family_of(std::uint16_t which);

  void write_plate(const model::PlateSpec& plate);

  void write_module(const model::ModuleSpec& module);

  /// What the memory has beyond that of a new module.
  void write_memory(const model::ModuleSpec& module);
  using Scenes = std::array<model::Level, model::max_scenes>;
  void write_scenes(std::string_view name, const Scenes& scenes, const Scenes& usual);

  // --- its wiring ---

  /// Devices on no bus have a medium each, which comes by itself; they follow the others.
  [[nodiscard]] std::size_t buses_to_write() const;

  void write_buses();

  void write_bus(const sim::MediumSpec& medium, const std::optional<model::SupplyCable>& cable);

  /// The commonest length is written once, and the others link by link.
  void write_cable(const sim::MediumSpec& medium, const model::SupplyCable& cable);

  template <class Range>
  void write_names(const Range& nodes);

  /// The nodes in a row, where the links join them in one; empty otherwise.
  [[nodiscard]] std::vector<sim::NodeId> row(const sim::MediumSpec& medium) const;

  void write_line(const sim::MediumSpec& medium);

  void write_radio(const sim::MediumSpec& medium);

  /// Pairs without a link that coordinates do not keep apart.
  [[nodiscard]] std::vector<std::string> blocked_pairs(const sim::MediumSpec& medium) const;

  // --- people and their steps ---

  void write_people();

  void write_other(const model::Person& person);

  void write_script(const std::vector<model::Step>& script);

  void write_step(const model::Step& step);

  [[nodiscard]] std::string buttons(model::DeviceId device, model::Buttons set) const;

  void write_push(std::string_view name, const model::Step& step, bool with_duration);

  void write_switches(const model::Step& step);

  void write_power(const model::Step& step);

  void write_fault(const model::Fault& fault);

  void write_checks(const model::Step& step);

  void write_check(const model::Check& check);

  // --- a device outside ---

  void write_outside();

  void write_act(const model::OutsideAct& act);

  static std::string word(std::string_view text) { return std::string{text}; }

  const model::Scenario& scenario_;
  const model::Site& site_;
  std::string family_;
  std::vector<std::string> other_families_;
  std::vector<std::optional<model::Spot>> spots_;
  YAML::Emitter out_;
};

}  // namespace drybus::tools
