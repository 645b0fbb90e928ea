#include "model/diagnosis/diagnosis.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <set>

#include "model/diagnosis/as_told.h"
#include "model/diagnosis/cause_space.h"
#include "model/diagnosis/grouping.h"
#include "model/diagnosis/retelling.h"
#include "model/diagnosis/unchanged.h"
#include "model/words/wording.h"
#include "model/world/hidden_state.h"

namespace drybus::model {

namespace {

/// So many of the most probable hypotheses are put together to explanations, and so many of them at most are run to the
/// end for it: how the others end is known from their parts.
constexpr std::size_t most_candidates = 2'000;
constexpr std::size_t most_ends = 400;
/// So many ways of an explanation are told, and so many of those that end alike.
constexpr std::size_t most_ways = 30;
constexpr std::size_t most_ways_alike = 8;

/// Of an explanation's ways, so many have to end alike for their end to be told as a fact.
constexpr double certain_end = 0.95;

/// The chances that one thing, two or three went wrong where somebody calls. A site that calls has one trouble or two, not
/// ten, however large it is; judgement.
constexpr std::array<double, 4> chance_of_troubles = {0, 0.5, 0.42, 0.04};
/// That it is something that nobody thought of; judgement.
constexpr double chance_of_unknown = 0.01;
/// How often something is otherwise than told when nobody knows what is wrong; judgement.
constexpr double otherwise_when_unknown = 0.3;

std::string capitalised(std::string text) {
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z')
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
  return text;
}

/// "M4 has no address", for up to a few modules whose address is neither the one intended nor as it would be
/// as told.
std::string consequence(const Site& site, const World& world, const World& told) {
  constexpr std::size_t most = 3;
  std::vector<std::string> clauses;
  std::size_t more = 0;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleSpec& spec = site.modules[i];
    const ModuleMemory& memory = world.modules[i].memory;
    const bool as_told = memory.address == told.modules[i].memory.address;
    if (!spec.intended || spec.neighbour || as_told || memory.address == *spec.intended) continue;
    if (clauses.size() == most) {
      ++more;
      continue;
    }
    clauses.push_back(memory.addressed() ? tr("{} holds {} instead of {}", spec.name,
                                              to_string(memory.address), to_string(*spec.intended))
                                         : tr("{} has no address", spec.name));
  }
  if (more > 0)
    clauses.push_back(
        plural("{} more hold none or a wrong one", "{} more hold none or a wrong one", more, more));
  return fmt::format("{}", fmt::join(clauses, ", "));
}

/// "a, b or c"
std::string one_of_them(std::vector<std::string> names) {
  const std::string last = std::move(names.back());
  names.pop_back();
  return names.empty() ? last : tr("{} or {}", fmt::format("{}", fmt::join(names, ", ")), last);
}

std::string sentence(const Report& report, const std::vector<PlacedCause>& causes, const World& world,
                     const World& told, bool surely = true) {
  std::vector<std::string> clauses;
  clauses.reserve(causes.size());
  for (const PlacedCause& cause : causes) clauses.push_back(describe(report.believed, cause));
  std::string text =
      causes.empty() ? as_told(report, world) : fmt::format("{}", fmt::join(clauses, tr(", and ")));
  const std::string then = consequence(report.believed.site, world, told);
  if (!then.empty()) text += surely ? tr("; now {}", then) : tr("; then, most likely, {}", then);
  return capitalised(text) + ".";
}

/// In which hidden state hypotheses end. What causes at different modules do together is known from what each does alone,
/// so that few of many need to be run.
class Endings {
 public:
  Endings(const Site& site, const Retelling& retelling, const CauseSpace& space, const World& as_told)
      : site_(site), retelling_(retelling), space_(space), as_told_(hidden_state(site, as_told)) {}

  [[nodiscard]] const HiddenState& as_told() const { return as_told_; }

  /// Nothing when it would have to be run, and too many were.
  std::optional<HiddenState> of(const sim::PartSet& parts) {
    if (parts.empty()) return as_told_;
    if (parts.size() > 1 && are_apart(parts)) {
      HiddenState together = as_told_;
      for (const sim::PartId part : parts) {
        const auto alone = known_.find({part});
        const HiddenState* ends = alone != known_.end() ? &alone->second : run({part});
        if (ends == nullptr) return std::nullopt;
        for (const DeviceId device : space_.part(part).touches) together[device] = (*ends)[device];
      }
      return together;
    }
    const HiddenState* ends = run(parts);
    return ends != nullptr ? std::optional{*ends} : std::nullopt;
  }

 private:
  /// Modules never send: what is done at one of them is nobody else's business.
  [[nodiscard]] bool are_apart(const sim::PartSet& parts) const {
    std::vector<DeviceId> touched;
    for (const sim::PartId part : parts) {
      if (space_.part(part).traffic) return false;
      touched.insert(touched.end(), space_.part(part).touches.begin(), space_.part(part).touches.end());
    }
    std::sort(touched.begin(), touched.end());
    return std::adjacent_find(touched.begin(), touched.end()) == touched.end();
  }

  const HiddenState* run(const sim::PartSet& parts) {
    if (const auto known = known_.find(parts); known != known_.end()) return &known->second;
    if (known_.size() == most_ends) return nullptr;
    return &known_.emplace(parts, hidden_state(site_, retelling_.end_of(space_.changes_of(parts))))
                .first->second;
  }

  const Site& site_;
  const Retelling& retelling_;
  const CauseSpace& space_;
  HiddenState as_told_;
  std::map<sim::PartSet, HiddenState> known_;
};

class Diagnosing {
 public:
  Diagnosing(const Report& report, const Catalogue& catalogue, const DiagnosisBounds& bounds)
      : report_(report),
        bounds_(bounds),
        false_alarm_(catalogue.false_alarm),
        retelling_(report, catalogue),
        space_(retelling_, catalogue) {}

  Diagnosis run() {
    const sim::Exploration exploration = sim::explore(space_, limits());
    // What nobody thought of is not gone through, nor are moments that others stand for.
    out_.explored = exploration.explored * space_.covered() * (1 - chance_of_unknown);
    out_.runs = exploration.tried;
    const std::vector<Match>& told = retelling_.as_told().matches;
    for (std::uint32_t i = 0; i < told.size(); ++i) {
      if (told[i] == Match::no) out_.odd.push_back(i);
    }
    gather(exploration);
    weigh();
    group(report_.believed, space_, candidates_);
    explain();
    find_conflict();
    return std::move(out_);
  }

 private:
  [[nodiscard]] sim::ExploreLimits limits() {
    sim::ExploreLimits limits;
    limits.most_parts = bounds_.most_causes;
    limits.most_tried = bounds_.most_runs;
    limits.most_work = bounds_.most_events;
    limits.least_ratio = bounds_.least_ratio;
    limits.least_ratio_alone = bounds_.least_ratio * 1e-9;
    limits.progress = bounds_.progress;
    limits.go_on = [this] {
      out_.interrupted = bounds_.stop != nullptr && bounds_.stop->load();
      return !out_.interrupted;
    };
    const std::vector<Match>& told = retelling_.as_told().matches;
    // Where nothing that was said is odd, nothing need be wrong at all.
    if (std::find(told.begin(), told.end(), Match::no) == told.end()) return limits;
    for (std::size_t size = 0; size <= limits.most_parts; ++size) {
      // With none of them somebody called although all was as told, which the space knows.
      const std::size_t known = std::min(size, chance_of_troubles.size() - 1);
      limits.chance_of_size.push_back(size == 0 ? 1.0 : chance_of_troubles[known]);
    }
    return limits;
  }

  [[nodiscard]] const World& end_as_told() const {
    return retelling_.before_step(static_cast<std::uint32_t>(report_.believed.people.front().script.size()));
  }

  void gather(const sim::Exploration& exploration) {
    Endings endings{report_.believed.site, retelling_, space_, end_as_told()};
    for (const sim::WeighedSet& set : exploration.sets) {
      const auto tried = space_.tried().find(set.parts);
      if (tried == space_.tried().end() || candidates_.size() == most_candidates) continue;
      auto ends = endings.of(set.parts);
      if (!ends) continue;
      Candidate candidate;
      candidate.parts = set.parts;
      candidate.log_weight = set.log_weight;
      candidate.prediction = &tried->second;
      // Nobody calls because of what is over and has left nothing behind.
      if (!set.parts.empty() && *ends == endings.as_told()) candidate.log_weight += std::log(false_alarm_);
      candidate.ends = std::move(*ends);
      candidates_.push_back(std::move(candidate));
    }
    std::stable_sort(candidates_.begin(), candidates_.end(),
                     [](const Candidate& a, const Candidate& b) { return a.log_weight > b.log_weight; });
  }

  /// Probabilities, with something unknown among them: under it anything may be otherwise than told.
  void weigh() {
    double log_unknown = std::log(chance_of_unknown);
    for (std::uint32_t i = 0; i < report_.seen.size(); ++i) {
      const Seen& seen = report_.seen[i];
      const bool two_way =
          seen.what == "lit" || seen.what == as_it_was || (seen.fact == Fact::load && seen.what == "dark");
      const bool odd = retelling_.as_told().matches[i] == Match::no;
      log_unknown += odd ? std::log(otherwise_when_unknown / (two_way ? 1.0 : 4.0))
                         : std::log(1 - otherwise_when_unknown);
    }
    const double greatest =
        candidates_.empty() ? log_unknown : std::max(log_unknown, candidates_.front().log_weight);
    const double unknown = std::exp(log_unknown - greatest);
    double sum = unknown;
    for (const Candidate& candidate : candidates_) sum += std::exp(candidate.log_weight - greatest);
    for (Candidate& candidate : candidates_)
      candidate.probability = std::exp(candidate.log_weight - greatest) / sum;
    out_.unexplained = unknown / sum;
  }

  void explain() {
    std::map<std::size_t, std::vector<const Candidate*>> groups;
    std::map<std::size_t, double> shares;
    for (const Candidate& candidate : candidates_) {
      groups[candidate.group].push_back(&candidate);
      shares[candidate.group] += candidate.probability;
    }
    std::vector<std::size_t> order;
    for (const auto& [group, share] : shares) order.push_back(group);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return shares.at(a) > shares.at(b); });
    if (order.size() > bounds_.most_explanations) order.resize(bounds_.most_explanations);
    for (const std::size_t group : order) out_.explanations.push_back(explanation_of(groups.at(group)));
  }

  /// Ways that end like others count with those that are told. Of more ends than anybody wants to hear of no way is told.
  [[nodiscard]] RankedExplanation explanation_of(const std::vector<const Candidate*>& candidates) const {
    RankedExplanation explanation;
    judge(*candidates.front(), explanation);
    std::map<HiddenState, std::pair<std::size_t, std::size_t>> alike;  // the first of them, and how many
    for (const Candidate* candidate : candidates) {
      explanation.probability += candidate->probability;
      const auto [known, fresh] = alike.try_emplace(candidate->ends, explanation.ways.size(), 0);
      const bool full = explanation.ways.size() >= most_ways;
      if (fresh && full) {
        alike.erase(known);
        continue;
      }
      if (!fresh && (full || known->second.second >= most_ways_alike)) {
        explanation.ways[known->second.first].probability += candidate->probability;
        continue;
      }
      ++known->second.second;
      explanation.ways.push_back(account_of(*candidate));
    }
    std::stable_sort(explanation.ways.begin(), explanation.ways.end(),
                     [](const Account& a, const Account& b) { return a.probability > b.probability; });
    explanation.faults = explanation.ways.front().causes;
    const Wording text = worded([&](const auto&) {
      return headline(explanation, candidates) + others_taken(candidates) + other_moments(candidates);
    });
    explanation.text = text.told;
    explanation.written = text.written;
    return explanation;
  }

  /// What only some of its ways lead to is not told as a fact.
  [[nodiscard]] std::string headline(const RankedExplanation& explanation,
                                     const std::vector<const Candidate*>& candidates) const {
    const Account& likeliest = explanation.ways.front();
    const HiddenState ends = hidden_state(report_.believed.site, *likeliest.world);
    double alike = 0;
    for (const Candidate* candidate : candidates)
      alike += candidate->ends == ends ? candidate->probability : 0;
    if (alike >= certain_end * explanation.probability)
      return words_spoken() == nullptr ? likeliest.written : likeliest.text;
    return sentence(report_, likeliest.causes, *likeliest.world, end_as_told(), false);
  }

  /// " Or it was M3 or M4 instead of M2.", where it is open which module was taken.
  [[nodiscard]] std::string others_taken(const std::vector<const Candidate*>& candidates) const {
    constexpr std::size_t most = 4;
    const auto taken_by = [this](const Candidate& candidate) {
      DeviceId taken = no_device;
      for (const sim::PartId part : candidate.parts) {
        if (taken == no_device) taken = space_.part(part).placed.other;
      }
      return taken;
    };
    const DeviceId first = taken_by(*candidates.front());
    std::vector<std::string> others;
    for (const Candidate* each : candidates) {
      const DeviceId taken = taken_by(*each);
      if (taken == no_device || taken == first || first == no_device) continue;
      const std::string& name = report_.believed.site.name(taken);
      if (std::find(others.begin(), others.end(), name) == others.end()) others.push_back(name);
    }
    if (others.empty()) return {};
    if (others.size() > most) {
      others.resize(most);
      others.push_back(tr("another"));
    }
    return tr(" Or it was {} instead of {}.", one_of_them(others), report_.believed.site.name(first));
  }

  /// " Or it was at step 23, 25 or 26.", where it is open when a setup ran out.
  [[nodiscard]] std::string other_moments(const std::vector<const Candidate*>& candidates) const {
    constexpr std::size_t most = 4;
    constexpr double worth_telling = 0.1;
    const auto moment_of = [this](const Candidate& candidate) {
      for (const sim::PartId part : candidate.parts) {
        const PlacedCause& placed = space_.part(part).placed;
        if (is_at_some_moment(placed.cause)) return placed.step;
      }
      return std::optional<std::uint32_t>{};
    };
    const auto first = moment_of(*candidates.front());
    std::set<std::uint32_t> others;
    for (const Candidate* each : candidates) {
      const auto moment = moment_of(*each);
      const bool likely = each->probability >= worth_telling * candidates.front()->probability;
      if (moment && first && *moment != *first && likely && others.size() < most) others.insert(*moment + 1);
    }
    if (others.empty()) return {};
    std::vector<std::string> steps;
    for (const std::uint32_t step : others) steps.push_back(std::to_string(step));
    return tr(" Or it was at step {}.", one_of_them(steps));
  }

  [[nodiscard]] Account account_of(const Candidate& candidate) const {
    Account account;
    account.probability = candidate.probability;
    for (const sim::PartId part : candidate.parts) account.causes.push_back(space_.part(part).placed);
    account.changes = space_.changes_of(candidate.parts);
    account.world = std::make_shared<const World>(retelling_.end_of(account.changes));
    const Wording text =
        worded([&](const auto&) { return sentence(report_, account.causes, *account.world, end_as_told()); });
    account.text = text.told;
    account.written = text.written;
    return account;
  }

  /// The observations that speak for it and those that speak against it.
  static void judge(const Candidate& candidate, RankedExplanation& explanation) {
    const std::vector<Match>& matches = candidate.prediction->matches;
    for (std::uint32_t i = 0; i < matches.size(); ++i) {
      (matches[i] == Match::no ? explanation.contradicted : explanation.supported).push_back(i);
    }
  }

  /// As few observations as possible that no hypothesis has all of.
  void find_conflict() {
    std::vector<std::vector<bool>> wrong;
    for (const auto& [parts, prediction] : space_.tried()) {
      std::vector<bool> each(prediction.matches.size());
      for (std::size_t i = 0; i < each.size(); ++i) each[i] = prediction.matches[i] == Match::no;
      wrong.push_back(std::move(each));
    }
    std::sort(wrong.begin(), wrong.end());
    wrong.erase(std::unique(wrong.begin(), wrong.end()), wrong.end());
    const auto possible = [&](const std::vector<std::uint32_t>& wanted) {
      return std::any_of(wrong.begin(), wrong.end(), [&](const std::vector<bool>& each) {
        return std::none_of(wanted.begin(), wanted.end(), [&](std::uint32_t i) { return each[i]; });
      });
    };
    std::vector<std::uint32_t> wanted(report_.seen.size());
    std::iota(wanted.begin(), wanted.end(), 0u);
    if (possible(wanted)) return;
    for (std::size_t i = wanted.size(); i-- > 0;) {
      std::vector<std::uint32_t> fewer = wanted;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
      if (!possible(fewer)) wanted = std::move(fewer);
    }
    out_.conflict = std::move(wanted);
  }

  const Report& report_;
  const DiagnosisBounds& bounds_;
  double false_alarm_;
  Retelling retelling_;
  CauseSpace space_;
  std::vector<Candidate> candidates_;
  Diagnosis out_;
};

}  // namespace

Diagnosis diagnose(const Report& report, const Catalogue& catalogue, const DiagnosisBounds& bounds) {
  return Diagnosing{report, catalogue, bounds}.run();
}

Scenario scenario_of(const Report& report, const Account& account) {
  return Altered{report.believed, account.changes}.scenario();
}

}  // namespace drybus::model
