#include "model/why.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "model/describe.h"
#include "model/findings.h"

namespace drybus::model {

namespace {

/// More reasons that would each have sufficed than these are not looked for.
constexpr std::size_t most_reasons = 5;
/// As much as can be said in one breath.
constexpr std::size_t most_clauses = 3;

Changes operator+(Changes changes, const Changes& more) {
  changes.insert(changes.end(), more.begin(), more.end());
  return changes;
}

/// Finds the causes of one answer.
class Search {
 public:
  Search(const Counterfactual& runs, const Question& question) : runs_(runs), question_(question) {}

  Explanation find() {
    const Course as_it_was = runs_.run({}, question_);
    const Altered unaltered{runs_.scenario(), {}};
    explanation_.answer = answer_of(runs_.scenario(), as_it_was, question_, nullptr);
    explanation_.offers = offers_told(question_, unaltered, as_it_was);
    if (find_reasons()) {
      drop_idle_reasons();
      drop_idle_causes();
    } else {
      explanation_.reasons.clear();
    }
    return std::move(explanation_);
  }

 private:
  /// Takes one reason after another away until the answer changes.
  bool find_reasons() {
    Changes taken_away;
    for (std::size_t reason = 0; reason < most_reasons; ++reason) {
      const Leads leads = leads_now(taken_away);
      std::vector<Cause> causes = tried(leads, taken_away);
      if (!causes.empty()) {
        explanation_.reasons.push_back(std::move(causes));
        return true;
      }
      std::vector<Cause> candidates = untried(leads);
      if (candidates.empty()) return false;
      taken_away = taken_away + candidates.front().changes;
      explanation_.reasons.push_back(std::move(candidates));
    }
    return false;
  }

  [[nodiscard]] Leads leads_now(const Changes& taken_away) const {
    const Altered altered{runs_.scenario(), taken_away};
    return leads_for(question_, altered, runs_.run(taken_away, question_));
  }

  /// The causes of the first group that has any: leads without which, beside what is taken away already, the answer is
  /// another.
  [[nodiscard]] std::vector<Cause> tried(const Leads& leads, const Changes& taken_away) const {
    std::vector<Cause> causes;
    std::uint32_t group = 0;
    for (const Lead& lead : leads) {
      if (lead.group != group && !causes.empty()) return causes;
      group = lead.group;
      if (auto cause = tried(lead, taken_away)) causes.push_back(std::move(*cause));
    }
    return causes;
  }

  [[nodiscard]] std::optional<Cause> tried(const Lead& lead, const Changes& taken_away) const {
    for (const Way& way : lead.ways) {
      std::string would_be = runs_.answer(taken_away + way.changes, question_);
      if (would_be != explanation_.answer) return cause_of(lead, way, std::move(would_be));
    }
    return std::nullopt;
  }

  [[nodiscard]] static Cause cause_of(const Lead& lead, const Way& way, std::string would_be) {
    return {lead.at, lead.text, lead.clause, lead.step, way.changes, way.otherwise, 0, std::move(would_be), lead.deeper};
  }

  /// Leads that made no difference by themselves, best first: those that happened by themselves or were done.
  [[nodiscard]] static std::vector<Cause> untried(const Leads& leads) {
    std::vector<Cause> causes;
    for (const Lead& lead : leads) {
      for (const Way& way : lead.ways) causes.push_back(cause_of(lead, way, {}));
    }
    std::stable_sort(causes.begin(), causes.end(), [](const Cause& a, const Cause& b) { return rank(a) < rank(b); });
    return causes;
  }

  /// What keeps every other thing in its place is taken away first.
  static int rank(const Cause& cause) {
    const Change& first = cause.changes.front();
    if (std::holds_alternative<change::NoExpiry>(first) || std::holds_alternative<change::Arrive>(first)) return 0;
    if (cause.changes.size() == 1 && std::holds_alternative<change::Skip>(first)) return 1;
    if (std::holds_alternative<change::Last>(first) || std::holds_alternative<change::Meanwhile>(first)) return 2;
    return 3;
  }

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
    for (std::size_t i = 0; i < reasons.size(); ++i) {
      const Changes others = all_but(i);
      std::vector<Cause> kept;
      for (Cause& cause : reasons[i]) {
        cause.reason = i;
        cause.would_be = runs_.answer(others + cause.changes, question_);
        const bool told = std::any_of(kept.begin(), kept.end(), [&](const Cause& each) { return each.text == cause.text; });
        if (cause.would_be != explanation_.answer && !told) kept.push_back(std::move(cause));
      }
      reasons[i] = std::move(kept);
    }
  }

  const Counterfactual& runs_;
  const Question& question_;
  Explanation explanation_;
};

}  // namespace

std::vector<const Cause*> Explanation::causes() const {
  std::vector<const Cause*> all;
  for (const auto& reason : reasons) {
    for (const Cause& cause : reason) all.push_back(&cause);
  }
  return all;
}

Explanation explain(const Counterfactual& runs, const Question& question) { return Search{runs, question}.find(); }

Changes beside(const Explanation& explanation, std::size_t reason) {
  Changes changes;
  for (std::size_t i = 0; i < explanation.reasons.size(); ++i) {
    if (i != reason) changes = std::move(changes) + explanation.reasons[i].front().changes;
  }
  return changes;
}

bool holds(const Counterfactual& runs, const Question& question, const Explanation& explanation, const Cause& cause) {
  const Changes others = beside(explanation, cause.reason);
  if (runs.answer(others, question) != explanation.answer) return false;
  return runs.answer(others + cause.changes, question) != explanation.answer;
}

// --- words ---

namespace {

std::string indicator_statement(const std::string& name, const std::string& value, bool then) {
  constexpr std::array<std::array<std::string_view, 3>, 6> verbs = {{{"dark", "is dark", "was dark"},
                                                                     {"blip", "blips", "blipped"},
                                                                     {"breathe", "breathes", "breathed"},
                                                                     {"blink", "blinks", "blinked"},
                                                                     {"steady", "is steady", "was steady"},
                                                                     {"refuse", "refuses", "refused"}}};
  const auto* verb = std::find_if(verbs.begin(), verbs.end(), [&](const auto& each) { return each[0] == value; });
  return fmt::format("{}'s indicator {}", name, verb == verbs.end() ? value : (*verb)[then ? 2 : 1]);
}

std::string fact_statement(const Scenario& scenario, const Question& question, const std::string& value) {
  const std::string& name = scenario.site.name(question.device);
  const bool then = question.at.has_value();
  const std::string_view is = then ? "was" : "is";
  switch (question.fact) {
    case Fact::address:
      if (value == "none") return fmt::format("{} {} no address", name, then ? "had" : "has");
      return fmt::format("{}'s address {} {}", name, is, value);
    case Fact::mode: return fmt::format("{} {} in {}", name, is, value == "setup" ? "setup" : "normal mode");
    case Fact::indicator: return indicator_statement(name, value, then);
    case Fact::level:
    case Fact::load: return fmt::format("{}'s load {} at {}", name, is, value);
    case Fact::channel:
    case Fact::power_up:
    case Fact::site:
    case Fact::zone: break;
    case Fact::findings: return {};
  }
  const std::string_view fact = question.fact == Fact::power_up ? "power-up mode" : to_string(question.fact);
  return fmt::format("{}'s {} {} {}", name, fact, is, value);
}

std::string finding_statement(const Scenario& scenario, const Question& question) {
  const std::string span = question.until && *question.until == question.from
                               ? fmt::format("at {}", clock_text(question.from))
                               : fmt::format("from {}", clock_text(question.from));
  return fmt::format("{} ({}, {})", to_string(*question.finding), scenario.site.name(question.device), span);
}

/// "A, because B, and because C"
std::string clauses_of(const std::vector<Cause>& causes) {
  std::string text;
  std::size_t told = 0;
  for (const Cause& cause : causes) {
    if (cause.clause.empty() || told == most_clauses) continue;
    if (told++ > 0) text += cause.deeper ? ", because " : ", and because ";
    text += cause.clause;
  }
  if (told > 0 || causes.empty()) return text;
  return fmt::format("{} at {}", causes.front().text, clock_text(causes.front().at));
}

}  // namespace

std::string sentence(const Scenario& scenario, const Question& question, const Explanation& explanation) {
  std::string text = question.finding ? finding_statement(scenario, question)
                                      : fact_statement(scenario, question, explanation.answer);
  if (question.at) text = fmt::format("At {}, {}", clock_text(*question.at), text);
  if (explanation.reasons.empty()) return text + ": no cause was found.";
  if (explanation.reasons.size() == 1) return fmt::format("{}, because {}.", text, clauses_of(explanation.reasons[0]));
  std::vector<std::string> each;
  for (const auto& reason : explanation.reasons) each.push_back(clauses_of(reason));
  return fmt::format("{}, for {} reasons, {} of which alone would have sufficed: {}.", text, each.size(),
                     each.size() == 2 ? "either" : "any one", fmt::join(each, "; and "));
}

}  // namespace drybus::model
