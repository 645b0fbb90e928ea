#include "model/why/why.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// More reasons that would each have sufficed than these are not looked for.
constexpr std::size_t most_reasons = 128;
/// As much as can be said in one breath.
constexpr std::size_t most_clauses = 3;

Changes operator+(Changes changes, const Changes& more) {
  changes.insert(changes.end(), more.begin(), more.end());
  return changes;
}

/// Finds the causes of one answer.
class Search {
 public:
  Search(const Counterfactual& runs, const WhyQuestion& question) : runs_(runs), question_(question) {}

  Explanation find() {
    const Course as_it_was = runs_.run({}, question_);
    const Altered unaltered{runs_.scenario(), {}};
    explanation_.answer = answer_of(runs_.scenario(), as_it_was, question_, nullptr);
    explanation_.offers = offers_told(question_, unaltered, as_it_was);
    if (find_reasons()) {
      const std::string nearest = key_of(explanation_.reasons.front().front());
      drop_idle_reasons();
      // What came about only in another course is no cause of this one, where this one has some of its own.
      const bool happened = key_of(explanation_.reasons.front().front()) == nearest;
      if (!happened && !beside_the_nearest_.empty()) explanation_.reasons = {beside_the_nearest_};
      drop_idle_causes();
    } else {
      explanation_.reasons.clear();
    }
    const bool made_together = !question_.among.empty();
    if (made_together && explanation_.reasons.size() > 1 && !each_suffices_alone())
      explanation_.reasons.clear();
    if (explanation_.reasons.size() < 2) find_sets();
    return std::move(explanation_);
  }

 private:
  /// Takes one reason after another away until the answer changes.
  bool find_reasons() {
    Changes taken_away;
    for (std::size_t reason = 0; reason < most_reasons; ++reason) {
      const Leads leads = leads_now(taken_away);
      Tried causes = tried(leads, taken_away);
      if (!causes.counted.empty() && causes.nearest_counts) {
        explanation_.reasons.push_back(std::move(causes.counted));
        return true;
      }
      std::vector<Cause> all = untried(leads, !causes.counted.empty());
      if (all.empty()) break;  // nothing can be taken away to see what is behind it
      if (reason == 0) beside_the_nearest_ = std::move(causes.counted);
      taken_away = taken_away + all.front().changes;
      explanation_.reasons.push_back(std::move(all));
    }
    if (beside_the_nearest_.empty()) return false;
    explanation_.reasons = {beside_the_nearest_};
    return true;
  }

  [[nodiscard]] Leads leads_now(const Changes& taken_away) const {
    const Altered altered{runs_.scenario(), taken_away};
    return leads_for(question_, altered, runs_.run(taken_away, question_));
  }

  struct Tried {
    std::vector<Cause> counted;  ///< without each, beside what is taken away already, the answer is another
    bool nearest_counts = false;
  };

  /// The causes of the first group that has any.
  [[nodiscard]] Tried tried(const Leads& leads, const Changes& taken_away) const {
    Tried result;
    std::optional<std::uint32_t> group;
    for (const Lead& lead : leads) {
      const bool nearest = group != lead.group;
      if (nearest && !result.counted.empty()) return result;
      group = lead.group;
      auto cause = tried(lead, taken_away);
      if (nearest) result.nearest_counts = cause.has_value();
      if (cause) result.counted.push_back(std::move(*cause));
    }
    return result;
  }

  [[nodiscard]] std::optional<Cause> tried(const Lead& lead, const Changes& taken_away) const {
    for (const Way& way : lead.ways) {
      std::string would_be = runs_.answer(taken_away + way.changes, question_);
      if (would_be != explanation_.answer) return cause_of(lead, way, std::move(would_be));
    }
    return std::nullopt;
  }

  [[nodiscard]] static Cause cause_of(const Lead& lead, const Way& way, std::string would_be) {
    return {lead.at, lead.text,     lead.clause, lead.step,           way.changes,
            {},      way.otherwise, 0,           std::move(would_be), lead.deeper};
  }

  /// Leads that may be taken away to see what would have come in their stead: the nearest first, or what keeps every
  /// other thing in its place.
  [[nodiscard]] static std::vector<Cause> untried(const Leads& leads, bool nearest_first) {
    std::vector<Cause> causes;
    for (const Lead& lead : leads) {
      for (const Way& way : lead.ways) {
        if (!way.changes.empty()) causes.push_back(cause_of(lead, way, {}));
      }
    }
    if (nearest_first) return causes;
    std::stable_sort(causes.begin(), causes.end(),
                     [](const Cause& a, const Cause& b) { return rank(a) < rank(b); });
    return causes;
  }

  static int rank(const Cause& cause) {
    const Change& first = cause.changes.front();
    if (std::holds_alternative<change::NoExpiry>(first) || std::holds_alternative<change::Arrive>(first))
      return 0;
    if (cause.changes.size() == 1 && std::holds_alternative<change::Skip>(first)) return 1;
    if (std::holds_alternative<change::Last>(first) || std::holds_alternative<change::Meanwhile>(first))
      return 2;
    return 3;
  }

  /// What takes all other reasons away. REQUIRES: every reason has a cause, and every cause a change.
  [[nodiscard]] Changes all_but(std::size_t left_out) const {
    Changes changes;
    for (std::size_t i = 0; i < explanation_.reasons.size(); ++i) {
      if (i != left_out) changes = changes + explanation_.reasons[i].front().changes;
    }
    return changes;
  }

  /// A reason is idle when the answer changes without its being taken away.
  void drop_idle_reasons() {
    auto& reasons = explanation_.reasons;
    for (std::size_t i = 0; i < reasons.size() && reasons.size() > 1;) {
      if (runs_.answer(all_but(i), question_) == explanation_.answer) {
        ++i;
      } else {
        reasons.erase(reasons.begin() + static_cast<std::ptrdiff_t>(i));
        i = 0;
      }
    }
  }

  void drop_idle_causes() {
    auto& reasons = explanation_.reasons;
    // Of a reason nothing may be kept: what takes the others away is settled before any is looked through.
    std::vector<Changes> others;
    for (std::size_t i = 0; i < reasons.size(); ++i) others.push_back(all_but(i));
    std::vector<std::string> told;
    for (std::size_t i = 0; i < reasons.size(); ++i) {
      std::vector<Cause> kept;
      for (Cause& cause : reasons[i]) {
        const bool again = std::find(told.begin(), told.end(), key_of(cause)) != told.end();
        if (again || !counts(cause, others[i])) continue;
        told.push_back(key_of(cause));
        cause.reason = i;
        kept.push_back(std::move(cause));
      }
      reasons[i] = std::move(kept);
    }
    std::erase_if(reasons, [](const auto& reason) { return reason.empty(); });
  }

  /// Whether any of the reasons would have led to the same without all that the others name.
  [[nodiscard]] bool each_suffices_alone() const {
    for (std::size_t kept = 0; kept < explanation_.reasons.size(); ++kept) {
      Changes others;
      for (std::size_t i = 0; i < explanation_.reasons.size(); ++i) {
        if (i == kept) continue;
        for (const Cause& cause : explanation_.reasons[i]) others = others + cause.changes;
      }
      if (runs_.answer(others, question_) != explanation_.answer) return false;
    }
    return true;
  }

  /// Of what does nothing alone, the smallest sets that do.
  void find_sets() {
    Leads idle;
    for (const Lead& lead : leads_now({})) {
      const bool alone = std::any_of(lead.ways.begin(), lead.ways.end(), [&](const Way& way) {
        return runs_.answer(way.changes, question_) != explanation_.answer;
      });
      if (!alone) idle.push_back(lead);
    }
    explanation_.sets = smallest_sets(runs_, question_, explanation_.answer, idle);
  }

  static std::string key_of(const Cause& cause) {
    return fmt::format("{} {}", cause.at.time_since_epoch().count(), cause.text);
  }

  /// Whether the answer is another without the cause: alone, or with the other reasons taken away as well.
  bool counts(Cause& cause, const Changes& others) const {
    cause.would_be = runs_.answer(cause.changes, question_);
    if (cause.would_be != explanation_.answer) return true;
    cause.beside = others;
    cause.would_be = runs_.answer(others + cause.changes, question_);
    return cause.would_be != explanation_.answer;
  }

  const Counterfactual& runs_;
  const WhyQuestion& question_;
  Explanation explanation_;
  std::vector<Cause> beside_the_nearest_;  ///< as it was, what counts although the nearest lead does not
};

}  // namespace

std::vector<const Cause*> Explanation::causes() const {
  std::vector<const Cause*> all;
  for (const auto& reason : reasons) {
    for (const Cause& cause : reason) all.push_back(&cause);
  }
  return all;
}

Explanation explain(const Counterfactual& runs, const WhyQuestion& question) {
  return Search{runs, question}.find();
}

bool holds(const Counterfactual& runs, const WhyQuestion& question, const Explanation& explanation,
           const Cause& cause) {
  if (runs.answer(cause.beside, question) != explanation.answer) return false;
  return runs.answer(cause.beside + cause.changes, question) != explanation.answer;
}

bool holds(const Counterfactual& runs, const WhyQuestion& question, const Explanation& explanation,
           const CauseSet& set) {
  if (runs.answer(set.changes(), question) == explanation.answer) return false;
  for (std::size_t i = 0; i < set.leads.size(); ++i) {
    CauseSet fewer = set;
    fewer.leads.erase(fewer.leads.begin() + static_cast<std::ptrdiff_t>(i));
    if (runs.answer(fewer.changes(), question) != explanation.answer) return false;
  }
  return true;
}

// --- words ---

namespace {

std::string indicator_statement(const std::string& name, const std::string& value, bool then) {
  struct Verb {
    std::string_view now;
    std::string_view then;
  };
  constexpr sim::ByEnum<Pattern, Verb> verbs{
      Verb{msg("is dark"), msg("was dark")},     Verb{msg("blips"), msg("blipped")},
      Verb{msg("breathes"), msg("breathed")},    Verb{msg("blinks"), msg("blinked")},
      Verb{msg("is steady"), msg("was steady")}, Verb{msg("refuses"), msg("refused")}};
  for (const Pattern pattern : sim::all_of<Pattern>()) {
    if (to_string(pattern) == value) {
      return tr("{}'s indicator {}", name, in_words_spoken(then ? verbs[pattern].then : verbs[pattern].now));
    }
  }
  return tr("{}'s indicator {}", name, value);
}

std::string fact_statement(const Scenario& scenario, const WhyQuestion& question, const std::string& value) {
  const std::string& name = scenario.site.name(question.device);
  const bool then = question.at.has_value();
  switch (question.fact) {
    case Fact::address:
      if (value == "none") return then ? tr("{} had no address", name) : tr("{} has no address", name);
      return then ? tr("{}'s address was {}", name, value) : tr("{}'s address is {}", name, value);
    case Fact::mode:
      if (value == "setup") return then ? tr("{} was in setup", name) : tr("{} is in setup", name);
      return then ? tr("{} was in normal mode", name) : tr("{} is in normal mode", name);
    case Fact::indicator:
      return indicator_statement(name, value, then);
    case Fact::level:
    case Fact::load:
      return then ? tr("{}'s load was at {}", name, value) : tr("{}'s load is at {}", name, value);
    case Fact::power_up:
      return then ? tr("{}'s power-up mode was {}", name, tr_as("power-up", value))
                  : tr("{}'s power-up mode is {}", name, tr_as("power-up", value));
    case Fact::channel:
      return then ? tr("{}'s channel was {}", name, value) : tr("{}'s channel is {}", name, value);
    case Fact::site:
      return then ? tr("{}'s site was {}", name, value) : tr("{}'s site is {}", name, value);
    case Fact::zone:
      return then ? tr("{}'s zone was {}", name, value) : tr("{}'s zone is {}", name, value);
    case Fact::findings:
      break;
  }
  return {};
}

std::string finding_statement(const Scenario& scenario, const WhyQuestion& question) {
  const std::string_view finding = to_string(*question.finding);
  const std::string& name = scenario.site.name(question.device);
  const std::string from = clock_text(question.from);
  return question.until && *question.until == question.from
             ? tr("The finding {} about {}, at {}, came about", finding, name, from)
             : tr("The finding {} about {}, from {}, came about", finding, name, from);
}

/// "A, because B, and because C"
std::string clauses_of(const std::vector<Cause>& causes, std::size_t most) {
  std::string text;
  std::size_t told = 0;
  for (const Cause& cause : causes) {
    if (cause.clause.empty() || told == most) continue;
    if (told++ > 0) text += cause.deeper ? tr(", because ") : tr(", and because ");
    text += cause.clause;
  }
  if (told > 0 || causes.empty()) return text;
  return tr("{} at {}", causes.front().text, clock_text(causes.front().at));
}

}  // namespace

std::string sentence(const Scenario& scenario, const WhyQuestion& question, const Explanation& explanation) {
  std::string text = question.finding ? finding_statement(scenario, question)
                                      : fact_statement(scenario, question, explanation.answer);
  if (question.at) text = tr("At {}, {}", clock_text(*question.at), text);
  if (explanation.reasons.empty() && explanation.sets.empty()) return tr("{}: no cause was found.", text);
  if (explanation.reasons.empty()) {
    const CauseSet& first = explanation.sets.front();
    const std::size_t together = first.leads.size();
    if (explanation.sets.size() == 1)
      return tr("{}. No single thing made it so: it takes {} together to be otherwise, {}.", text, together,
                first.otherwise());
    return tr(
        "{}. No single thing made it so: it takes {} together to be otherwise, {}; {} sets like that were "
        "found.",
        text, together, first.otherwise(), explanation.sets.size());
  }
  const std::string clauses = clauses_of(explanation.reasons.front(), most_clauses);
  text = question.finding ? tr("{} because {}.", text, clauses) : tr("{}, because {}.", text, clauses);
  const std::size_t reasons = explanation.reasons.size();
  if (reasons == 1) return text;
  const std::string second = clauses_of(explanation.reasons[1], 2);
  text += question.finding ? tr(" Even without that it would have come about, for then {}", second)
          : question.at    ? tr(" Even without that it would have been so, for then {}", second)
                           : tr(" Even without that it would be so, for then {}", second);
  for (std::size_t i = 2; i < std::min(reasons, most_clauses); ++i) {
    text += tr("; and even without that, for then {}", clauses_of(explanation.reasons[i], 2));
  }
  if (reasons > most_clauses) text += tr("; and {} more like that", reasons - most_clauses);
  return text + (reasons == 2 ? tr(". Either alone would have sufficed.")
                              : tr(". Any one of them alone would have sufficed."));
}

}  // namespace drybus::model
