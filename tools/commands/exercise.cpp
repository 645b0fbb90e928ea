// drybus exercise: a site with something hidden in it, found and put right by what a person on site can do.
#include <fmt/format.h>

#include <boost/json.hpp>

#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/recovery/words.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/commands/diagnose_answers.h"
#include "tools/commands/lesson_commands.h"
#include "tools/commands/made_up_building.h"
#include "tools/commands/on_the_line.h"
#include "tools/commands/planned_site.h"
#include "tools/commands/site_actions.h"
#include "tools/load/load.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;
namespace fs = std::filesystem;

/// A round through more takes a person longer than a lesson, and an engine longer than a class waits.
constexpr std::size_t most_modules = 16;
constexpr std::size_t most_actions = 500;

void add_exercise_options(CommandLine& line) {
  line.add()(
      "difficulty", po::value<std::string>()->default_value("easy"),
      msg("of what is hidden: easy (buttons cure it), middle (behind a cover) or hard (two things)").data());
  line.add()("seed", po::value<std::string>()->default_value("1"), msg("draws what is hidden").data());
  line.add()("answers", po::value<std::string>(),
             msg("what is done, from this file, a line each; otherwise it is asked").data());
  line.add()("catalogue", po::value<std::string>(), msg("another catalogue of slips and faults").data());
  line.offer_json();
}

model::Difficulty difficulty_of(const CommandLine& line) {
  static const std::vector<std::string> words = {"easy", "middle", "hard"};
  const auto found = std::find(words.begin(), words.end(), line.text("difficulty"));
  if (found == words.end())
    throw Unusable{tr("--difficulty {}: expected {}.{}", line.text("difficulty"), one_of(words),
                      did_you_mean(line.text("difficulty"), words))};
  return static_cast<model::Difficulty>(found - words.begin());
}

/// Two rooms with a plate and three loads each, nothing addressed yet.
LoadedSite made_up_site(std::uint64_t seed) {
  LoadedScenario made;
  made.family_ref = "wired-keypad";
  const LoadedFamily family = load_family(made.family_ref);
  made.family_file = family.sources[0].path;
  made.scenario = building(family.family, {2, 3, 2}, seed);
  for (model::ModuleSpec& module : made.scenario.site.modules)
    module.memory = model::factory_memory(family.family.module);
  made.scenario.people.resize(1);
  made.scenario.people[0].script.clear();
  made.scenario.checks.clear();
  made.spots.resize(made.scenario.site.places.size());
  const fs::path path = fs::current_path() / "made-up-site.yaml";
  auto reading = read_scenario_text(write_scenario(made, {path.parent_path(), {}}), path);
  if (!reading.ok()) throw std::logic_error{to_text(reading.problems())};
  LoadedScenario read = std::move(reading.value());
  return {std::move(read.scenario.site), {},
          std::move(read.family_ref),    std::move(read.family_file),
          std::move(read.sources),       std::move(read.spots),
          std::move(read.other_families)};
}

model::Exercise made(const CommandLine& line) {
  const std::string name = line.words().empty() ? tr("a made-up site") : line.words()[0];
  const PlanReport plan =
      planned(name, line.words().empty() ? made_up_site(line.number("seed")) : load_site(name), {});
  if (!plan.plan.clashes.empty()) {
    print_err(clashes_text(plan));
    throw Unusable{tr("{}: it has to be planned before anybody can work on it: drybus plan {}", name, name)};
  }
  const model::BuiltSite built = model::built(plan.plan);
  if (built.site.modules.size() > most_modules)
    throw Unusable{tr("{}: an exercise has {} modules at most; this site has {}", name, most_modules,
                      built.site.modules.size())};
  const std::string beside = line.words().empty() ? "." : name;
  auto exercise = model::make_exercise(built, route_problem(plan),
                                       load_catalogue(beside, line.optional_text("catalogue")),
                                       difficulty_of(line), line.number("seed"));
  if (!exercise)
    throw Unusable{
        tr("{}: nothing of this difficulty is both to be found and to be put right there; try another "
           "--difficulty or --seed",
           name)};
  return std::move(*exercise);
}

std::string lines_of(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& each : lines) text += paragraph(each, told_width, "  ", "    ");
  return text;
}

std::string opening_text(const model::Exercise& exercise) {
  const model::Scenario& scenario = exercise.scenario;
  const model::Site& site = scenario.site;
  std::string text =
      tr("Everything was installed here, and something is not as it should be. It should be:\n");
  for (model::DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (!site.is_neighbour(plate))
      text += tr("  {} ({}), in {}: {}/{}\n", site.title(plate), site.name(plate),
                 site.places[site.place(plate)].name, site.plates[plate].site, site.plates[plate].zone);
  }
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const model::DeviceId module = site.module_id(i);
    if (!site.is_neighbour(module) && site.modules[i].intended)
      text += tr("  {} ({}), in {}: {}\n", site.title(module), site.name(module),
                 site.places[site.place(module)].name, to_string(*site.modules[i].intended));
  }
  return text + tr("What you can do (help says it again):\n") + site_actions_text(scenario) +
         paragraph(std::string{model::in_words_spoken(model::safety_caution)}, told_width, "", "") +
         tr("You stand in {}.\n", site.places[exercise.start.people[0].place].name);
}

std::string asking_text(const model::Exercise& exercise, const model::Attempt& attempt) {
  const auto place = attempt.world.people[0].place;
  return fmt::format("{} {}", model::clock_text(sim::start_of_run + (attempt.world.now - exercise.start.now)),
                     exercise.scenario.site.places[place].name);
}

/// Goes on until the pupil is done, has ended it by unsafe work, or says no more.
model::Attempt worked_on(const model::Exercise& exercise, Respondent& respondent) {
  model::Attempt attempt = begin_attempt(exercise);
  respondent.tell(opening_text(exercise));
  for (std::size_t actions = 0; actions < most_actions && !attempt.unsafe; ++actions) {
    const auto line = respondent.answer(asking_text(exercise, attempt));
    if (!line || *line == "done") break;
    if (*line == "help") {
      respondent.tell(site_actions_text(exercise.scenario));
      continue;
    }
    const auto action = parse_site_action(exercise.scenario, *line);
    if (!action) {
      const QuantityError& error = action.error();
      std::string complaint = error.message;
      if (!error.expected.empty()) complaint = tr("{}; expected {}", complaint, error.expected);
      if (!error.suggestion.empty()) complaint += tr("; did you mean '{}'?", error.suggestion);
      if (!respondent.again(complaint)) break;
      continue;
    }
    if (const auto refused = act(exercise, attempt, *action)) {
      respondent.tell(tr("  No: {}.\n", *refused));
    } else if (!attempt.unsafe) {
      respondent.tell(lines_of(attempt.done.back().seen));
    }
  }
  return attempt;
}

// --- afterwards ---

std::string when(const model::Exercise& exercise, sim::Instant at) {
  return model::clock_text(sim::start_of_run + (at - exercise.start.now));
}

std::string timeline_text(const model::Exercise& exercise, const model::Attempt& attempt) {
  std::string text = tr("What was really so (~ nobody could see it):\n");
  for (const std::string& truth : exercise.truth)
    text += paragraph(tr("hidden from the start: {}", truth), told_width, "  ", "    ");
  for (const model::Done& done : attempt.done) {
    const bool belief = done.action.kind == model::SiteAction::Kind::believe;
    text += paragraph(belief ? tr("you believed: {}", done.action.text) : done.action.text, told_width,
                      fmt::format("{:>8}  ", when(exercise, done.at)), "            ");
    if (done.action.kind != model::SiteAction::Kind::look) {
      for (const std::string& seen : done.seen)
        text += paragraph(seen, told_width, "            ", "              ");
    }
    for (const std::string& hidden : done.hidden)
      text += paragraph("~ " + hidden, told_width, "            ", "              ");
    if (done.needless) text += tr("            needless: nothing was wrong there\n");
  }
  return text;
}

std::string shortest_text(const model::Exercise& exercise) {
  std::string text = tr("The shortest way, {}:\n", model::minutes_text(exercise.cure.time));
  std::size_t number = 0;
  std::string caution;
  for (const model::CureLine& line : exercise.cure.lines) {
    std::string words = line.text;
    if (!line.caution.empty() && line.caution != caution) words += " " + line.caution;
    if (!line.caution.empty()) caution = line.caution;
    text += paragraph(words, told_width, fmt::format("{:>3}. ", ++number), "     ");
  }
  return text;
}

std::string score_text(const model::Score& score, const model::Attempt& attempt) {
  std::string text;
  if (attempt.unsafe) {
    text += paragraph(tr("The end: {}", *attempt.unsafe), told_width, "", "  ");
  } else if (score.cured) {
    text += tr("All is right again.\n");
  } else {
    text += attempt.isolated ? tr("The supply is still off.\n") : "";
    text += score.amiss.empty() ? "" : tr("Still wrong:\n") + lines_of(score.amiss);
  }
  return text + tr("{} min (a whole round and the shortest way: {}), {} steps ({}), needless work: {}, "
                   "safety: {}\n{} points of 100\n",
                   model::with_decimal_mark(fmt::format("{:.1f}", score.minutes)),
                   model::with_decimal_mark(fmt::format("{:.1f}", score.par_minutes)), score.steps,
                   score.par_steps, score.needless,
                   attempt.unsafe ? tr("worked on what was not isolated") : tr("kept"), score.points);
}

json::object outcome_json(const model::Exercise& exercise, const model::Attempt& attempt,
                          const model::Score& score) {
  json::array timeline;
  for (const model::Done& done : attempt.done) {
    timeline.push_back({{"at_s", sim::seconds(done.at - exercise.start.now)},
                        {"believed", done.action.kind == model::SiteAction::Kind::believe},
                        {"done", done.action.text},
                        {"seen", texts(done.seen)},
                        {"hidden", texts(done.hidden)},
                        {"needless", done.needless}});
  }
  json::array shortest;
  for (const model::CureLine& line : exercise.cure.lines) shortest.emplace_back(line.text);
  return {{"cured", score.cured},
          {"points", score.points},
          {"minutes", score.minutes},
          {"par_minutes", score.par_minutes},
          {"steps", score.steps},
          {"par_steps", score.par_steps},
          {"needless", score.needless},
          {"unsafe", attempt.unsafe ? json::value(*attempt.unsafe) : json::value(nullptr)},
          {"still_wrong", texts(score.amiss)},
          {"truth", texts(exercise.truth)},
          {"rank", exercise.rank},
          {"timeline", std::move(timeline)},
          {"shortest", std::move(shortest)}};
}

}  // namespace

int exercise_command(Arguments arguments) {
  CommandLine line{"drybus exercise [SITE] [--difficulty easy|middle|hard] [--seed N] [options]"};
  add_exercise_options(line);
  line.take_words("SITE", 0, 1);
  if (!line.parse(arguments)) return exit_fine;
  difficulty_of(line);
  std::optional<AnswerFile> answers;
  if (line.has("answers")) answers = read_answer_file(line.text("answers"), line.json_wanted());
  const model::Exercise exercise = made(line);
  OnTheLine on_the_line{line.json_wanted()};
  const model::Attempt attempt = answers ? worked_on(exercise, *answers) : worked_on(exercise, on_the_line);
  const model::Score score = score_of(exercise, attempt);
  print_out(line.json_wanted() ? json_text(outcome_json(exercise, attempt, score)) + "\n"
                               : "\n" + score_text(score, attempt) + timeline_text(exercise, attempt) +
                                     shortest_text(exercise));
  return score.cured ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
