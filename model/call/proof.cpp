#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "model/call/actions.h"
#include "model/call/guide.h"
#include "model/call/told.h"
#include "model/call/words.h"
#include "model/planning/ways_into_setup.h"
#include "model/record/describe.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// Off, on, and every channel, plate by plate; then a look across at what each of them is to leave alone.
class Proving {
 public:
  Proving(const Report& report, const Aim& aim)
      : scenario_(report.believed), site_(scenario_.site), aim_(aim) {}

  std::vector<Question> all() {
    for (DeviceId plate = 0; plate < site_.plates.size(); ++plate) {
      modules_.clear();
      if (site_.is_neighbour(plate)) continue;
      for (std::size_t i = 0; i < site_.modules.size(); ++i) {
        const auto& address = aim_.addresses[i];
        if (!site_.modules[i].neighbour && address &&
            PlateSetting{address->site, address->zone} == setting(plate))
          modules_.push_back(site_.module_id(i));
      }
      if (modules_.empty()) continue;
      switch_all(plate, Command::off, "dark");
      switch_all(plate, Command::on, "lit");
      if (served_.insert(setting(plate)).second) {
        zones_.emplace_back(plate, modules_);
        step_through(plate);
      }
    }
    look_across();
    return std::move(questions_);
  }

 private:
  [[nodiscard]] const PlateFamily& family(DeviceId plate) const { return site_.plate_family(plate); }
  [[nodiscard]] PlateSetting setting(DeviceId plate) const { return aim_.plates[plate]; }
  [[nodiscard]] std::string button(DeviceId plate, Button which) const {
    return spoken_button(family(plate), which);
  }
  [[nodiscard]] Step press(DeviceId device, Buttons buttons) const {
    return pressing(device, buttons, scenario_.times);
  }

  void ask(const Wording& action, const Wording& asks, std::vector<Step> steps, std::vector<Seen> yes) {
    Question question;
    question.about = Asked::proof;
    put_into(question, action, worded([&](const auto& in) { return tr("{}: {}?", in(action), in(asks)); }));
    question.steps = std::move(steps);
    question.yes = std::move(yes);
    if (question.yes.size() == 1 && question.yes[0].fact == Fact::load)
      question.no = {question.yes[0].what == "lit" ? "dark" : "lit"};
    questions_.push_back(std::move(question));
  }

  [[nodiscard]] std::string names(const std::vector<DeviceId>& devices) const {
    std::vector<std::string> all;
    for (const DeviceId device : devices) all.push_back(called(site_, device));
    return fmt::format("{}", fmt::join(all, ", "));
  }

  void switch_all(DeviceId plate, Command command, const std::string& what) {
    const auto which = button_that(family(plate), command);
    if (!which) return;
    std::map<PlaceId, std::vector<DeviceId>> rooms;
    for (const DeviceId module : modules_) rooms[site_.place(module)].push_back(module);
    for (const auto& room : rooms) {
      const PlaceId place = room.first;
      const std::vector<DeviceId>& devices = room.second;
      const bool here = place == site_.place(plate);
      std::vector<Step> steps = {waiting(asking_time), press(plate, only(*which))};
      if (!here) steps.push_back(walking(place));
      steps.push_back(waiting(2s));
      std::vector<Seen> yes;
      for (const DeviceId module : devices)
        yes.push_back(
            {module, Fact::load, what, static_cast<std::uint32_t>(steps.size() - 1), false, {}, false});
      const Wording action = worded([&](const auto&) {
        const std::string press = pressing_there(plate, *which);
        return here ? press : tr("{} and go to the {}", press, site_.places[place].name);
      });
      ask(action, worded([&](const auto&) {
            return devices.size() > 1 ? tr("are all of these {}: {}", load_is(what), names(devices))
                                      : tr("is {} {}", names(devices), load_is(what));
          }),
          std::move(steps), std::move(yes));
    }
  }

  /// All is on by now. What one plate puts out leaves what the others serve as it is; else two of them have one number, which
  /// no look with a plate's own lights shows.
  void look_across() {
    for (std::size_t zone = 0; zone + 1 < zones_.size(); ++zone) {
      const auto off = button_that(family(zones_[zone].first), Command::off);
      if (!off) continue;
      std::map<PlaceId, std::vector<DeviceId>> rooms;
      for (std::size_t other = zone + 1; other < zones_.size(); ++other) {
        for (const DeviceId module : zones_[other].second) rooms[site_.place(module)].push_back(module);
      }
      bool pressed = false;
      for (const auto& [place, devices] : rooms) {
        ask_for_the_others(pressed ? std::nullopt : off, zones_[zone].first, place, devices);
        pressed = true;
      }
    }
  }

  void ask_for_the_others(const std::optional<Button>& off, DeviceId plate, PlaceId place,
                          const std::vector<DeviceId>& devices) {
    std::vector<Step> steps = {waiting(asking_time)};
    if (off) steps.push_back(press(plate, only(*off)));
    const bool goes = !off || place != site_.place(plate);
    if (goes) steps.push_back(walking(place));
    const Wording action = worded([&](const auto&) {
      if (!off) return tr("Go on to the {}", site_.places[place].name);
      const std::string press = pressing_there(plate, *off);
      return goes ? tr("{} and go to the {}", press, site_.places[place].name) : press;
    });
    steps.push_back(waiting(2s));
    std::vector<Seen> yes;
    for (const DeviceId module : devices)
      yes.push_back(
          {module, Fact::load, "lit", static_cast<std::uint32_t>(steps.size() - 1), false, {}, false});
    ask(action, worded([&](const auto&) {
          return devices.size() > 1 ? tr("are all of these still on: {}", names(devices))
                                    : tr("is {} still on", names(devices));
        }),
        std::move(steps), std::move(yes));
  }

  [[nodiscard]] std::string pressing_there(DeviceId plate, Button which) const {
    return done_in(site_, site_.place(plate),
                   tr("press {} on {}", button(plate, which), called(site_, plate)));
  }
  [[nodiscard]] Wording lamp_asked(DeviceId device, std::string_view what) const {
    return worded(
        [&](const auto&) { return lamp_question(tr("the lamp of {}", called(site_, device)), what); });
  }

  void step_through(DeviceId plate) {
    std::vector<DeviceId> by_channel = modules_;
    std::stable_sort(by_channel.begin(), by_channel.end(),
                     [this](DeviceId a, DeviceId b) { return channel(a) < channel(b); });
    enter(plate);
    for (const DeviceId module : by_channel) {
      const int presses = std::max(1, channel(module) - stands_at_);
      if (family(plate).time_out.from == CountedFrom::entry && stands_at_ > 0 &&
          in_setup_for_ + needed(presses) > family(plate).time_out.after * 3 / 4) {
        // Before it ends by itself.
        leave(plate);
        enter(plate);
      }
      in_setup_for_ += needed(std::max(1, channel(module) - stands_at_));
      show_itself(plate, module, channel(module) - stands_at_);
      stands_at_ = channel(module);
    }
    leave(plate);
  }

  [[nodiscard]] sim::Duration needed(int presses) const {
    return asking_time + presses * (scenario_.times.press + scenario_.times.pause);
  }

  void enter(DeviceId plate) {
    stands_at_ = first_channel(family(plate));
    in_setup_for_ = {};
    ask(worded([&](const auto&) {
          return done_in(site_, site_.place(plate),
                         tr("hold {} on {} for {}", setup_gesture_text(site_, plate), called(site_, plate),
                            duration_text(family(plate).setup_hold + held_on)));
        }),
        lamp_asked(plate, "blink"),
        {waiting(asking_time),
         push_step(StepKind::hold, plate, family(plate).setup_gesture, family(plate).setup_hold + held_on)},
        {{plate, Fact::indicator, "blink", 1, false, {}, false}});
  }

  void leave(DeviceId plate) {
    ask(worded([&](const auto&) {
          return tr("Press {} on {}", button(plate, family(plate).leave), called(site_, plate));
        }),
        lamp_asked(plate, "dark"),
        {waiting(asking_time), press(plate, only(family(plate).leave)), waiting(1s)},
        {{plate, Fact::indicator, "dark", 2, false, {}, false}});
  }

  [[nodiscard]] int channel(DeviceId module) const {
    return aim_.addresses[site_.module_index(module)]->channel;
  }

  [[nodiscard]] std::string standing(DeviceId plate, DeviceId module, int more) const {
    const std::string who = called(site_, plate);
    const std::string next = button(plate, family(plate).next);
    if (more == 0) {
      return tr("Press {} on {}: it stays at channel {}", button(plate, family(plate).identify), who,
                channel(module));
    }
    if (more == 1) return tr("Press {} on {} once: it stands at channel {}", next, who, channel(module));
    return tr("Press {} on {} {} times: it stands at channel {}", next, who, more, channel(module));
  }

  void show_itself(DeviceId plate, DeviceId module, int more) {
    std::vector<Step> steps = {waiting(asking_time)};
    for (int i = 0; i < more; ++i) steps.push_back(press(plate, only(family(plate).next)));
    if (more == 0) steps.push_back(press(plate, only(family(plate).identify)));
    const auto last = static_cast<std::uint32_t>(steps.size() - 1);
    const Wording stands = worded([&](const auto&) { return standing(plate, module, more); });
    const Wording action = worded([&](const auto& in) {
      if (site_.place(module) == site_.place(plate)) return std::string{in(stands)};
      return tr("{}. Somebody has to stand in the {} for this", in(stands),
                site_.places[site_.place(module)].name);
    });
    const Wording lamp = lamp_asked(module, "steady");
    ask(action,
        worded([&](const auto& in) { return tr("{} now, for a moment, and that of no other", in(lamp)); }),
        std::move(steps), {{module, Fact::indicator, "steady", last, false, {}, false}});
  }

  const Scenario& scenario_;
  const Site& site_;
  const Aim& aim_;
  std::vector<DeviceId> modules_;  ///< of the plate in hand
  std::set<PlateSetting> served_;  ///< whose channels were gone through
  std::vector<std::pair<DeviceId, std::vector<DeviceId>>>
      zones_;          ///< a plate of each of them, with its modules
  int stands_at_ = 0;  ///< the channel of the plate that is in setup
  sim::Duration in_setup_for_{};
  std::vector<Question> questions_;
};

}  // namespace

std::vector<Question> proof_of(const Report& report, const Aim& aim) {
  return Proving{report, aim}.all();
}

}  // namespace drybus::model
