#include "tools/view/diagnosis_view.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/words/words.h"
#include "model/world/hidden_state.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace {

namespace json = boost::json;
using model::plural;
using model::RankedExplanation;
using model::tr;
using model::with_decimal_mark;

/// Ways that are told of each explanation.
constexpr std::size_t most_ways = 3;
/// Explanations that no check tells apart matter only if they count.
constexpr double least_told = 0.005;

std::string percent(double probability) {
  if (probability > 0.9995) return tr("over 99.9 %");
  return probability < 0.001 ? tr("under 0.1 %")
                             : with_decimal_mark(fmt::format("{:.1f} %", probability * 100));
}

std::vector<std::string> observations(const DiagnosisView& view, const std::vector<std::uint32_t>& indices) {
  std::vector<std::string> texts;
  for (const std::uint32_t index : indices) {
    const model::Seen& seen = view.report.seen[index];
    std::string text = describe(view.report.believed.site, seen);
    if (seen.after_step) text = tr("{} after step {}", text, *seen.after_step + 1);
    if (seen.unsure) text = tr("{} (unsure)", text);
    texts.push_back(std::move(text));
  }
  return texts;
}

std::string joined(const std::vector<std::string>& texts) {
  constexpr std::size_t most = 6;
  if (texts.size() <= most) return fmt::format("{}", fmt::join(texts, ", "));
  const std::vector<std::string> first(texts.begin(), texts.begin() + most);
  return tr("{} and {} more", fmt::format("{}", fmt::join(first, ", ")), texts.size() - most);
}

/// The observations that all going as told would not explain, and this does.
std::vector<std::uint32_t> explained(const DiagnosisView& view, const RankedExplanation& explanation) {
  std::vector<std::uint32_t> both;
  std::set_intersection(view.diagnosis.odd.begin(), view.diagnosis.odd.end(), explanation.supported.begin(),
                        explanation.supported.end(), std::back_inserter(both));
  return both;
}

std::string numbers(const std::vector<std::uint32_t>& explanations) {
  std::vector<std::uint32_t> counted;
  counted.reserve(explanations.size());
  for (const std::uint32_t each : explanations) counted.push_back(each + 1);
  return fmt::format("{}", fmt::join(counted, ", "));
}

bool end_alike(const model::Site& site, const std::vector<model::Account>& ways) {
  const model::HiddenState first = hidden_state(site, *ways.front().world);
  return std::all_of(ways.begin(), ways.end(),
                     [&](const model::Account& way) { return hidden_state(site, *way.world) == first; });
}

std::string other_ways_text(std::size_t count, bool alike_in_the_end) {
  if (alike_in_the_end)
    return plural("or one other way to the same end", "or one of {} other ways to the same end", count,
                  count);
  return plural("or one other way", "or one of {} other ways", count, count);
}

std::string explanation_text(const DiagnosisView& view, std::size_t index) {
  const RankedExplanation& explanation = view.diagnosis.explanations[index];
  std::string text =
      paragraph(fmt::format("{}. {}: {}", index + 1, percent(explanation.probability), explanation.text),
                told_width, "", "   ");
  const auto add = [&](const std::string& line) { text += paragraph(line, told_width, "   ", "     "); };
  if (const auto explains = explained(view, explanation); !explains.empty()) {
    add(tr("explains: {}", joined(observations(view, explains))));
  }
  if (!explanation.contradicted.empty()) {
    add(tr("speaks against it: {}", joined(observations(view, explanation.contradicted))));
  }
  const auto& ways = explanation.ways;
  for (std::size_t i = 1; i < std::min(most_ways, ways.size()); ++i) {
    add(tr("or ({}): {}", percent(ways[i].probability), ways[i].text));
  }
  const bool alike_in_the_end = end_alike(view.report.believed.site, ways);
  if (ways.size() > most_ways) add(other_ways_text(ways.size() - most_ways, alike_in_the_end));
  if (ways.size() > 1 && alike_in_the_end)
    add(tr("These ways end alike: no check now can tell which it was, and the cure is the same."));
  else if (ways.size() > 1)
    add(tr("These ways do not all end alike: what is to be put right differs from one to another."));
  std::vector<std::uint32_t> alike;
  for (const std::uint32_t other : explanation.alike) {
    if (other < view.top && view.diagnosis.explanations[other].probability >= least_told)
      alike.push_back(other);
  }
  if (!alike.empty()) add(tr("No check on site can tell it from {}.", numbers(alike)));
  return text;
}

std::string conflict_text(const DiagnosisView& view) {
  const model::Diagnosis& diagnosis = view.diagnosis;
  if (diagnosis.conflict.empty()) return {};
  const std::string which = joined(observations(view, diagnosis.conflict));
  if (diagnosis.conflict.size() == 1) {
    return paragraph(
        tr("Nothing that was tried explains this: {}. Look again; if it is so, something is out of "
           "step that is not among them.",
           which),
        told_width, "", "  ");
  }
  return paragraph(
      tr("Nothing that was tried makes these true together: {}. Look again; if all are so, something "
         "is out of step that is not among them.",
         which),
      told_width, "", "  ");
}

std::string coverage_text(const model::Diagnosis& diagnosis) {
  const std::string unexplained = percent(diagnosis.unexplained), explored = percent(diagnosis.explored);
  if (diagnosis.interrupted)
    return tr(
        "None of these: {}. Gone through: {} of what can go wrong, in {} runs; interrupted, this is the "
        "best answer so far.\n",
        unexplained, explored, diagnosis.runs);
  return tr("None of these: {}. Gone through: {} of what can go wrong, in {} runs.\n", unexplained, explored,
            diagnosis.runs);
}

std::string undecided_text(const DiagnosisView& view) {
  std::string text = "\n" + tr("No check on site tells these apart any further.") + "\n";
  const auto order = model::cure_order(view.report, view.diagnosis);
  if (order.size() > 1)
    text +=
        tr("Soonest cured, on the whole, if they are put right in this order: {}.", numbers(order)) + "\n";
  return text;
}

json::array cause_list(const DiagnosisView& view, const std::vector<model::PlacedCause>& causes) {
  const model::Site& site = view.report.believed.site;
  json::array list;
  for (const model::PlacedCause& cause : causes) {
    json::object each{{"cause", std::string{to_string(cause.cause)}},
                      {"text", describe(view.report.believed, cause)}};
    each["device"] =
        cause.device == model::no_device ? json::value{nullptr} : json::value{site.name(cause.device)};
    each["link"] = cause.link ? json::value{site.link_name(*cause.link)} : json::value{nullptr};
    each["step"] = cause.step ? json::value{*cause.step + 1} : json::value{nullptr};
    if (cause.other != model::no_device) each["other"] = site.name(cause.other);
    list.push_back(std::move(each));
  }
  return list;
}

json::array text_list(const std::vector<std::string>& texts) {
  return json::array(texts.begin(), texts.end());
}

json::array number_list(const std::vector<std::uint32_t>& explanations) {
  json::array list;
  for (const std::uint32_t each : explanations) list.push_back(each + 1);
  return list;
}

json::object explanation_json(const DiagnosisView& view, const RankedExplanation& explanation) {
  json::array ways;
  for (const model::Account& account : explanation.ways) {
    ways.push_back({{"probability", account.probability},
                    {"text", account.text},
                    {"faults", cause_list(view, account.causes)}});
  }
  return {{"probability", explanation.probability},
          {"text", explanation.text},
          {"faults", cause_list(view, explanation.faults)},
          {"supported", text_list(observations(view, explanation.supported))},
          {"contradicted", text_list(observations(view, explanation.contradicted))},
          {"ways", std::move(ways)},
          {"alike", number_list(explanation.alike)}};
}

json::value next_check_json(const std::optional<model::NextCheck>& next) {
  if (!next) return nullptr;
  json::array outcomes;
  for (const model::CheckOutcome& outcome : next->outcomes) {
    outcomes.push_back({{"text", outcome.text},
                        {"probability", outcome.probability},
                        {"explanations", number_list(outcome.explanations)}});
  }
  return json::object{{"text", next->check.text},
                      {"minutes", next->check.minutes},
                      {"bits", next->bits},
                      {"bits_per_minute", next->bits_per_minute},
                      {"outcomes", std::move(outcomes)}};
}

}  // namespace

std::string ranking_text(const model::Diagnosis& diagnosis, std::size_t top) {
  std::string text;
  for (std::size_t i = 0; i < std::min(top, diagnosis.explanations.size()); ++i) {
    const RankedExplanation& each = diagnosis.explanations[i];
    if (i > 0 && each.probability < 0.001) break;
    text += paragraph(fmt::format("{}. {}: {}", i + 1, percent(each.probability), each.text), told_width,
                      "  ", "     ");
  }
  return text;
}

std::string question_text(const model::NextCheck& next) {
  std::string text = paragraph(next.check.text, told_width, "", "  ");
  for (std::size_t i = 0; i < next.outcomes.size(); ++i) {
    const model::CheckOutcome& outcome = next.outcomes[i];
    text += paragraph(tr("{}) {} ({}; speaks for {})", i + 1, outcome.text, percent(outcome.probability),
                         numbers(outcome.explanations)),
                      told_width, "  ", "     ");
  }
  return text;
}

std::string diagnosis_text(const DiagnosisView& view) {
  const model::Diagnosis& diagnosis = view.diagnosis;
  std::string text = conflict_text(view);
  if (diagnosis.explanations.empty() || diagnosis.unexplained > 0.5) {
    text += tr("No explanation: what is seen fits nothing that was tried well enough.") + "\n";
  }
  const std::size_t told = std::min(view.top, diagnosis.explanations.size());
  for (std::size_t i = 0; i < told; ++i) text += explanation_text(view, i);
  if (told < diagnosis.explanations.size()) {
    double rest = 0;
    for (std::size_t i = told; i < diagnosis.explanations.size(); ++i)
      rest += diagnosis.explanations[i].probability;
    const std::size_t more = diagnosis.explanations.size() - told;
    text += plural("{} more explanations: {} together.", "{} more explanations: {} together.", more, more,
                   percent(rest)) +
            "\n";
  }
  text += coverage_text(diagnosis);
  if (view.next) {
    text += "\n" +
            tr("Next check ({} min, {} bits):",
               with_decimal_mark(fmt::format("{:.1f}", view.next->check.minutes)),
               with_decimal_mark(fmt::format("{:.2f}", view.next->bits))) +
            "\n" + question_text(*view.next);
  } else if (!diagnosis.explanations.empty()) {
    const bool sure = diagnosis.explanations.front().probability >= 0.95;
    if (!diagnosis.conflict.empty()) {
      text += "\n" +
              tr("No check tells these apart any further: what none of them explains has to be looked at.") +
              "\n";
    } else {
      text += sure ? "\n" + tr("No check is needed: the first explanation is sure enough.") + "\n"
                   : undecided_text(view);
    }
  }
  return text;
}

json::object diagnosis_json(const DiagnosisView& view) {
  json::array explanations;
  for (const RankedExplanation& each : view.diagnosis.explanations)
    explanations.push_back(explanation_json(view, each));
  return {{"explanations", std::move(explanations)},
          {"unexplained", view.diagnosis.unexplained},
          {"explored", view.diagnosis.explored},
          {"runs", view.diagnosis.runs},
          {"interrupted", view.diagnosis.interrupted},
          {"conflict", text_list(observations(view, view.diagnosis.conflict))},
          {"cure_order", number_list(model::cure_order(view.report, view.diagnosis))},
          {"next_check", next_check_json(view.next)}};
}

}  // namespace drybus::tools
