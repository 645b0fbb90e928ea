// A walk through what an installer can do, by moves drawn at random: told both by the judge of a hunt and as a scenario to run.
#pragma once

#include <algorithm>
#include <vector>

#include "model/hunt/space.h"
#include "model/run/run.h"
#include "sim/random.h"

namespace drybus::tests {

using model::Fact;
using model::DeviceId;
using model::Finding;
using model::FindingId;
using model::HuntPlan;
using model::HuntSpace;
using model::HuntState;
using model::MoveBudget;
using model::MoveKind;
using model::RunResult;
using model::Scenario;
using model::StepKind;

inline model::MoveBudget every_move() {
  model::MoveBudget budget;
  for (auto& each : budget.of) each = MoveBudget::unlimited;
  budget[MoveKind::power] = 2;
  budget[MoveKind::stuck] = 1;
  return budget;
}

inline bool has(const model::RunResult& result, FindingId id) {
  return std::any_of(result.findings.begin(), result.findings.end(),
                     [&](const Finding& f) { return f.id == id; });
}

/// A walk through the space by moves drawn at random: the scenario of them, and what the judge says.
class Walk {
 public:
  Walk(const Scenario& scenario, FindingId id)
      : walked(scenario),
        hunted_(scenario),
        plan_(plan_for(hunted_, {id, {}, false}, every_move(), false)),
        space_(plan_) {
    space_.start(state_);
  }

  void go_on(sim::Stream& stream) {
    std::vector<sim::Action> possible;
    space_.expand(state_, [&](sim::Action action, const HuntState&, bool) { possible.push_back(action); });
    const sim::Action chosen = possible[stream.below(possible.size())];
    const HuntSpace::Steps steps = space_.steps_of(state_, chosen);
    if (steps.mains) has_cut = true;
    walked.people[0].script.push_back(steps.installer);
    if (steps.installer.kind == StepKind::see)
      walked.people[0].script.back().checks = {look_at(steps.installer.device)};
    HuntState after;
    space_.expand(state_, [&](sim::Action action, const HuntState& next, bool is_broken) {
      if (action != chosen) return;
      after = next;
      broken_now = is_broken;
    });
    broken = broken || broken_now;
    state_ = after;
  }

  Scenario walked;
  bool broken = false;      ///< by any move
  bool broken_now = false;  ///< by the last one
  bool has_cut = false;     ///< power went in mid-step, which takes a second person to tell

 private:
  std::uint32_t look_at(DeviceId device) {
    walked.checks.push_back({Fact::indicator, device, {"dark"}, true, {}});
    return static_cast<std::uint32_t>(walked.checks.size() - 1);
  }

  Scenario hunted_;
  HuntPlan plan_;
  HuntSpace space_;
  HuntState state_;
};

}  // namespace drybus::tests
