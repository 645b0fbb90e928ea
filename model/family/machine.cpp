#include "model/family/machine.h"

#include <algorithm>

namespace drybus::model {

void Machine::compile() {
  by_mode_ = {};
  sim::ByEnum<Mode, std::uint8_t> in_mode;
  for (std::size_t i = 0; i < states.size(); ++i) {
    std::uint8_t& count = in_mode[states[i].mode];
    stages_[i] = count;
    by_mode_[states[i].mode][count++] = static_cast<StateIndex>(i);
    own_pattern_[i] = static_cast<std::uint8_t>(bit_of(states[i].shows));
  }
  for (unsigned wanted = 0; wanted < first_of_.size(); ++wanted) {
    const auto first = std::find_if(order.begin(), order.end(),
                                    [wanted](Pattern pattern) { return (wanted & bit_of(pattern)) != 0; });
    first_of_[wanted] = first == order.end() ? Pattern::dark : *first;
  }

  guards_.clear();
  actions_.clear();
  std::vector<Compiled> laid_out;
  std::vector<std::vector<std::uint16_t>> by_event(sim::count_of<Event>);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const MachineRow& row = rows[i];
    laid_out.push_back({static_cast<std::uint32_t>(guards_.size()), static_cast<std::uint32_t>(actions_.size()),
                        static_cast<std::uint8_t>(row.when.size()), static_cast<std::uint8_t>(row.does.size()),
                        row.to, static_cast<std::uint16_t>(i)});
    guards_.insert(guards_.end(), row.when.begin(), row.when.end());
    actions_.insert(actions_.end(), row.does.begin(), row.does.end());
    by_event[static_cast<std::size_t>(row.on)].push_back(static_cast<std::uint16_t>(i));
  }

  compiled_.clear();
  ranges_.clear();
  for (std::size_t state = 0; state < states.size(); ++state) {
    for (const std::vector<std::uint16_t>& alike : by_event) {
      const std::size_t begin = compiled_.size();
      for (const std::uint16_t row : alike) {
        if (rows[row].in == any_state || rows[row].in == state) compiled_.push_back(laid_out[row]);
      }
      ranges_.push_back({static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(compiled_.size() - begin)});
    }
  }
}

std::optional<StateIndex> Machine::find_state(std::string_view name) const {
  const auto found = std::find_if(states.begin(), states.end(), [&](const MachineState& s) { return s.name == name; });
  if (found == states.end()) return std::nullopt;
  return static_cast<StateIndex>(found - states.begin());
}

}  // namespace drybus::model
