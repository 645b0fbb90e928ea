#include "model/diagnosis/next_check.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/diagnosis/make_check.h"
#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/hidden_state.h"
#include "sim/measurement.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// Asking, looking and answering on the telephone; judgement.
constexpr double asking_minutes = 0.2;
/// Finding and using an isolator; judgement.
constexpr double isolating_minutes = 4;
/// No more modules than these are watched at once, and no more explanations compared.
constexpr std::size_t most_watched = 12;
constexpr double least_share = 0.004;
/// Less information than this is not worth asking for.
constexpr double least_bits = 0.02;

// --- which checks there are ---

double minutes_of(const Site& site, const Scenario& scenario, PlaceId from, const SiteCheck& check) {
  const Person person{"", from, steps_of(site, scenario.times, check)};
  double minutes = sim::seconds(timetable(site, scenario.times, person).ends) / 60 + asking_minutes;
  std::set<PlaceId> elsewhere;
  for (const DeviceId module : check.watch) elsewhere.insert(site.place(module));
  elsewhere.erase(site.place(check.device));
  for (const PlaceId place : elsewhere)
    minutes += 2 * sim::seconds(site.walk(site.place(check.device), place)) / 60;
  if (check.kind == SiteCheck::Kind::power_cycle) minutes += isolating_minutes;
  return minutes;
}

std::string where(const Site& site, DeviceId device) {
  const std::string& title = site.title(device);
  const std::string& place = site.places[site.place(device)].name;
  if (title == site.name(device)) return fmt::format("{} ({})", title, place);
  return fmt::format("{} ({}, {})", site.name(device), title, place);
}

std::string names_of(const Site& site, const std::vector<DeviceId>& devices) {
  std::vector<std::string> names;
  names.reserve(devices.size());
  for (const DeviceId device : devices) names.push_back(site.name(device));
  return joined(names);
}

std::string question_of(const Site& site, const SiteCheck& check) {
  const std::string at = where(site, check.device);
  switch (check.kind) {
    case SiteCheck::Kind::look:
      return site.is_plate(check.device)
                 ? tr("Look at {} for a few seconds: what does its lamp show?", at)
                 : tr("Look at {} for a few seconds: what does its lamp show, and is its load lit?", at);
    case SiteCheck::Kind::press_local:
      return tr("Press the local button of {} briefly: does its load change?", at);
    case SiteCheck::Kind::press_plate:
      return tr("Press {} of {} briefly and watch {}: which loads go on or off, and whose lamps blip?",
                buttons_text(site, check.device, only(check.button)), at, names_of(site, check.watch));
    case SiteCheck::Kind::identify:
      return tr(
          "Hold {} for {} to put {} in setup, then step up with {} to channel {}, slowly; at which channel "
          "does the lamp of each of these go steady: {}? Then leave setup with {}.",
          buttons_text(site, check.device, site.setup_gesture(check.device)),
          duration_text(site.setup_hold(check.device)), at,
          buttons_text(site, check.device, only(site.plate_family(check.device).next)), check.channel,
          names_of(site, check.watch),
          buttons_text(site, check.device, only(site.plate_family(check.device).leave)));
    case SiteCheck::Kind::power_cycle:
      return tr(
          "Switch the supply of {} off at its isolator, and on again after five seconds: does its load come "
          "up lit? Touch no wiring and open nothing. {}",
          at, in_words_spoken(safety_caution));
    case SiteCheck::Kind::read_switches:
      return tr(
          "Read the switches of {} where they can be read without opening anything that carries mains: "
          "which site and zone do they show? If it has to be opened: {}",
          at, in_words_spoken(safety_caution));
  }
  return {};
}

/// An explanation's most probable course, ready to be tried out.
struct Course {
  Scenario scenario;
  const World* world = nullptr;
  double weight = 0;
  std::uint32_t explanation = 0;
};

/// What shows and what is hidden, for telling whether two worlds would answer alike.
std::vector<std::uint64_t> situation(const Site& site, const World& world) {
  std::vector<std::uint64_t> key = hidden_state(site, world);
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    key.push_back(std::uint64_t{heading(world.loads[i])} | std::uint64_t{world.modules[i].awake} << 16 |
                  static_cast<std::uint64_t>(world.devices[site.module_id(i)].indicator) << 17 |
                  std::uint64_t{world.modules[i].memory.last_level} << 24);
  }
  return key;
}

/// Every account that counts; those whose situation is the same are one, with their weights together.
std::vector<Course> courses_of(const Report& report, const Diagnosis& diagnosis) {
  std::vector<Course> courses;
  for (std::uint32_t e = 0; e < diagnosis.explanations.size(); ++e) {
    std::map<std::vector<std::uint64_t>, std::size_t> known;
    for (const Account& account : diagnosis.explanations[e].ways) {
      const auto [at, fresh] = known.emplace(situation(report.believed.site, *account.world), courses.size());
      if (!fresh) {
        courses[at->second].weight += account.probability;
      } else if (account.probability >= least_share || known.size() == 1) {
        courses.push_back({scenario_of(report, account), account.world.get(), account.probability, e});
      } else {
        known.erase(at);
      }
    }
  }
  return courses;
}

/// Devices of which what is hidden, what shows or whom they hear is not the same whatever is true.
class InQuestion {
 public:
  InQuestion(const Report& report, const std::vector<Course>& courses) : site_(report.believed.site) {
    if (courses.empty()) return;
    const HiddenState first = hidden_state(site_, *courses.front().world);
    for (const Course& course : courses) {
      if (course.weight < least_share) continue;
      for (const DeviceId device : devices_that_differ(site_, first, hidden_state(site_, *course.world))) {
        weights_[device] += course.weight;
      }
      for (std::size_t i = 0; i < site_.modules.size(); ++i) {
        const DeviceId module = site_.module_id(i);
        if (shows_or_hears_otherwise(*courses.front().world, *course.world, module))
          weights_[module] += course.weight;
      }
    }
  }

  [[nodiscard]] std::vector<DeviceId> modules() const { return some(false); }
  [[nodiscard]] std::vector<DeviceId> plates() const { return some(true); }

 private:
  [[nodiscard]] bool shows_or_hears_otherwise(const World& a, const World& b, DeviceId module) const {
    const std::size_t index = site_.module_index(module);
    if ((heading(a.loads[index]) > 0) != (heading(b.loads[index]) > 0)) return true;
    if (a.devices[module].indicator != b.devices[module].indicator) return true;
    for (std::size_t plate = 0; plate < site_.plates.size(); ++plate) {
      const auto id = static_cast<sim::NodeId>(plate);
      if (a.medium.path(site_.network, id, module) != b.medium.path(site_.network, id, module)) return true;
    }
    return false;
  }

  [[nodiscard]] std::vector<DeviceId> some(bool plates) const {
    std::vector<DeviceId> devices;
    for (const auto& [device, weight] : weights_) {
      if (site_.is_plate(device) == plates && !site_.is_neighbour(device)) devices.push_back(device);
    }
    std::stable_sort(devices.begin(), devices.end(),
                     [&](DeviceId a, DeviceId b) { return weights_.at(a) > weights_.at(b); });
    if (devices.size() > most_watched) devices.resize(most_watched);
    std::sort(devices.begin(), devices.end());
    return devices;
  }

  const Site& site_;
  std::map<DeviceId, double> weights_;
};

std::vector<SiteCheck> checks_for(const Report& report, const InQuestion& in_question, PlaceId from) {
  const Site& site = report.believed.site;
  std::vector<SiteCheck> checks;
  const auto add = [&](SiteCheck check) {
    check.minutes = minutes_of(site, report.believed, from, check);
    check.text = question_of(site, check);
    checks.push_back(std::move(check));
  };
  const std::vector<DeviceId> modules = in_question.modules();
  for (const DeviceId module : modules) {
    add({.kind = SiteCheck::Kind::look, .device = module});
    if (!site.module_family(module).button.empty())
      add({.kind = SiteCheck::Kind::press_local, .device = module});
    add({.kind = SiteCheck::Kind::power_cycle, .device = module});
  }
  for (const DeviceId plate : in_question.plates()) {
    add({.kind = SiteCheck::Kind::look, .device = plate});
    add({.kind = SiteCheck::Kind::read_switches, .device = plate});
  }
  std::uint8_t last_channel = 0;
  for (const ModuleSpec& module : site.modules) {
    if (module.intended && !module.neighbour) last_channel = std::max(last_channel, module.intended->channel);
  }
  for (std::size_t i = 0; i < site.plates.size() && !modules.empty(); ++i) {
    if (site.plates[i].neighbour) continue;
    const auto plate = static_cast<DeviceId>(i);
    const PlateFamily& family = site.plate_family(plate);
    for (const Command command : {Command::on, Command::off}) {
      for (std::size_t button = 0; button < family.buttons.size(); ++button) {
        if (!family.press[button].gives(command)) continue;
        add({.kind = SiteCheck::Kind::press_plate,
             .device = plate,
             .button = static_cast<Button>(button),
             .watch = modules});
        break;
      }
    }
    const auto channel = std::min<std::uint8_t>(last_channel, family.channels);
    if (channel > 0)
      add({.kind = SiteCheck::Kind::identify, .device = plate, .channel = channel, .watch = modules});
  }
  return checks;
}

PlaceId stands_at(const Report& report, const Diagnosis& diagnosis) {
  if (diagnosis.explanations.empty()) return report.believed.people.front().place;
  return diagnosis.explanations.front().ways.front().world->people.front().place;
}

/// What each course answers to a check, as numbers, and the texts behind them.
struct Answers {
  std::vector<std::uint32_t> outcomes;
  std::vector<std::string> texts;
};

Answers answers_to(std::vector<Course>& courses, const SiteCheck& check) {
  Answers answers;
  for (Course& course : courses) {
    const std::string text = make_check(course.scenario, *course.world, check).outcome;
    auto found = std::find(answers.texts.begin(), answers.texts.end(), text);
    if (found == answers.texts.end()) {
      answers.texts.push_back(text);
      found = std::prev(answers.texts.end());
    }
    answers.outcomes.push_back(static_cast<std::uint32_t>(found - answers.texts.begin()));
  }
  return answers;
}

/// Minutes that putting it right may take; judgement. Modules are addressed again; broken things want an
/// electrician.
double cure_minutes(const Site& site, const Account& account) {
  constexpr double addressing = 2;
  constexpr double electrician = 45;
  double minutes = 1;
  for (const PlacedCause& placed : account.causes) {
    if (wants_an_electrician(placed.cause)) minutes += electrician;
  }
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const auto& intended = site.modules[i].intended;
    const ModuleMemory& memory = account.world->modules[i].memory;
    if (intended && !site.modules[i].neighbour && memory.address != *intended) minutes += addressing;
  }
  return minutes;
}

/// However far it is to walk, and whoever else is watched.
bool is_same(const SiteCheck& a, const SiteCheck& b) {
  return a.kind == b.kind && a.device == b.device && a.button == b.button && a.channel == b.channel;
}

/// A report of a check is wrong as often as any other.
constexpr double check_error = 0.02;

struct Weights {
  std::vector<double> weights;
  std::vector<std::uint32_t> groups;
  explicit Weights(const std::vector<Course>& courses) {
    for (const Course& course : courses) {
      weights.push_back(course.weight);
      groups.push_back(course.explanation);
    }
  }
  [[nodiscard]] sim::Forecast forecast(const Answers& answers) const {
    return {weights, groups, answers.outcomes, static_cast<std::uint32_t>(answers.texts.size()), check_error};
  }
};

std::vector<CheckOutcome> outcomes_of(const std::vector<Course>& courses, const Answers& answers,
                                      const sim::Forecast& forecast) {
  std::vector<CheckOutcome> outcomes;
  for (std::uint32_t o = 0; o < answers.texts.size(); ++o) {
    CheckOutcome outcome{answers.texts[o], sim::chance_of(forecast, o), {}};
    for (std::size_t i = 0; i < courses.size(); ++i) {
      if (answers.outcomes[i] == o) outcome.explanations.push_back(courses[i].explanation);
    }
    std::sort(outcome.explanations.begin(), outcome.explanations.end());
    outcome.explanations.erase(std::unique(outcome.explanations.begin(), outcome.explanations.end()),
                               outcome.explanations.end());
    outcomes.push_back(std::move(outcome));
  }
  std::stable_sort(outcomes.begin(), outcomes.end(), [](const CheckOutcome& a, const CheckOutcome& b) {
    return a.probability > b.probability;
  });
  return outcomes;
}

}  // namespace

std::vector<SiteCheck> site_checks(const Report& report, const Diagnosis& diagnosis) {
  const InQuestion in_question{report, courses_of(report, diagnosis)};
  return checks_for(report, in_question, stands_at(report, diagnosis));
}

std::optional<NextCheck> next_check(const Report& report, const Diagnosis& diagnosis, double enough,
                                    std::span<const SiteCheck> left_out) {
  if (diagnosis.explanations.empty() || diagnosis.explanations.front().probability >= enough)
    return std::nullopt;
  std::vector<Course> courses = courses_of(report, diagnosis);
  const Weights weights{courses};
  std::optional<NextCheck> best;
  for (const SiteCheck& check :
       checks_for(report, InQuestion{report, courses}, stands_at(report, diagnosis))) {
    if (std::any_of(left_out.begin(), left_out.end(),
                    [&](const SiteCheck& each) { return is_same(each, check); }))
      continue;
    const Answers answers = answers_to(courses, check);
    if (answers.texts.size() < 2) continue;
    const sim::Forecast forecast = weights.forecast(answers);
    const double bits = sim::information_bits(forecast);
    if (bits < least_bits || (best && bits / check.minutes <= best->bits_per_minute)) continue;
    best = NextCheck{check, bits, bits / check.minutes, outcomes_of(courses, answers, forecast)};
  }
  return best;
}

void find_alike(const Report& report, Diagnosis& diagnosis) {
  std::vector<Course> courses = courses_of(report, diagnosis);
  std::vector<std::vector<std::uint32_t>> by_course(courses.size());
  for (const SiteCheck& check :
       checks_for(report, InQuestion{report, courses}, stands_at(report, diagnosis))) {
    const Answers each = answers_to(courses, check);
    for (std::size_t i = 0; i < courses.size(); ++i) by_course[i].push_back(each.outcomes[i]);
  }
  // Each explanation answers as the most probable of its ways does.
  std::vector<std::size_t> speaks(diagnosis.explanations.size(), courses.size());
  for (std::size_t i = 0; i < courses.size(); ++i) {
    std::size_t& speaker = speaks[courses[i].explanation];
    if (speaker == courses.size() || courses[i].weight > courses[speaker].weight) speaker = i;
  }
  for (std::uint32_t a = 0; a < speaks.size(); ++a) {
    diagnosis.explanations[a].alike.clear();
    for (std::uint32_t b = 0; b < speaks.size(); ++b) {
      if (a != b && by_course[speaks[a]] == by_course[speaks[b]])
        diagnosis.explanations[a].alike.push_back(b);
    }
  }
}

std::vector<std::uint32_t> cure_order(const Report& report, const Diagnosis& diagnosis, double least) {
  std::vector<std::uint32_t> counted;
  std::vector<sim::Repair> repairs;
  for (std::uint32_t i = 0; i < diagnosis.explanations.size(); ++i) {
    const RankedExplanation& each = diagnosis.explanations[i];
    if (each.probability < least) continue;
    counted.push_back(i);
    repairs.push_back({each.probability, cure_minutes(report.believed.site, each.ways.front())});
  }
  std::vector<std::uint32_t> order;
  for (const std::size_t each : sim::repair_order(repairs)) order.push_back(counted[each]);
  return order;
}

void narrow(const Report& report, const Catalogue& catalogue, Diagnosis& diagnosis, const SiteCheck& check,
            const std::string& outcome) {
  // An outcome that hardly anybody predicted is as likely as not to be something unknown.
  double sum = diagnosis.unexplained * 0.25;
  diagnosis.unexplained = sum;
  for (RankedExplanation& explanation : diagnosis.explanations) {
    explanation.probability = 0;
    for (Account& account : explanation.ways) {
      Scenario scenario = scenario_of(report, account);
      Observed observed = make_check(scenario, *account.world, check);
      account.probability *= observed.outcome == outcome ? 1 - catalogue.misreport : catalogue.misreport;
      account.world = std::make_shared<const World>(std::move(observed.world));
      explanation.probability += account.probability;
    }
    sum += explanation.probability;
  }
  if (sum <= 0) return;
  diagnosis.unexplained /= sum;
  for (RankedExplanation& explanation : diagnosis.explanations) {
    explanation.probability /= sum;
    for (Account& account : explanation.ways) account.probability /= sum;
    std::stable_sort(explanation.ways.begin(), explanation.ways.end(),
                     [](const Account& a, const Account& b) { return a.probability > b.probability; });
    explanation.faults = explanation.ways.front().causes;
    explanation.text = explanation.ways.front().text;
    explanation.written = explanation.ways.front().written;
    explanation.alike.clear();
  }
  std::stable_sort(
      diagnosis.explanations.begin(), diagnosis.explanations.end(),
      [](const RankedExplanation& a, const RankedExplanation& b) { return a.probability > b.probability; });
}

}  // namespace drybus::model
