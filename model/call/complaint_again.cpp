#include "model/call/complaint_again.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "model/call/actions.h"
#include "model/call/words.h"
#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/recovery/rehearsal.h"
#include "model/recovery/words.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// A load has faded, and what was brought out of setup is dark.
constexpr sim::Duration looked_after = 2s;

bool is_push(const Step& step) {
  return step.kind == StepKind::press || step.kind == StepKind::hold;
}

bool same_push(const Step& a, const Step& b) {
  return a.device == b.device && a.buttons == b.buttons;
}

class Repeating {
 public:
  Repeating(const Report& told, const World& sound)
      : scenario_(told.believed), site_(scenario_.site), sound_(sound) {}

  /// Nothing where it cannot be done again by itself.
  [[nodiscard]] std::optional<Question> repeat(const Seen& complaint) const {
    Question question;
    question.about = Asked::proof;
    question.steps = {waiting(asking_time)};
    Wording action;
    if (!do_again(complaint, question, action)) return std::nullopt;
    const auto last = static_cast<std::uint32_t>(question.steps.size() - 1);
    const Rehearsal after = rehearse(scenario_, sound_, question.steps, true);
    Seen right{complaint.device, complaint.fact, {}, last, false, {}, false};
    right.what = complaint.fact == Fact::indicator
                     ? std::string{to_string(after.shown[last][complaint.device])}
                     : load_of(after.world, complaint);
    // Whatever was complained of comes back by itself, or it was nothing.
    if (right.what == complaint.what) return std::nullopt;
    put_into(question, action,
             worded([&](const auto& in) { return tr("{}: {}?", in(action), asks(right)); }));
    if (complaint.fact == Fact::load) question.no = {right.what == "lit" ? "dark" : "lit"};
    question.yes = {std::move(right)};
    return question;
  }

 private:
  /// As the complaint has it: lit or dark, or how much.
  [[nodiscard]] std::string load_of(const World& world, const Seen& complaint) const {
    const Level level = heading(world.loads[site_.module_index(complaint.device)]);
    if (level == 0) return "dark";
    return complaint.what.ends_with('%') ? percent_text(level) : "lit";
  }

  [[nodiscard]] std::string asks(const Seen& right) const {
    const std::string name = called(site_, right.device);
    if (right.fact == Fact::indicator) return lamp_question(tr("the lamp of {}", name), right.what);
    return tr("is {} {} now", name, load_is(right.what));
  }

  [[nodiscard]] bool do_again(const Seen& complaint, Question& question, Wording& action) const {
    const Step* before = before_it(complaint);
    const bool of_lamp = complaint.fact == Fact::indicator;
    if (before == nullptr || (of_lamp && !complaint.after_step)) return look(complaint, question, action);
    if (before->kind == StepKind::power) return cut_again(*before, complaint, question, action);
    // A lamp answers for a moment only, which the channels of the proof have shown.
    if (of_lamp || in_setup(*before)) return false;
    return push_again(*before, complaint, question, action);
  }

  /// What was pressed or switched last before what was seen.
  [[nodiscard]] const Step* before_it(const Seen& complaint) const {
    const auto& script = scenario_.people.front().script;
    std::size_t end = script.size();
    if (complaint.after_step) end = std::min<std::size_t>(end, *complaint.after_step + 1);
    while (end-- > 0) {
      if (is_push(script[end]) || (script[end].kind == StepKind::power && script[end].on))
        return &script[end];
    }
    return nullptr;
  }

  /// Whether, as it was told, the plate was in setup when this was pressed.
  [[nodiscard]] bool in_setup(const Step& push) const {
    if (!site_.is_plate(push.device)) return false;
    const PlateFamily& family = site_.plate_family(push.device);
    bool in = false;
    for (const Step& step : scenario_.people.front().script) {
      if (&step == &push) break;
      if (step.kind == StepKind::power && !step.on) in = false;
      if (!is_push(step) || step.device != push.device) continue;
      if (step.buttons == family.setup_gesture && step.duration >= family.setup_hold) in = true;
      if (step.buttons == only(family.leave)) in = false;
    }
    return in;
  }

  [[nodiscard]] bool look(const Seen& complaint, Question& question, Wording& action) const {
    action = worded([&](const auto&) {
      return site_.places.size() < 2
                 ? tr("Look once more")
                 : tr("In the {}, look once more", site_.places[site_.place(complaint.device)].name);
    });
    question.steps.push_back(walking(site_.place(complaint.device)));
    question.steps.push_back(waiting(looked_after));
    return true;
  }

  [[nodiscard]] bool push_again(const Step& push, const Seen& complaint, Question& question,
                                Wording& action) const {
    if (site_.is_neighbour(push.device)) return false;
    const bool of_plate = site_.is_plate(push.device);
    const auto button = of_plate ? family_button(site_.plate_family(push.device), push) : std::nullopt;
    // Else it is into setup.
    if (of_plate ? !button : push.kind != StepKind::press) return false;
    action = worded([&](const auto&) {
      return done_in(site_, site_.place(push.device),
                     of_plate ? tr("press {} on {}", spoken_button(site_.plate_family(push.device), *button),
                                   called(site_, push.device))
                              : tr("press {} of {} briefly, once", local_button_text(site_, push.device),
                                   called(site_, push.device)));
    });
    question.steps.push_back(push);
    const PlaceId place = site_.place(complaint.device);
    if (place != site_.place(push.device)) {
      action = worded([&, there = action](const auto& in) {
        return tr("{} and go to the {}", in(there), site_.places[place].name);
      });
      question.steps.push_back(walking(place));
    }
    question.steps.push_back(waiting(looked_after));
    return true;
  }

  /// A button that by itself switches something with a short press.
  [[nodiscard]] static std::optional<Button> family_button(const PlateFamily& family, const Step& push) {
    for (std::size_t each = 0; each < family.buttons.size(); ++each) {
      const auto button = static_cast<Button>(each);
      if (push.kind == StepKind::press && push.buttons == only(button) &&
          family.press[each].command != Command::nothing)
        return button;
    }
    return std::nullopt;
  }

  [[nodiscard]] bool cut_again(const Step& on, const Seen& complaint, Question& question,
                               Wording& action) const {
    action = worded([&](const auto&) {
      if (on.device == no_device) {
        return tr(
            "Have the supply switched off where it is isolated, and on again after five seconds. Touch "
            "no wiring and open nothing. {} Then",
            in_words_spoken(safety_caution));
      }
      return tr(
          "Have the supply of {} switched off where it is isolated, and on again after five seconds. "
          "Touch no wiring and open nothing. {} Then",
          called(site_, on.device), in_words_spoken(safety_caution));
    });
    Step off = on;
    off.on = false;
    question.steps.push_back(walking(site_.place(complaint.device)));
    question.steps.push_back(off);
    question.steps.push_back(waiting(5s));
    question.steps.push_back(on);
    question.steps.push_back(waiting(looked_after));
    return true;
  }

  const Scenario& scenario_;
  const Site& site_;
  const World& sound_;
};

/// The same press, and the same thing looked at.
bool is_in(const Question& question, const std::vector<Question>& asked) {
  const auto push_of = [](const Question& each) {
    return std::find_if(each.steps.begin(), each.steps.end(), is_push);
  };
  return std::any_of(asked.begin(), asked.end(), [&](const Question& other) {
    const auto a = push_of(question);
    const auto b = push_of(other);
    const bool same = (a == question.steps.end()) == (b == other.steps.end()) &&
                      (a == question.steps.end() || same_push(*a, *b));
    return same && std::any_of(other.yes.begin(), other.yes.end(), [&](const Seen& seen) {
             return seen.device == question.yes.front().device && seen.fact == question.yes.front().fact &&
                    seen.what == question.yes.front().what;
           });
  });
}

}  // namespace

std::vector<Question> complaints_again(const Report& told, const World& sound,
                                       const std::vector<Question>& asked) {
  std::vector<Question> again;
  const Repeating repeating{told, sound};
  for (const Seen& seen : told.seen) {
    if (!seen.believed) continue;
    auto question = repeating.repeat(seen);
    if (question && !is_in(*question, asked) && !is_in(*question, again))
      again.push_back(std::move(*question));
  }
  return again;
}

}  // namespace drybus::model
