#include "model/run/human.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "sim/random.h"

namespace drybus::model {

namespace {

/// One run's variation in progress.
class Variation {
 public:
  Variation(const Scenario& meant, const HumanFactors& factors, std::uint64_t seed, std::uint64_t run,
            Scenario& out, std::vector<Slip>& slips)
      : meant_(meant),
        factors_(factors),
        timing_{seed, sim::Purpose::timing, 0, run << 20},
        slipping_{seed, sim::Purpose::slip, 0, run << 20},
        out_(out),
        slips_(slips) {}

  void make() {
    slips_.clear();
    out_.times.pause = spread(meant_.times.pause, factors_.pause_spread);
    for (std::size_t i = 0; i < meant_.site.walks.size(); ++i) {
      out_.site.walks[i] = spread(meant_.site.walks[i], factors_.walk_spread);
    }
    std::vector<Step>& script = out_.people[0].script;
    script.clear();
    for (std::uint32_t i = 0; i < meant_.people[0].script.size(); ++i) do_step(i, script);
  }

 private:
  [[nodiscard]] static bool is_act(const Step& step) {
    return step.kind == StepKind::press || step.kind == StepKind::hold;
  }

  [[nodiscard]] sim::Duration spread(sim::Duration median, double sigma) {
    if (sigma == 0 || median <= sim::Duration::zero()) return median;
    // Whole microseconds: finer than any of this is known.
    const double micros = timing_.lognormal(static_cast<double>(median.count()) / 1e3, sigma);
    return sim::Duration{static_cast<std::int64_t>(micros) * 1000};
  }

  void do_step(std::uint32_t index, std::vector<Step>& script) {
    const Step& meant = meant_.people[0].script[index];
    if (!is_act(meant)) {
      script.push_back(meant);
      if (meant.kind == StepKind::wait) script.back().duration = spread(meant.duration, factors_.wait_spread);
      return;
    }
    if (slipping_.chance_ppb(factors_.omit_ppb)) return slip(Slip::Kind::omitted, index);
    script.push_back(meant);
    take_time(index, script.back());
    if (slipping_.chance_ppb(factors_.wrong_ppb)) mistake_the_button(index, script.back());
    if (meant.kind == StepKind::press && slipping_.chance_ppb(factors_.repeat_ppb)) {
      slip(Slip::Kind::repeated, index);
      script.push_back(script.back());
      script.back().at.reset();
    }
  }

  void slip(Slip::Kind kind, std::uint32_t index) { slips_.push_back({kind, index}); }

  void take_time(std::uint32_t index, Step& step) {
    const sim::Duration needed = gesture_time(step);
    if (step.kind == StepKind::press || step.duration < needed || needed == sim::Duration::zero()) {
      step.duration = spread(step.duration, factors_.press_spread);
      return;
    }
    if (slipping_.chance_ppb(factors_.let_go_early_ppb)) {
      slip(Slip::Kind::let_go_early, index);
      step.duration = needed * static_cast<std::int64_t>(300 + timing_.below(690)) / 1000;
      return;
    }
    if (factors_.let_go_spread > 0) step.duration = needed + spread(factors_.let_go, factors_.let_go_spread);
  }

  /// How long the setup gesture must be held, when the step is one.
  [[nodiscard]] sim::Duration gesture_time(const Step& step) const {
    const Site& site = meant_.site;
    const bool gesture = step.kind == StepKind::hold && step.buttons == site.setup_gesture(step.device);
    return gesture ? site.setup_hold(step.device) : sim::Duration::zero();
  }

  /// Another button of the same plate, or another module in the same place.
  void mistake_the_button(std::uint32_t index, Step& step) {
    if (!meant_.site.is_plate(step.device)) return mistake_the_module(index, step);
    const auto buttons = meant_.site.plate_family(step.device).buttons.size();
    if (buttons < 2 || std::popcount(step.buttons) != 1) return;
    const auto right = static_cast<std::uint64_t>(std::countr_zero(step.buttons));
    const std::uint64_t other = slipping_.below(buttons - 1);
    step.buttons = only(static_cast<Button>(other < right ? other : other + 1));
    slip(Slip::Kind::wrong, index);
  }

  void mistake_the_module(std::uint32_t index, Step& step) {
    std::vector<DeviceId> others;
    for (std::size_t i = 0; i < meant_.site.modules.size(); ++i) {
      const DeviceId id = meant_.site.module_id(i);
      if (id != step.device && meant_.site.place(id) == meant_.site.place(step.device)) others.push_back(id);
    }
    if (others.empty()) return;
    step.device = others[slipping_.below(others.size())];
    slip(Slip::Kind::wrong, index);
  }

  const Scenario& meant_;
  const HumanFactors& factors_;
  // A run has 2^20 draws of each kind to itself, more than any script needs.
  sim::Stream timing_;
  sim::Stream slipping_;
  Scenario& out_;
  std::vector<Slip>& slips_;
};

}  // namespace

HumanFactors clockwork() {
  HumanFactors factors;
  factors.walk_spread = factors.wait_spread = factors.press_spread = factors.pause_spread = 0;
  factors.let_go_spread = 0;
  factors.omit_ppb = factors.wrong_ppb = factors.repeat_ppb = factors.let_go_early_ppb = 0;
  return factors;
}

std::string describe(const Scenario& meant, const Slip& slip) {
  const std::string step = describe(meant, meant.people[0].script[slip.step]);
  switch (slip.kind) {
    case Slip::Kind::omitted:
      return tr("forgot to {}", step);
    case Slip::Kind::wrong:
      return tr("took the wrong one where it says {}", step);
    case Slip::Kind::repeated:
      return tr("did this twice: {}", step);
    case Slip::Kind::let_go_early:
      return tr("let go too early: {}", step);
  }
  return {};
}

void vary(const Scenario& meant, const HumanFactors& factors, std::uint64_t seed, std::uint64_t run,
          Scenario& out, std::vector<Slip>& slips) {
  Variation{meant, factors, seed, run, out, slips}.make();
}

}  // namespace drybus::model
