// The steps of a script, flattened: repeats are written out, included files taken in.
#pragma once

#include <filesystem>
#include <set>
#include <tuple>
#include <vector>

#include "model/diagnosis/report.h"
#include "model/people/script.h"
#include "tools/script/fields.h"
#include "tools/script/loader.h"
#include "tools/script/site_index.h"

namespace drybus::tools {

/// A person's script has no more steps than this, all scripts of a scenario no more than that, and a scenario no more
/// checks.
inline constexpr std::size_t max_steps = 65'000;
inline constexpr std::size_t max_steps_of_all = 100'000;
inline constexpr std::size_t max_checks = 100'000;
inline constexpr std::size_t max_include_depth = 16;
inline constexpr std::size_t max_includes = 1'000;

/// What a report says beside its steps, which are named by where they stand: line and column of each file.
struct ToldSteps {
  using Where = std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>;
  std::set<Where> loose;   ///< their durations are only about right
  std::set<Where> unsure;  ///< looks of which nobody is sure
  std::set<Where> unsure_steps;
  std::vector<model::SwitchReading> read;  ///< off plates' switches

  static Where where(const model::SourceMark& mark) { return {mark.file, mark.line, mark.column}; }
};

/// Reads steps for the people of one scenario; checks go to `scenario.checks`.
class StepReader {
 public:
  /// `family` is null when it could not be read: then nothing is checked that depends on it. `told`: these are the
  /// steps of a report, which may be loose and unsure.
  StepReader(const SiteIndex& index, const model::Family* family, Loader& loader, Complaints& complaints,
             model::Scenario& scenario, ToldSteps* told = nullptr)
      : index_(index),
        family_(family),
        loader_(loader),
        complaints_(complaints),
        scenario_(scenario),
        told_(told) {}

  /// Reads a list of steps as the script of a person. Who has no place yet stands where their first step
  /// needs them. A step whose `at` has gone by when its turn comes is complained of.
  void read(const Node& list, model::Person& person);

  /// Reads what is seen now, in a report: mappings of what to what, each with its `unsure`.
  struct SeenNow {
    model::Check check;
    bool unsure = false;
  };
  std::vector<SeenNow> read_seen(const Node& node);

  /// "M3 reacts", "M3 blips", or a list of such: what never happens.
  struct Never {
    model::DeviceId module = model::no_device;
    model::Fact fact = model::Fact::load;  ///< the load that does not react, or the lamp that does not blip
    Place place;
  };
  std::vector<Never> read_never(const Node& node);

 private:
  /// Steps as they are read, and where the `at` of each stands.
  struct Steps {
    std::vector<model::Step> steps;
    std::vector<Place> at_places;
  };
  struct Action {
    std::string_view key;
    const Node* value = nullptr;
    Place place;
  };

  void read_list(const Node& list, Steps& into);
  void read_step(const Node& node, Steps& into);
  std::optional<Action> find_action(const Node& node);
  void refuse_strays(const Node& node, std::string_view action);
  void carry_out(const Node& node, const Action& action, Steps& into);

  std::optional<sim::Duration> read_time(const Node& node, const Place& step);
  [[nodiscard]] bool is_unsure(const Node& seen);
  void read_seen_of(const Node& map, std::vector<SeenNow>& into);
  void read_push(const Node& node, const Action& action, model::StepKind kind, Steps& into);
  bool read_buttons(const Node& value, model::Step& step);
  std::optional<model::Buttons> read_button(const Node& value, model::DeviceId device, std::string_view name,
                                            std::size_t offset);
  void read_wait(const Action& action, Steps& into);
  void read_walk(const Action& action, Steps& into);
  void read_switches(const Action& action, Steps& into);
  void read_power(const Action& action, Steps& into);
  void read_note(const Action& action, Steps& into);
  void read_repeat(const Node& node, const Action& action, Steps& into);
  void read_include(const Action& action, Steps& into);

  void read_fault(const Action& action, Steps& into);
  bool read_link_fault(const Node& value, std::string_view key, const Fields& fields, model::Fault& fault);
  bool read_button_fault(const Node& value, model::Fault& fault);
  bool read_deafness(const Node& value, const Fields& fields, model::Fault& fault);
  bool read_load_fault(const Node& value, model::Fault& fault);

  void read_checks(const Action& action, bool seen, Steps& into);
  std::optional<model::Check> read_check(const Node& key, const Node& value, bool seen);
  std::optional<model::Fact> read_fact(const Node& key, std::size_t dot, model::DeviceId device, bool seen);
  [[nodiscard]] std::size_t dot_in(const Node& key) const;
  bool read_switch_reading(const Node& key, const Node& value);
  std::optional<model::Check> read_told_device(const Node& key, const Node& value);
  void read_addressed(const Action& action, Steps& into);
  std::vector<model::DeviceId> read_devices(const Node& list, bool plates);
  void read_unsure(const Node& node, std::string_view action, const Place& place);
  bool read_wanted_findings(const Node& value, model::Check& check);
  std::optional<std::string> read_wanted_value(const Node& value, const model::Check& check);

  void read_common(const Node& node, Steps& steps, std::size_t first);
  void append(Steps& to, const Steps& from);
  bool room_for(std::size_t steps, std::size_t checks, const Place& place);
  void add(Steps& to, model::Step step, const Place& place);
  void check_times(const Steps& steps, const model::Person& person);

  const SiteIndex& index_;
  const model::Family* family_;
  Loader& loader_;
  Complaints& complaints_;
  model::Scenario& scenario_;
  ToldSteps* told_;
  std::vector<std::filesystem::path> including_;  ///< files that are being read, outermost first
  std::size_t includes_ = 0;
  std::size_t steps_read_ = 0;       ///< of the person in hand
  std::size_t steps_of_others_ = 0;  ///< of those before
  bool full_ = false;                ///< a limit was passed, and complained of once
};

}  // namespace drybus::tools
