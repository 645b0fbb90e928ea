#include "tests/bench/natural_calls.h"

#include <algorithm>
#include <set>

#include "model/world/simulation.h"

namespace drybus::bench {

using namespace model;

namespace {

using namespace std::chrono_literals;

/// Of lights people speak together as often as not: "the others are on"; judgement.
constexpr unsigned collective = 75;

/// What people really did takes longer or shorter than they say; some pauses they do not speak of.
void loosen(Scenario& truth, Draw& draw) {
  std::vector<Step> script;
  const bool one_who_pauses = draw.percent(50);
  for (Step& step : truth.people[0].script) {
    if (step.kind == StepKind::wait && step.duration > 3s)
      step.duration = scaled(step.duration, draw.around_one(0.3));
    if (is_act(step) && one_who_pauses && draw.percent(12))
      script.push_back(waits(std::chrono::seconds{draw.between(2, 20)}));
    script.push_back(step);
  }
  truth.people[0].script = std::move(script);
  const double pace = draw.around_one(0.15);
  for (sim::Duration& walk : truth.site.walks) walk = scaled(walk, pace);
}

std::string otherwise(const std::string& really, Fact fact, Draw& draw) {
  if (fact == Fact::load) return really == "lit" ? "dark" : "lit";
  static const std::vector<std::string> patterns{"dark", "blink", "breathe", "steady", "blip"};
  while (true) {
    const std::string& other = draw.of(patterns);
    if (other != really) return other;
  }
}

/// Says of a call what comes to mind.
class Caller {
 public:
  /// `sound`: what would have shown had nothing gone wrong; `without`: had each of the things that did not happened.
  Caller(const NaturalInstall& install, const Shown& as_told, const Shown& sound, const Shown& truth,
         const std::vector<Shown>& without, Draw& draw)
      : glimpses_(install.glimpses), as_told_(as_told), truth_(truth), without_(without), draw_(draw) {
    for (std::uint32_t i = 0; i < glimpses_.size(); ++i) {
      if (!truth.at[i] || (glimpses_[i].striking && *truth.at[i] != "steady")) continue;
      // What a pause alone makes of it is odd to nobody.
      const bool odd = truth.at[i] != as_told.at[i] && truth.at[i] != sound.at[i];
      (odd ? odd_ : ordinary_).push_back(i);
    }
  }

  /// Nothing when what went wrong shows in nothing of it.
  std::optional<std::vector<Seen>> tell(std::size_t things) {
    shown_.assign(without_.size(), false);
    if (!complain()) return std::nullopt;
    for (std::size_t said = 1; said < things; ++said) mention();
    if (std::find(shown_.begin(), shown_.end(), false) != shown_.end()) return std::nullopt;
    std::stable_sort(seen_.begin(), seen_.end(), [](const Seen& a, const Seen& b) {
      return a.after_step.value_or(~0u) < b.after_step.value_or(~0u);
    });
    return std::move(seen_);
  }

 private:
  /// Lights that do not do as they should come to mind first, then lamps that call for attention now, then those that
  /// did not answer when a button was held. For a lamp that is dark nobody rings up.
  [[nodiscard]] std::size_t tickets(std::uint32_t i) const {
    const Glimpse& glimpse = glimpses_[i];
    if (glimpse.of_lights) return 4;
    const bool calm = *truth_.at[i] == "dark" || *truth_.at[i] == "blip";
    if (!glimpse.after_step) return calm ? 0 : 2;
    return as_told_.at[i] == "blink" || as_told_.at[i] == "steady" || !calm ? 1 : 0;
  }

  bool complain() {
    std::vector<std::uint32_t> candidates;
    for (const std::uint32_t i : odd_) candidates.insert(candidates.end(), tickets(i), i);
    if (candidates.empty()) return false;
    say(draw_.of(candidates), true, false);
    return true;
  }

  void mention() {
    const auto left = [this](const std::vector<std::uint32_t>& all) {
      std::vector<std::uint32_t> unsaid;
      for (const std::uint32_t i : all) {
        if (!said_.contains(i)) unsaid.push_back(i);
      }
      return unsaid;
    };
    std::vector<std::uint32_t> unsaid = left(draw_.percent(50) ? odd_ : ordinary_);
    if (unsaid.empty()) unsaid = left(ordinary_);
    if (unsaid.empty()) return;
    const std::uint32_t first = draw_.of(unsaid);
    if (!glimpses_[first].of_lights || !draw_.percent(collective)) return say(first, false, true);
    // "The others are on", "none of those went off".
    for (const std::uint32_t i : unsaid) {
      if (glimpses_[i].occasion == glimpses_[first].occasion && truth_.at[i] == truth_.at[first])
        say(i, false, false);
    }
  }

  void say(std::uint32_t index, bool complaint, bool may_be_wrong) {
    const bool unsure = !complaint && draw_.one_in(12);
    const bool wrong = may_be_wrong && draw_.one_in(unsure ? 7 : 50);
    const Glimpse& glimpse = glimpses_[index];
    Seen seen;
    seen.device = glimpse.device;
    seen.fact = glimpse.fact;
    seen.after_step = glimpse.after_step;
    seen.what = wrong ? otherwise(*truth_.at[index], glimpse.fact, draw_) : *truth_.at[index];
    seen.unsure = unsure;
    seen.believed = complaint;
    seen_.push_back(std::move(seen));
    said_.insert(index);
    for (std::size_t w = 0; w < without_.size(); ++w) {
      const bool owed = truth_.at[index] != without_[w].at[index] && truth_.at[index] != as_told_.at[index];
      if (!wrong && owed) shown_[w] = true;
    }
  }

  const std::vector<Glimpse>& glimpses_;
  const Shown& as_told_;
  const Shown& truth_;
  const std::vector<Shown>& without_;
  Draw& draw_;
  std::vector<std::uint32_t> odd_;
  std::vector<std::uint32_t> ordinary_;
  std::set<std::uint32_t> said_;
  std::vector<bool> shown_;
  std::vector<Seen> seen_;
};

class CallMaker {
 public:
  CallMaker(const Families& families, std::uint64_t seed, std::size_t slips)
      : families_(families), seed_(seed), slips_(slips) {}

  NaturalCall make() {
    for (std::uint32_t attempt = 0;; ++attempt) {
      Draw draw{seed_, attempt};
      auto install = make_install(families_, draw);
      if (!install) continue;
      install_ = std::move(*install);
      sound_ = install_.told;
      sound_.seed = draw.word();
      loosen(sound_, draw);
      if (!works(sound_)) continue;
      as_told_ = run_and_look(install_.told, install_.glimpses);
      as_meant_ = run_and_look(sound_, install_.glimpses);
      for (int tries = 0; tries < 40; ++tries) {
        if (auto made = spoil(draw)) return std::move(*made);
      }
    }
  }

 private:
  std::optional<NaturalCall> spoil(Draw& draw) {
    NaturalCall call;
    call.seed = seed_;
    call.truth = sound_;
    std::vector<Draw> draws;
    for (std::size_t i = 0; i < slips_; ++i) {
      draws.emplace_back(draw.word(), 0u);
      Draw own = draws.back();
      const auto made = go_wrong(install_.told, call.truth, own);
      if (!made) return std::nullopt;
      call.causes.push_back(*made);
    }
    Shown truth = run_and_look(call.truth, install_.glimpses);
    if (alike(as_told_, truth)) return std::nullopt;
    std::vector<Shown> without;
    for (std::size_t left_out = 0; slips_ > 1 && left_out < slips_; ++left_out) {
      Scenario other = sound_;
      Draw own = draws[1 - left_out];
      if (!go_wrong(install_.told, other, own)) return std::nullopt;
      without.push_back(run_and_look(other, install_.glimpses));
      if (alike(without.back(), truth)) return std::nullopt;
    }
    if (without.empty()) without.push_back(as_meant_);
    tell_of(call, truth, without, draw);
    if (call.report.seen.empty()) return std::nullopt;
    call.world = std::move(truth.world);
    return call;
  }

  void tell_of(NaturalCall& call, const Shown& truth, const std::vector<Shown>& without, Draw& draw) const {
    call.report.believed = install_.told;
    const std::vector<Step>& script = install_.told.people[0].script;
    for (std::uint32_t i = 0; i < script.size(); ++i) {
      if (script[i].kind == StepKind::wait && script[i].duration > 3s) call.report.loose.push_back(i);
    }
    call.richness = static_cast<Richness>(draw.below(3));
    for (int tries = 0; tries < 6 && call.report.seen.empty(); ++tries) {
      const std::size_t things = call.richness == Richness::thin      ? draw.between(3, 4)
                                 : call.richness == Richness::natural ? draw.between(4, 6)
                                                                      : draw.between(7, 8);
      if (auto said = Caller{install_, as_told_, as_meant_, truth, without, draw}.tell(things))
        call.report.seen = std::move(*said);
    }
  }

  [[nodiscard]] bool alike(const Shown& a, const Shown& b) const {
    return signature(install_.told.site, a.world) == signature(install_.told.site, b.world);
  }

  const Families& families_;
  std::uint64_t seed_;
  std::size_t slips_;
  NaturalInstall install_;
  Scenario sound_;
  Shown as_told_;
  Shown as_meant_;  ///< with the pauses that people make
};

}  // namespace

NaturalCall make_natural_call(const Families& families, std::uint64_t seed, std::size_t slips) {
  return CallMaker{families, seed, slips}.make();
}

}  // namespace drybus::bench
