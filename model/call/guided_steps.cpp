#include <algorithm>
#include <deque>
#include <utility>

#include "model/call/guide.h"
#include "model/call/words.h"
#include "model/people/timetable.h"
#include "model/recovery/rehearsal.h"

namespace drybus::model {

namespace {

/// A cure is watched in so many worlds at most.
constexpr std::size_t most_worlds = 16;
constexpr std::size_t most_ways = 4;

class Dictating {
 public:
  Dictating(const Report& report, const Diagnosis& diagnosis, const std::vector<std::uint32_t>& explanations,
            const Cure& cure, const std::vector<CureLine>& told)
      : site_(report.believed.site),
        cure_(cure),
        told_(told.size() == cure.lines.size() ? told : cure.lines) {
    for (const std::uint32_t index : explanations) {
      const auto& ways = diagnosis.explanations[index].ways;
      for (std::size_t way = 0; way < std::min(most_ways, ways.size()) && watched_.size() < most_worlds;
           ++way)
        watched_.push_back(rehearse(scenario_of(report, ways[way]), *ways[way].world, cure.steps, true));
    }
  }

  std::vector<GuidedStep> dictate() {
    std::vector<GuidedStep> all;
    std::string first;  // a walk, which is told with what is done there
    std::string first_told;
    for (std::size_t i = 0; i < cure_.lines.size(); ++i) {
      const CureLine& line = cure_.lines[i];
      first += line.text;
      first_told += told_[i].text;
      if (line.steps == 0) {
        first += " ";
        first_told += " ";
        continue;
      }
      GuidedStep step;
      step.text = std::exchange(first, {});
      step.told = std::exchange(first_told, {});
      step.caution = told_[i].caution;
      const auto begin = cure_.steps.begin() + static_cast<std::ptrdiff_t>(line.first_step);
      step.steps.assign(begin, begin + static_cast<std::ptrdiff_t>(line.steps));
      watch(line, step);
      all.push_back(std::move(step));
    }
    return all;
  }

 private:
  void watch(const CureLine& line, GuidedStep& step) const {
    const std::size_t last = line.first_step + line.steps - 1;
    const DeviceId device = to_look_at(step.steps.back(), last);
    if (device == no_device || watched_.empty()) return;
    const Pattern pattern = watched_.front().shown[last][device];
    for (const Rehearsal& each : watched_) {
      if (each.shown[last][device] != pattern) return;
    }
    step.seen = Seen{device,
                     Fact::indicator,
                     std::string{to_string(pattern)},
                     static_cast<std::uint32_t>(step.steps.size() - 1),
                     false,
                     {},
                     false};
    step.shows = said(site_, *step.seen);
  }

  /// The lamp that answers: that of what is pressed, or of the module beside it that takes what is offered.
  [[nodiscard]] DeviceId to_look_at(const Step& done, std::size_t last) const {
    if (done.kind != StepKind::press && done.kind != StepKind::hold) return no_device;
    if (!site_.is_plate(done.device) || done.buttons != only(site_.family.plate.assign) || last == 0)
      return done.device;
    for (std::size_t i = 0; i < site_.modules.size(); ++i) {
      const DeviceId module = site_.module_id(i);
      if (site_.place(module) != site_.place(done.device)) continue;
      const bool took = std::all_of(watched_.begin(), watched_.end(), [&](const Rehearsal& each) {
        return each.shown[last - 1][module] == Pattern::blink && each.shown[last][module] != Pattern::blink;
      });
      if (took) return module;
    }
    return done.device;
  }

  const Site& site_;
  const Cure& cure_;
  const std::vector<CureLine>& told_;
  std::vector<Rehearsal> watched_;
};

}  // namespace

std::vector<GuidedStep> guided_steps(const Report& report, const Diagnosis& diagnosis,
                                     const std::vector<std::uint32_t>& explanations, const Cure& cure,
                                     const std::vector<CureLine>& told) {
  return Dictating{report, diagnosis, explanations, cure, told}.dictate();
}

}  // namespace drybus::model
