#include "tools/commands/rows_taken.h"

#include <fmt/format.h>

#include "model/devices/take_row.h"
#include "model/family/machine_words.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "model/world/world.h"

namespace drybus::tools {

using model::tr;

namespace {

class RowWatch final : public model::DeviceLogic {
 public:
  RowWatch(model::DeviceId device, sim::Instant at) : device_(device), at_(at) {}

  void plate(const model::DeviceTurn& turn, const model::Stimulus& stimulus, model::PlateState& state,
             model::Effects& effects) override {
    take(turn, model::DeviceKind::plate,
         [&](model::RowsTaken& rows) { react(turn.family(), stimulus, state, effects, &rows); });
  }
  void module(const model::DeviceTurn& turn, const model::Stimulus& stimulus, model::ModuleState& state,
              model::Effects& effects) override {
    take(turn, model::DeviceKind::module,
         [&](model::RowsTaken& rows) { react(turn.family(), stimulus, state, effects, &rows); });
  }

  std::vector<std::string> told;

 private:
  template <class React>
  void take(const model::DeviceTurn& turn, model::DeviceKind kind, React react) {
    model::RowsTaken rows;
    react(rows);
    if (turn.device != device_ || turn.world.now != at_) return;
    const model::Machine& machine = machine_of(turn.family(), kind);
    for (const std::uint16_t index : rows) {
      const model::MachineRow& row = machine.rows[index];
      told.push_back(tr("line {}: {}", row.line, row_text(machine, row)));
    }
  }

  model::DeviceId device_;
  sim::Instant at_;
};

}  // namespace

std::vector<std::string> rows_taken(const model::Scenario& scenario, std::uint64_t seed,
                                    model::DeviceId device, sim::Instant at) {
  RowWatch watch{device, at};
  model::RunOptions options;
  options.seed = seed;
  options.plain = true;
  options.logic = &watch;
  model::run(scenario, options);
  return std::move(watch.told);
}

}  // namespace drybus::tools
