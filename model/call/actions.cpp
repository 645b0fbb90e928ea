#include "model/call/actions.h"

#include <algorithm>
#include <set>

#include "model/call/told.h"
#include "model/call/words.h"
#include "model/findings/findings.h"
#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/recovery/words.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// Finding and using an isolator; reading switches that may have to be opened for it. Judgement.
constexpr double isolating_minutes = 5;
constexpr double reading_minutes = 3;
/// A load has faded, and a press had its answer.
constexpr sim::Duration answer_time = 1500ms;
/// Into a blip, after the telegram for it.
constexpr sim::Duration beacon_seen = 200ms;
constexpr std::size_t most_plates = 8;

class Actions {
 public:
  Actions(const Scenario& scenario, const std::vector<DeviceId>& in_question, PlaceId from)
      : scenario_(scenario), site_(scenario.site), from_(from) {
    for (const DeviceId device : in_question) {
      if (!site_.is_neighbour(device)) (site_.is_plate(device) ? plates_ : modules_).push_back(device);
    }
  }

  std::vector<CallerAction> all() {
    std::set<PlaceId> places;
    for (const DeviceId device : modules_) places.insert(site_.place(device));
    for (const DeviceId device : plates_) places.insert(site_.place(device));
    for (const PlaceId place : places) look_round(place);
    for (const DeviceId module : modules_) at_module(module);
    for (const DeviceId plate : plates_) read_switches(plate);
    for (const DeviceId plate : plates_to_press()) {
      for (const Command command : {Command::on, Command::off}) press_plate(plate, command, places);
      put_in_setup(plate);
      for (const PlaceId place : places) watch_for_beacons(plate, place);
      step_through_channels(plate);
    }
    return std::move(actions_);
  }

 private:
  [[nodiscard]] const PlateFamily& family(DeviceId plate) const { return site_.plate_family(plate); }
  [[nodiscard]] Step press(DeviceId device, Buttons buttons) const {
    return pressing(device, buttons, scenario_.times);
  }
  [[nodiscard]] std::string button(DeviceId plate, Button which) const {
    return spoken_button(family(plate), which);
  }

  [[nodiscard]] std::string gesture(DeviceId plate) const { return setup_gesture_text(site_, plate); }

  [[nodiscard]] std::string here(DeviceId device, const std::string& what) const {
    return done_in(site_, site_.place(device), what);
  }

  CallerAction& add(CallerAction action, double more_minutes = 0) {
    action.steps.insert(action.steps.begin(), waiting(asking_time));
    ++action.lamps_after;
    const Person person{"", from_, action.steps};
    action.minutes = sim::seconds(timetable(site_, scenario_.times, person).ends) / 60 + more_minutes;
    return actions_.emplace_back(std::move(action));
  }

  [[nodiscard]] std::vector<DeviceId> of_place(const std::vector<DeviceId>& devices, PlaceId place) const {
    std::vector<DeviceId> there;
    for (const DeviceId device : devices) {
      if (site_.place(device) == place) there.push_back(device);
    }
    return there;
  }

  void look_round(PlaceId place) {
    CallerAction look;
    look.words = worded([&](const auto&) {
      return site_.places.size() < 2 ? tr("Look round")
                                     : tr("In the {}, look round", site_.places[place].name);
    });
    look.steps = {walking(place), waiting(3s)};
    look.lamps_after = 1;
    look.lamps = of_place(modules_, place);
    for (const DeviceId plate : of_place(plates_, place)) look.lamps.push_back(plate);
    look.loads = of_place(modules_, place);
    add(std::move(look));
  }

  void at_module(DeviceId module) {
    if (!site_.module_family(module).button.empty()) at_its_button(module);

    CallerAction cycle;
    cycle.words = worded([&](const auto&) {
      return here(module, tr("have the supply of {} switched off at its isolator, and on again after five "
                             "seconds. Touch no wiring and open nothing. {} Now",
                             called(site_, module), in_words_spoken(safety_caution)));
    });
    Step off = walking(site_.place(module));
    off.kind = StepKind::power;
    off.device = module;
    off.on = false;
    Step on = off;
    on.on = true;
    cycle.steps = {walking(site_.place(module)), off, waiting(5s), on, waiting(1s)};
    cycle.loads = {module};
    add(std::move(cycle), isolating_minutes);
  }

  void at_its_button(DeviceId module) {
    CallerAction local;
    local.words = worded([&](const auto&) {
      return here(module, tr("press {} of {} briefly, once", local_button_text(site_, module),
                             called(site_, module)));
    });
    local.steps = {press(module, only(0)), waiting(answer_time)};
    local.loads = {module};
    add(std::move(local));

    const sim::Duration long_enough = site_.setup_hold(module) + held_on;
    CallerAction hold;
    hold.words = worded([&](const auto&) {
      return here(module, tr("hold {} of {} for {}", local_button_text(site_, module), called(site_, module),
                             duration_text(long_enough)));
    });
    hold.after = worded([](const auto&) {
      return tr("Afterwards press it once, briefly, so that it does not wait for an address.");
    });
    hold.steps = {push_step(StepKind::hold, module, only(0), long_enough), press(module, only(0))};
    hold.lamps = {module};
    add(std::move(hold));
  }

  void read_switches(DeviceId plate) {
    CallerAction read;
    read.words = worded([&](const auto&) {
      return here(plate, tr("read the switches of {} where they can be read without opening anything that "
                            "carries mains (if it has to be opened: {})",
                            called(site_, plate), in_words_spoken(safety_caution)));
    });
    read.steps = {walking(site_.place(plate))};
    read.lamps = {plate};
    read.is_reading = true;
    add(std::move(read), reading_minutes);
  }

  /// Those in question, those beside what is in question, those that are meant for it; not very many.
  [[nodiscard]] std::vector<DeviceId> plates_to_press() const {
    std::vector<DeviceId> plates;
    for (DeviceId plate = 0; plate < site_.plates.size(); ++plate) {
      const PlateSpec& spec = site_.plates[plate];
      const bool matters = std::find(plates_.begin(), plates_.end(), plate) != plates_.end() ||
                           std::any_of(modules_.begin(), modules_.end(), [&](DeviceId module) {
                             const auto& intended = site_.modules[site_.module_index(module)].intended;
                             return site_.place(module) == spec.place ||
                                    (intended && intended->site == spec.site && intended->zone == spec.zone);
                           });
      if (!spec.neighbour && matters && plates.size() < most_plates) plates.push_back(plate);
    }
    return plates;
  }

  void press_plate(DeviceId plate, Command command, const std::set<PlaceId>& places) {
    const auto which = button_that(family(plate), command);
    if (!which) return;
    const Wording words = worded([&](const auto&) {
      return here(plate, tr("press {} on {}", button(plate, *which), called(site_, plate)));
    });
    CallerAction there;
    there.words = words;
    there.steps = {press(plate, only(*which)), waiting(answer_time)};
    there.lamps = of_place(modules_, site_.place(plate));
    there.loads = there.lamps;
    add(std::move(there));
    for (const PlaceId place : places) {
      if (place == site_.place(plate) || of_place(modules_, place).empty()) continue;
      CallerAction elsewhere;
      elsewhere.words = worded(
          [&](const auto& in) { return tr("{}, then go to the {}", in(words), site_.places[place].name); });
      elsewhere.steps = {press(plate, only(*which)), walking(place), waiting(1s)};
      elsewhere.loads = of_place(modules_, place);
      add(std::move(elsewhere));
    }
  }

  [[nodiscard]] Wording leaving(DeviceId plate) const {
    return worded([&](const auto&) {
      return tr("Afterwards press {} on {}: it is out of setup then.", button(plate, family(plate).leave),
                called(site_, plate));
    });
  }

  [[nodiscard]] Step gesture_of(DeviceId plate) const {
    return push_step(StepKind::hold, plate, family(plate).setup_gesture, family(plate).setup_hold + held_on);
  }

  void put_in_setup(DeviceId plate) {
    CallerAction hold;
    hold.words = worded([&](const auto&) {
      return here(plate, tr("hold {} on {} for {}", gesture(plate), called(site_, plate),
                            duration_text(family(plate).setup_hold + held_on)));
    });
    hold.after = leaving(plate);
    hold.steps = {gesture_of(plate), press(plate, only(family(plate).leave))};
    hold.lamps = of_place(modules_, site_.place(plate));
    hold.lamps.push_back(plate);
    add(std::move(hold));
  }

  /// A plate in setup sends again and again: whoever hears it blips, in whatever room, as long as somebody likes to watch.
  void watch_for_beacons(DeviceId plate, PlaceId place) {
    const sim::Duration every = family(plate).beacon;
    const std::vector<DeviceId> there = of_place(modules_, place);
    if (there.empty() || every <= sim::Duration::zero()) return;
    CallerAction watch;
    watch.steps = {waiting(asking_time), gesture_of(plate), walking(place), waiting(sim::Duration::zero())};
    const Timetable times = timetable(site_, scenario_.times, {"", from_, watch.steps});
    const sim::Duration since =
        times.ends - times.begins[1] - site_.walk(from_, site_.place(plate)) - family(plate).setup_hold;
    // However long the way took: one comes meanwhile. The look is over when one has just come.
    const sim::Duration watched = (since / every + 2) * every + beacon_seen - since;
    watch.words = worded([&](const auto&) { return here(plate, watching(plate, place, watched)); });
    watch.after = leaving(plate);
    watch.steps = {gesture_of(plate), walking(place), waiting(watched),
                   press(plate, only(family(plate).leave))};
    watch.lamps_after = 2;
    watch.lamps = there;
    add(std::move(watch));
  }

  [[nodiscard]] std::string watching(DeviceId plate, PlaceId place, sim::Duration watched) const {
    if (place == site_.place(plate)) {
      return tr("hold {} on {} until its lamp blinks, and watch for {:.0f} s", gesture(plate),
                called(site_, plate), sim::seconds(watched));
    }
    return tr("hold {} on {} until its lamp blinks, then go to the {}, and watch for {:.0f} s",
              gesture(plate), called(site_, plate), site_.places[place].name, sim::seconds(watched));
  }

  [[nodiscard]] std::string stepping(DeviceId plate, int channel, sim::Duration between) const {
    const std::string next = button(plate, family(plate).next);
    if (channel == 1) {
      return tr("hold {} on {} until its lamp blinks, then press {} once", gesture(plate),
                called(site_, plate), next);
    }
    return tr("hold {} on {} until its lamp blinks, then press {} {} times, with {} between", gesture(plate),
              called(site_, plate), next, channel, duration_text(between));
  }

  void step_through_channels(DeviceId plate) {
    const std::vector<DeviceId> there = of_place(modules_, site_.place(plate));
    std::uint8_t last = 0;
    for (const ModuleSpec& module : site_.modules) {
      if (module.intended && !module.neighbour) last = std::max(last, module.intended->channel);
    }
    if (there.empty()) return;
    const sim::Duration since_identified = std::chrono::ceil<std::chrono::seconds>(site_.longest(
                                               [](const Family& each) { return each.indicator.identify; })) +
                                           1s;
    for (std::uint8_t channel = 1; channel <= std::min(last, family(plate).channels); ++channel) {
      CallerAction identify;
      identify.words =
          worded([&](const auto&) { return here(plate, stepping(plate, channel, since_identified)); });
      identify.after = leaving(plate);
      identify.steps = {gesture_of(plate)};
      for (std::uint8_t i = 0; i < channel; ++i) {
        // Who was called before no longer shows it, however quick somebody is.
        if (i > 0) identify.steps.push_back(waiting(since_identified));
        identify.steps.push_back(press(plate, only(family(plate).next)));
      }
      identify.lamps_after = static_cast<std::uint32_t>(identify.steps.size() - 1);
      identify.steps.push_back(press(plate, only(family(plate).leave)));
      identify.lamps = there;
      identify.row = plate + 1u;
      add(std::move(identify));
    }
  }

  const Scenario& scenario_;
  const Site& site_;
  PlaceId from_;
  std::vector<DeviceId> plates_;
  std::vector<DeviceId> modules_;
  std::vector<CallerAction> actions_;
};

}  // namespace

Step waiting(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

Step walking(PlaceId place) {
  Step step;
  step.kind = StepKind::walk;
  step.place = place;
  return step;
}

Step pressing(DeviceId device, Buttons buttons, const HumanTimes& times) {
  return push_step(StepKind::press, device, buttons, times.press);
}

std::optional<Button> button_that(const PlateFamily& family, Command command) {
  for (std::size_t button = 0; button < family.buttons.size(); ++button) {
    if (family.press[button].gives(command)) return static_cast<Button>(button);
  }
  return std::nullopt;
}

std::vector<CallerAction> caller_actions(const Scenario& scenario, const std::vector<DeviceId>& in_question,
                                         PlaceId from) {
  return Actions{scenario, in_question, from}.all();
}

}  // namespace drybus::model
