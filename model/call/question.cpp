#include "model/call/question.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <span>
#include <string_view>

#include "model/call/actions.h"
#include "model/call/words.h"
#include "model/diagnosis/unchanged.h"
#include "model/recovery/aim.h"
#include "model/recovery/rehearsal.h"
#include "model/world/facts.h"
#include "model/world/hidden_state.h"
#include "sim/measurement.h"

namespace drybus::model {

namespace {

/// Less information than this is not worth asking for.
constexpr double least_bits = 0.02;
/// A look that all explanations expect the same of is worth making while something unknown has so much; judgement.
constexpr double worth_a_look = 0.01;
/// So much, and whatever behaves oddly is in question; judgement.
constexpr double much_unknown = 0.05;
/// That what a caller says and nothing explains is so; judgement.
constexpr double chance_of_a_second = 0.2;
/// A report of a check is wrong as often as any other.
constexpr double answer_error = 0.02;
/// Ways that hardly count are left out; of the others so many are asked what they predict.
constexpr double least_share = 0.0005;
constexpr std::size_t most_courses = 32;
constexpr std::size_t most_of_one_cure = 8;
/// No more devices than these are asked about at once.
constexpr std::size_t most_in_question = 12;

/// One way in which things may stand.
struct Course {
  Scenario scenario;
  const World* world = nullptr;
  double weight = 0;
  std::uint32_t cure = 0;  ///< those with one cure need not be told apart
};

bool is_shorted(const World& world) {
  const auto impairments = world.medium.impairments();
  return std::any_of(impairments.begin(), impairments.end(), [](const sim::Medium::Impairment& each) {
    return each.state == sim::LinkState::shorted;
  });
}

/// What is amiss, without that which does not change the cure: what a module holds instead of its address; where a short
/// is, which whoever mends it has to find in any case.
std::string what_to_cure(std::string amiss, bool shorted) {
  constexpr std::string_view broken = " is not sound";
  if (shorted && amiss.ends_with(broken)) return std::string{"shorted"};
  const std::size_t holds = amiss.find(" holds ");
  const std::size_t shall = amiss.find("; it shall hold ");
  if (holds != std::string::npos && shall != std::string::npos && holds < shall)
    amiss.erase(holds, shall - holds);
  return amiss;
}

class Courses {
 public:
  Courses(const Report& report, const Diagnosis& diagnosis)
      : site_(report.believed.site), of_none_(diagnosis.unexplained) {
    for (const std::uint32_t index : diagnosis.odd) odd_.insert(report.seen[index].device);
    for (const RankedExplanation& explanation : diagnosis.explanations) {
      std::map<HiddenState, std::size_t> known;
      for (const Account& account : explanation.ways) {
        const HiddenState state = hidden_state(site_, *account.world);
        if (const auto same = known.find(state); same != known.end()) {
          all_[same->second].weight += account.probability;
        } else if (account.probability >= least_share || known.empty()) {
          known.emplace(state, all_.size());
          all_.push_back({scenario_of(report, account), account.world.get(), account.probability, 0});
        }
      }
    }
    std::stable_sort(all_.begin(), all_.end(),
                     [](const Course& a, const Course& b) { return a.weight > b.weight; });
    sort_by_cure(report);
    choose();
  }

  /// Those that count most.
  [[nodiscard]] std::span<const Course> all() const { return std::span{all_}.first(chosen_); }

  /// What is none of them.
  [[nodiscard]] double of_none() const { return of_none_; }

  /// The share of the likeliest cure.
  [[nodiscard]] double surest() const {
    std::map<std::uint32_t, double> shares;
    double sum = of_none_;
    for (const Course& course : all_) {
      shares[course.cure] += course.weight;
      sum += course.weight;
    }
    double most = 0;
    for (const auto& [cure, share] : shares) most = std::max(most, share);
    return sum > 0 ? most / sum : 0;
  }

  /// Devices that are not the same whatever is true, those that matter most first.
  [[nodiscard]] std::vector<DeviceId> in_question() const {
    if (all_.empty()) return {};
    std::map<DeviceId, double> weights;
    const World& first = *all_.front().world;
    const HiddenState state = hidden_state(site_, first);
    for (const Course& course : all()) {
      for (const DeviceId device : devices_that_differ(site_, state, hidden_state(site_, *course.world)))
        weights[device] += course.weight;
      for (std::size_t i = 0; i < site_.modules.size(); ++i) {
        if (shows_or_hears_otherwise(first, *course.world, i)) weights[site_.module_id(i)] += course.weight;
      }
    }
    // What behaves oddly may do so for a reason that nobody thought of.
    if (of_none_ > much_unknown) {
      for (const DeviceId device : odd_) weights[device] += of_none_;
    }
    std::vector<DeviceId> devices;
    for (const auto& [device, weight] : weights) devices.push_back(device);
    std::stable_sort(devices.begin(), devices.end(),
                     [&](DeviceId a, DeviceId b) { return weights.at(a) > weights.at(b); });
    if (devices.size() > most_in_question) devices.resize(most_in_question);
    std::sort(devices.begin(), devices.end());
    return devices;
  }

 private:
  /// Puts those first that are asked what they predict: the likeliest, but not too many with one cure.
  void choose() {
    std::map<std::uint32_t, std::size_t> of_cure;
    std::vector<Course> others;
    std::vector<Course> chosen;
    for (Course& course : all_) {
      const bool takes_part = chosen.size() < most_courses && of_cure[course.cure]++ < most_of_one_cure;
      (takes_part ? chosen : others).push_back(std::move(course));
    }
    chosen_ = chosen.size();
    all_ = std::move(chosen);
    std::move(others.begin(), others.end(), std::back_inserter(all_));
  }

  void sort_by_cure(const Report& report) {
    std::vector<Possibility> possible;
    for (const Course& course : all_) possible.push_back({&course.scenario, *course.world, course.weight});
    if (possible.empty()) return;
    // What is amiss is compared and taken to pieces.
    const Speaking as_written{nullptr};
    const Aim aim = aim_of(report.believed, possible);
    std::map<std::set<std::string>, std::uint32_t> cures;
    for (Course& course : all_) {
      std::set<std::string> needed;
      for (std::string& each : amiss(course.scenario, aim, *course.world))
        needed.insert(what_to_cure(std::move(each), is_shorted(*course.world)));
      course.cure = cures.emplace(std::move(needed), static_cast<std::uint32_t>(cures.size())).first->second;
    }
  }

  [[nodiscard]] bool shows_or_hears_otherwise(const World& a, const World& b, std::size_t module) const {
    const DeviceId device = site_.module_id(module);
    if ((heading(a.loads[module]) > 0) != (heading(b.loads[module]) > 0)) return true;
    if (a.devices[device].indicator != b.devices[device].indicator) return true;
    for (DeviceId plate = 0; plate < site_.plates.size(); ++plate) {
      if (a.medium.path(site_.network, plate, device) != b.medium.path(site_.network, plate, device))
        return true;
    }
    return false;
  }

  const Site& site_;
  double of_none_;
  std::size_t chosen_ = 0;
  std::set<DeviceId> odd_;
  std::vector<Course> all_;
};

/// What was asked so far: what must not be asked again.
class AskedAlready {
 public:
  explicit AskedAlready(std::span<const CallAnswer> answers) {
    for (const CallAnswer& answer : answers) {
      if (answer.about == Asked::cure) forget();
      if (answer.about != Asked::check) continue;
      ++checks_;
      texts_.insert(answer.question);
      if (answer.answer == "cannot") impossible_.push_back(answer.question);
      for (const SwitchReading& reading : answer.read) read_.insert(reading.plate);
      for (const Seen& seen : answer.seen)
        looked_.insert({action_of(answer.question), {seen.device, seen.fact}});
    }
  }

  [[nodiscard]] bool has(const Question& question) const {
    // Who has read a plate's switches has answered all that can be asked of them.
    if (question.numbers && read_.contains((*question.numbers).plate)) return true;
    if (texts_.contains(question.text)) return true;
    for (const std::string& text : impossible_) {
      if (action_of(text) == question.action) return true;
    }
    return std::any_of(question.yes.begin(), question.yes.end(), [&](const Seen& seen) {
      return looked_.contains({question.action, {seen.device, seen.fact}});
    });
  }
  [[nodiscard]] std::size_t checks() const { return checks_; }
  [[nodiscard]] bool looked_at(DeviceId device) const {
    return std::any_of(looked_.begin(), looked_.end(),
                       [&](const auto& each) { return each.second.first == device; });
  }

 private:
  /// A cure changes what there is to be seen.
  void forget() {
    looked_.clear();
    read_.clear();
  }

  /// What is done stands before the last colon that a question follows.
  static std::string action_of(const std::string& text) {
    const std::size_t mark = text.find('?');
    return text.substr(0, text.rfind(": ", mark));
  }

  std::set<std::string> texts_;
  std::vector<std::string> impossible_;
  std::set<DeviceId> read_;  ///< plates
  std::set<std::pair<std::string, std::pair<DeviceId, Fact>>> looked_;
  std::size_t checks_ = 0;
};

/// What every course answers to one look, in words.
using Outcomes = std::vector<std::string>;

class Choosing {
 public:
  /// `unknown`: what something has that nobody thought of.
  Choosing(const Report& report, const Courses& courses, const AskedAlready& asked, double unknown)
      : site_(report.believed.site), courses_(courses), asked_(asked), unknown_(unknown) {
    for (const Course& course : courses_.all()) {
      weights_.push_back(course.weight);
      cures_.push_back(course.cure);
    }
    // Under something unknown anything may be seen: an answer that all expect speaks against it.
    weights_.push_back(unknown);
    cures_.push_back(~std::uint32_t{0});
  }

  [[nodiscard]] std::optional<Question> best() && { return std::move(best_); }

  void consider_all(const std::vector<CallerAction>& actions) {
    for (std::size_t i = 0; i < actions.size();) {
      std::size_t end = i + 1;
      while (actions[i].row != 0 && end < actions.size() && actions[end].row == actions[i].row) ++end;
      if (actions[i].is_reading) {
        consider_reading(actions[i]);
      } else {
        const std::vector<Rehearsal> after = gone_through(actions[end - 1]);
        for (std::size_t each = i; each < end; ++each) consider(actions[each], after);
      }
      i = end;
    }
  }

 private:
  [[nodiscard]] std::vector<Rehearsal> gone_through(const CallerAction& action) const {
    std::vector<Rehearsal> after;
    for (const Course& course : courses_.all())
      after.push_back(rehearse(course.scenario, *course.world, action.steps, true));
    return after;
  }

  void consider(const CallerAction& action, const std::vector<Rehearsal>& after) {
    for (const DeviceId device : action.lamps) {
      Outcomes shown;
      for (const Rehearsal& each : after)
        shown.emplace_back(to_string(each.answered[action.lamps_after][device]));
      consider_look(action, {device, Fact::indicator, {}, action.lamps_after, false, {}, false}, shown);
    }
    for (const DeviceId device : action.loads) {
      Outcomes loads;
      for (const Rehearsal& each : after)
        loads.emplace_back(heading(each.world.loads[site_.module_index(device)]) > 0 ? "lit" : "dark");
      const auto last = static_cast<std::uint32_t>(action.steps.size() - 1);
      consider_look(action, {device, Fact::load, {}, last, false, {}, false}, loads);
    }
  }

  /// The one of them that tells most as a question of yes and no.
  void consider_look(const CallerAction& action, Seen look, const Outcomes& outcomes) {
    std::map<std::string, double> shares;
    for (std::size_t i = 0; i < outcomes.size(); ++i) shares[outcomes[i]] += weights_[i];
    if (shares.size() < 2 && unknown_ < worth_a_look) return;
    for (const auto& [word, share] : shares) {
      const double bits = bits_of(outcomes, word);
      if (!is_better(bits, action.minutes)) continue;
      look.what = word;
      Question question = question_of(action, look);
      for (const auto& [other, weight] : shares) {
        if (other != word) question.no.push_back(other);
      }
      std::stable_sort(
          question.no.begin(), question.no.end(),
          [&](const std::string& a, const std::string& b) { return shares.at(a) > shares.at(b); });
      take(std::move(question), bits);
    }
  }

  void consider_reading(const CallerAction& action) {
    const DeviceId plate = action.lamps.front();
    Outcomes numbers;
    std::map<std::string, SwitchReading> known;
    for (const Course& course : courses_.all()) {
      const PlateState& state = course.world->plates[plate];
      numbers.push_back(fmt::format("site {}, zone {}", state.site, state.zone));
      known[numbers.back()] = {plate, state.site, state.zone, {}};
    }
    if (known.size() < 2) return;
    for (const auto& each : known) {
      const std::string& word = each.first;
      const SwitchReading& reading = each.second;
      const double bits = bits_of(numbers, word);
      if (!is_better(bits, action.minutes)) continue;
      Question question;
      put_into(question, action.words, worded([&](const auto& in) {
                 return tr("{}: do they show site {}, zone {}?", in(action.words), reading.site,
                           reading.zone);
               }));
      question.steps = action.steps;
      question.minutes = action.minutes;
      question.numbers = reading;
      take(std::move(question), bits);
    }
  }

  [[nodiscard]] double bits_of(const Outcomes& outcomes, const std::string& word) const {
    std::vector<std::uint32_t> says;
    for (const std::string& each : outcomes) says.push_back(each == word ? 0 : 1);
    says.push_back(sim::any_outcome);
    return sim::information_bits({weights_, cures_, says, 2, answer_error});
  }

  [[nodiscard]] bool is_better(double bits, double minutes) const {
    return bits >= least_bits && (!best_ || bits / minutes > best_->bits / best_->minutes);
  }

  void take(Question question, double bits) {
    if (asked_.has(question)) return;
    question.bits = bits;
    best_ = std::move(question);
  }

  [[nodiscard]] Question question_of(const CallerAction& action, const Seen& look) const {
    Question question;
    question.steps = action.steps;
    question.minutes = action.minutes;
    question.yes = {look};
    put_into(question, action.words, worded([&](const auto& in) {
               const std::string text = tr("{}: {}?", in(action.words), asks(action, look));
               return in(action.after).empty() ? text : text + " " + in(action.after);
             }));
    return question;
  }

  [[nodiscard]] std::string asks(const CallerAction& action, const Seen& look) const {
    const std::string name = called(site_, look.device);
    if (look.fact == Fact::indicator) return lamp_question(tr("the lamp of {}", name), look.what);
    const bool looks_only = std::all_of(action.steps.begin(), action.steps.end(), [](const Step& step) {
      return step.kind == StepKind::wait || step.kind == StepKind::walk;
    });
    return looks_only ? tr("is {} {}", name, load_is(look.what))
                      : tr("is {} {} then", name, load_is(look.what));
  }

  const Site& site_;
  const Courses& courses_;
  const AskedAlready& asked_;
  double unknown_;
  std::vector<double> weights_;
  std::vector<std::uint32_t> cures_;
  std::optional<Question> best_;
};

PlaceId stands_at(const Report& report, const Diagnosis& diagnosis) {
  if (diagnosis.explanations.empty()) return report.believed.people.front().place;
  return diagnosis.explanations.front().ways.front().world->people.front().place;
}

/// Whether the same thing was looked at again since.
bool seen_later(const Report& report, const Seen& seen) {
  const auto when = [](const Seen& each) { return each.after_step.value_or(~std::uint32_t{0}); };
  return std::any_of(report.seen.begin(), report.seen.end(), [&](const Seen& other) {
    return other.device == seen.device && other.fact == seen.fact && when(other) > when(seen);
  });
}

std::string asked_to_look_again(const Site& site, const Seen& seen) {
  if (site.places.size() < 2)
    return tr("You said that {}, and nothing that is known leads to that. Look again", said(site, seen));
  return tr("You said that {}, and nothing that is known leads to that. In the {}, look again",
            said(site, seen), site.places[site.place(seen.device)].name);
}

/// Nobody cures by an explanation that takes a caller to be wrong before that was looked at: it may be a second trouble.
std::optional<Question> look_at_what_was_left_aside(const Report& report, const Diagnosis& diagnosis,
                                                    const Courses& courses, const AskedAlready& asked) {
  if (diagnosis.explanations.empty()) return std::nullopt;
  std::set<DeviceId> left_aside;
  for (const std::uint32_t index : diagnosis.explanations.front().contradicted) {
    if (!asked.looked_at(report.seen[index].device)) left_aside.insert(report.seen[index].device);
  }
  if (left_aside.empty()) return std::nullopt;
  Choosing choosing{report, courses, asked, std::max(courses.of_none(), chance_of_a_second)};
  choosing.consider_all(
      caller_actions(report.believed, {left_aside.begin(), left_aside.end()}, stands_at(report, diagnosis)));
  return std::move(choosing).best();
}

}  // namespace

void put_into(Question& question, const Wording& action, const Wording& text) {
  question.action = action.written;
  question.text = text.written;
  question.told = text.told;
}

std::optional<Question> next_question(const Report& report, const Diagnosis& diagnosis,
                                      std::span<const CallAnswer> answers, const AskingOptions& options) {
  const Courses courses{report, diagnosis};
  const AskedAlready asked{answers};
  if (asked.checks() >= options.most_checks) return std::nullopt;
  if (courses.surest() >= options.enough)
    return look_at_what_was_left_aside(report, diagnosis, courses, asked);
  Choosing choosing{report, courses, asked, courses.of_none()};
  choosing.consider_all(caller_actions(report.believed, courses.in_question(), stands_at(report, diagnosis)));
  if (auto best = std::move(choosing).best()) return best;
  return look_at_what_was_left_aside(report, diagnosis, courses, asked);
}

std::optional<Question> look_again(const Report& report, const Diagnosis& diagnosis,
                                   std::span<const CallAnswer> answers) {
  const Site& site = report.believed.site;
  std::vector<std::uint32_t> against = diagnosis.conflict;
  if (against.empty() && !diagnosis.explanations.empty())
    against = diagnosis.explanations.front().contradicted;
  for (const std::uint32_t index : against) {
    const Seen& seen = report.seen[index];
    // Nobody can look again at what did not happen.
    if (seen_later(report, seen) || seen.what == as_it_was) continue;
    Question question;
    question.about = Asked::again;
    const Wording action = worded([&](const auto&) { return asked_to_look_again(site, seen); });
    put_into(question, action, worded([&](const auto& in) { return tr("{}: is it so?", in(action)); }));
    const bool asked = std::any_of(answers.begin(), answers.end(), [&](const CallAnswer& answer) {
      return answer.about == Asked::again && answer.question == question.text;
    });
    if (asked) continue;
    question.steps = {waiting(asking_time), walking(site.place(seen.device)),
                      waiting(std::chrono::seconds{3})};
    question.yes = {{seen.device, seen.fact, seen.what, 2, false, {}, false}};
    if (seen.fact == Fact::load) question.no = {seen.what == "dark" ? "lit" : "dark"};
    return question;
  }
  return std::nullopt;
}

}  // namespace drybus::model
