// drybus why: the chain of causes behind a fact or a finding, back to what people did or did not do.
#include "model/why/why.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/why/nearest_way.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/commands/protocol_runs.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/question.h"
#include "tools/script/fact_value.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

/// What would have led to the same in its stead is told of so many; the rest is counted.
constexpr std::size_t most_reasons = 3;

/// One question with its answer, and whether the causes held when they were tried again.
struct ToldWhy {
  const model::Scenario& scenario;
  std::string name;   ///< of the scenario
  std::string asked;  ///< "M2.address"
  const model::WhyQuestion& question;
  const model::Explanation& explanation;
  std::vector<bool> held;       ///< by cause; empty when no proof was asked for
  std::vector<bool> sets_held;  ///< the same by set
};

const model::Step* step_of(const ToldWhy& told, const model::Cause& cause) {
  if (!cause.step) return nullptr;
  const auto& script = told.scenario.people[cause.step->person].script;
  return cause.step->step < script.size() ? &script[cause.step->step] : nullptr;
}

std::string place_of(const ToldWhy& told, const model::Step& step) {
  if (step.mark.line == 0) return {};
  return fmt::format("{}:{}", told.scenario.files[step.mark.file], step.mark.line);
}

/// "press P1 accept (setup-split.yaml:36)"
std::string step_text(const ToldWhy& told, const model::Cause& cause) {
  const model::Step* step = step_of(told, cause);
  if (step == nullptr) return {};
  const std::uint32_t person = cause.step->person;
  const std::string whose = person == 0 ? "" : told.scenario.people[person].name + ": ";
  const std::string place = place_of(told, *step);
  return fmt::format("{}{}{}", whose, describe(told.scenario, *step),
                     place.empty() ? "" : fmt::format(" ({})", place));
}

std::string would_be_text(const ToldWhy& told, const std::string& otherwise, const std::string& would_be) {
  if (told.question.finding) {
    return would_be == "yes" ? tr("{}, there would have been such a finding", otherwise)
                             : tr("{}, there would not have been such a finding", otherwise);
  }
  return tr("{}, {} would be {}", otherwise, told.asked, would_be);
}

std::string would_be_text(const ToldWhy& told, const model::Cause& cause) {
  const std::string& otherwise = cause.otherwise;
  return would_be_text(
      told, cause.beside.empty() ? otherwise : tr("{}, and the other reasons taken away as well", otherwise),
      cause.would_be);
}

std::string verdict(bool proved) {
  return proved ? inked(tr("proved"), Ink::green) : inked(tr("IDLE"), Ink::red);
}

std::string cause_text(const ToldWhy& told, const model::Cause& cause, std::size_t number) {
  const std::string first = fmt::format("{:>3}. {:>8}  ", number + 1, model::clock_text(cause.at));
  const std::string indent(first.size(), ' ');
  std::string text = paragraph(cause.text, told_width, first, indent);
  if (const std::string step = step_text(told, cause); !step.empty())
    text += paragraph(step, told_width, indent, indent);
  if (told.held.empty()) return text;
  const bool proved = told.held[number];
  const std::string shown =
      proved ? would_be_text(told, cause) : tr("{}, nothing would have changed", cause.otherwise);
  return text + paragraph(fmt::format("{}: {}", verdict(proved), shown), told_width, indent, indent);
}

bool held(const ToldWhy& told, std::size_t number) {
  return told.held.empty() || told.held[number];
}

std::string more_reasons(const ToldWhy& told) {
  const std::size_t reasons = told.explanation.reasons.size();
  if (reasons <= most_reasons) return {};
  const bool all = std::find(told.held.begin(), told.held.end(), false) == told.held.end();
  const std::size_t more = reasons - most_reasons;
  return !told.held.empty() && all ? tr("And {} more that would have led to the same, each proved.\n", more)
                                   : tr("And {} more that would have led to the same.\n", more);
}

/// What makes a difference only together.
std::string sets_text(const ToldWhy& told) {
  if (told.explanation.sets.empty()) return {};
  std::string text = told.explanation.reasons.empty() ? tr("Only together make a difference:\n")
                                                      : tr("And only together make a difference:\n");
  for (std::size_t i = 0; i < told.explanation.sets.size(); ++i) {
    const model::CauseSet& set = told.explanation.sets[i];
    std::string mark = "     - ";
    for (const model::Lead& lead : set.leads) {
      text += paragraph(fmt::format("{:>8}  {}", model::clock_text(lead.at), lead.text), told_width, mark,
                        std::string(17, ' '));
      mark = "       ";
    }
    if (told.sets_held.empty()) continue;
    text += paragraph(
        fmt::format("{}: {}", verdict(told.sets_held[i]), would_be_text(told, set.otherwise(), set.would_be)),
        told_width, std::string(17, ' '), std::string(17, ' '));
  }
  return text;
}

json::array sets_json(const ToldWhy& told) {
  json::array sets;
  for (std::size_t i = 0; i < told.explanation.sets.size(); ++i) {
    const model::CauseSet& set = told.explanation.sets[i];
    json::array causes;
    for (const model::Lead& lead : set.leads)
      causes.push_back(json::object{{"at_s", sim::seconds(lead.at)}, {"text", lead.text}});
    json::object object{
        {"causes", std::move(causes)}, {"otherwise", set.otherwise()}, {"would_be", set.would_be}};
    object["proved"] = told.sets_held.empty() ? json::value(nullptr) : json::value(bool{told.sets_held[i]});
    sets.push_back(std::move(object));
  }
  return sets;
}

std::string as_text(const ToldWhy& told) {
  std::string text = paragraph(sentence(told.scenario, told.question, told.explanation), told_width, "", "");
  std::size_t number = 0;
  for (std::size_t reason = 0; reason < told.explanation.reasons.size(); ++reason) {
    const bool shown = reason < most_reasons;
    if (shown && reason > 0) text += tr("Without that, what would have led to the same:\n");
    for (const model::Cause& cause : told.explanation.reasons[reason]) {
      if (shown || !held(told, number)) text += cause_text(told, cause, number);
      ++number;
    }
  }
  text += more_reasons(told) + sets_text(told);
  const bool unaddressed = told.explanation.answer == "none" && told.question.fact == model::Fact::address;
  if (unaddressed && !told.explanation.offers.empty()) {
    text += tr("Offers\n");
    for (const model::Telling& offer : told.explanation.offers) {
      text += paragraph(offer.text, told_width, fmt::format("     {:>8}  ", model::clock_text(offer.at)),
                        std::string(15, ' '));
    }
  }
  return text;
}

json::object cause_json(const ToldWhy& told, const model::Cause& cause, std::size_t number) {
  const model::Step* step = step_of(told, cause);
  json::object object{{"at_s", sim::seconds(cause.at)}, {"text", cause.text}, {"reason", cause.reason + 1}};
  object["step"] = step == nullptr ? json::value(nullptr) : json::value(describe(told.scenario, *step));
  object["file"] = nullptr;
  object["line"] = nullptr;
  if (step != nullptr && step->mark.line != 0) {
    object["file"] = told.scenario.files[step->mark.file];
    object["line"] = step->mark.line;
  }
  object["otherwise"] = cause.otherwise;
  object["would_be"] = cause.would_be;
  object["proved"] = told.held.empty() ? json::value(nullptr) : json::value(bool{told.held[number]});
  return object;
}

std::string as_json(const ToldWhy& told) {
  json::array causes;
  for (const model::Cause* cause : told.explanation.causes()) {
    causes.push_back(cause_json(told, *cause, causes.size()));
  }
  json::array offers;
  for (const model::Telling& offer : told.explanation.offers) {
    offers.push_back(json::object{{"at_s", sim::seconds(offer.at)}, {"text", offer.text}});
  }
  json::object object{{"scenario", told.name}, {"question", told.asked}};
  object["at_s"] = told.question.at ? json::value(sim::seconds(*told.question.at)) : json::value(nullptr);
  object["value"] = told.explanation.answer;
  object["answer"] = sentence(told.scenario, told.question, told.explanation);
  object["reasons"] = told.explanation.reasons.size();
  object["causes"] = std::move(causes);
  object["sets"] = sets_json(told);
  object["offers"] = std::move(offers);
  return json_text(object) + "\n";
}

void add_why_options(CommandLine& line) {
  line.add()("at", po::value<std::string>(),
             msg("ask about this time on the run's clock, e.g. 200s or 3:20 (else: the end)").data());
  line.add()("until", po::value<std::string>(),
             msg("go on to this time, beyond the end of the script").data());
  line.add()("prove", msg("run it again without each cause, and show what would have been").data());
  line.add()("not", po::value<std::string>(),
             msg("why it is not this value: the smallest change after which it would have been").data());
  line.offer_output("out,o", msg("write the scenario with that change there").data());
  line.add()("seed", po::value<std::string>(), msg("instead of the scenario's own").data());
  offer_budget(line);
  offer_firmware(line);
  line.offer_json();
}

/// Somebody who does nothing until then, so that the run goes on as long.
void wait_until(model::Scenario& scenario, sim::Duration until) {
  model::Step wait;
  wait.kind = model::StepKind::note;
  wait.at = sim::start_of_run + until;
  scenario.people.push_back({"waiting", scenario.people.front().place, {std::move(wait)}});
}

std::vector<bool> proofs(const model::Counterfactual& runs, const model::WhyQuestion& question,
                         const model::Explanation& explanation) {
  std::vector<bool> held;
  for (const model::Cause* cause : explanation.causes())
    held.push_back(holds(runs, question, explanation, *cause));
  return held;
}

std::string read_value(const CommandLine& line, const model::Scenario& scenario,
                       const model::WhyQuestion& question) {
  const std::string written = line.text("not");
  const auto value = parse_fact_value(scenario.site, question.device, question.fact, written);
  if (!value) throw Unusable{"--not " + refusal(written, value.error())};
  return *value;
}

/// Whether the fact has that value as it is.
bool is_so(const model::Counterfactual& runs, const model::WhyQuestion& question, const std::string& value) {
  const model::Course course = runs.run({}, question);
  return fact_is(runs.scenario(), course.world, {question.fact, question.device, {value}, false, {}});
}

int tell_that_it_is_so(const CommandLine& line, const model::WhyQuestion& question,
                       const std::string& value) {
  const std::string& asked = line.words()[1];
  if (line.json_wanted()) {
    print_out(
        json_text(json::object{{"question", asked}, {"not", value}, {"already", true}, {"change", nullptr}}) +
        "\n");
  } else {
    print_out(question.at ? tr("At {}, {} was {}: nothing would have to be otherwise.\n",
                               model::clock_text(*question.at), asked, value)
                          : tr("{} is {}: nothing would have to be otherwise.\n", asked, value));
  }
  return exit_fine;
}

/// "unaddressed (M1) and shared-address (M1, M2)"
std::string new_findings(const model::Scenario& scenario, const model::NearestWay& way) {
  std::vector<std::string> words;
  for (const model::Finding& finding : way.found) {
    std::vector<std::string> names;
    for (const model::DeviceId device : finding.devices) names.push_back(scenario.site.name(device));
    words.push_back(fmt::format("{} ({})", to_string(finding.id), fmt::join(names, ", ")));
  }
  return fmt::format("{}", fmt::join(words, tr(" and ")));
}

json::array new_findings_json(const model::Scenario& scenario, const model::NearestWay& way) {
  json::array findings;
  for (const model::Finding& finding : way.found) {
    json::array devices;
    for (const model::DeviceId device : finding.devices)
      devices.push_back(json::string(scenario.site.name(device)));
    findings.push_back(
        json::object{{"id", json::string(to_string(finding.id))}, {"devices", std::move(devices)}});
  }
  return findings;
}

std::string way_text(const model::Scenario& scenario, const std::string& asked, const std::string& value,
                     const model::NearestWay& way) {
  if (way.found.empty())
    return tr("{} would have been {}, {}. (Tried: {} runs.)", asked, value, way.change, way.tried);
  return tr(
      "{} would have been {}, {}; but then something else would have been out of step: {}. Nothing that was "
      "tried does it without that. (Tried: {} runs.)",
      asked, value, way.change, new_findings(scenario, way), way.tried);
}

/// Why not: the nearest way in which it would have been so.
int tell_why_not(const CommandLine& line, const LoadedScenario& loaded, const model::Counterfactual& runs,
                 const model::WhyQuestion& question, std::size_t people) {
  if (question.finding) throw Unusable{tr("--not asks about a fact of a device, such as M2.address")};
  const std::string& asked = line.words()[1];
  const std::string value = read_value(line, loaded.scenario, question);
  if (is_so(runs, question, value)) return tell_that_it_is_so(line, question, value);
  const auto way = model::nearest_way(loaded.scenario, question, value);
  if (line.json_wanted()) {
    json::object object{{"question", asked}, {"not", value}, {"already", false}};
    object["change"] = way ? json::value(way->change) : json::value(nullptr);
    object["rule"] = way ? "" : rule_against(loaded.scenario, question, value);
    object["new_findings"] = way ? new_findings_json(loaded.scenario, *way) : json::array{};
    print_out(json_text(object) + "\n");
  } else if (!way) {
    const std::string rule = rule_against(loaded.scenario, question, value);
    print_out(paragraph(
        tr("No single change that was tried to what the installer did makes {} {}. "
           "{}{}Tried, each alone: {}.",
           asked, value, rule, rule.empty() ? "" : " ", changes_tried(loaded.scenario, question, value)),
        told_width, "", ""));
  } else {
    print_out(paragraph(way_text(loaded.scenario, asked, value, *way), told_width, "", ""));
  }
  if (way && line.has("out")) {
    LoadedScenario changed = loaded;
    changed.scenario = way->scenario;
    changed.scenario.people.resize(people);  // without whoever waited
    write_file(line.text("out"), write_scenario(changed));
  }
  return way ? exit_fine : exit_failed;
}

}  // namespace

int why_command(Arguments arguments) {
  CommandLine line{"drybus why SCENARIO DEVICE.FACT|FINDING [options]"};
  add_why_options(line);
  line.take_words("SCENARIO and DEVICE.FACT", 2, 2);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();
  if (names_protocol(line.words()[0])) return why_of_protocol(line);

  const FirmwareChoice firmware = read_firmware(line);
  if (line.has("prove") || line.has("not")) {
    firmware.put_back();
  }
  LoadedScenario loaded = load_scenario(line.words()[0]);
  firmware.put_in(loaded.scenario);
  const std::string& asked = line.words()[1];
  if (line.has("seed")) loaded.scenario.seed = line.number("seed");
  const std::size_t people = loaded.scenario.people.size();
  if (line.has("until")) wait_until(loaded.scenario, line.duration("until"));
  const model::Counterfactual runs{loaded.scenario, {}, read_budget(line)};
  const model::WhyQuestion question = read_question(runs, asked, line.optional_text("at"));

  if (line.has("not")) return tell_why_not(line, loaded, runs, question, people);
  const model::Explanation explanation = explain(runs, question);
  ToldWhy told{loaded.scenario, line.words()[0], asked, question, explanation, {}, {}};
  if (line.has("prove")) {
    told.held = proofs(runs, question, explanation);
    for (const model::CauseSet& set : explanation.sets)
      told.sets_held.push_back(holds(runs, question, explanation, set));
  }
  print_out(wants_json ? as_json(told) : as_text(told));
  const auto all_hold = [](const std::vector<bool>& held) {
    return std::find(held.begin(), held.end(), false) == held.end();
  };
  const bool answered = !explanation.reasons.empty() || !explanation.sets.empty();
  return answered && all_hold(told.held) && all_hold(told.sets_held) ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
