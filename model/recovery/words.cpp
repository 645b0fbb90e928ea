#include "model/recovery/words.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/family/switch_bank.h"
#include "model/findings/findings.h"
#include "model/people/timetable.h"
#include "model/planning/ways_into_setup.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/load_caution.h"

namespace drybus::model {

namespace {

class Teller {
 public:
  Teller(const Scenario& asked, const Aim& aim, PlaceId start, std::span<const Step> steps,
         std::span<const Rehearsal> rehearsals)
      : asked_(asked),
        aim_(aim),
        stands_(start),
        steps_(steps),
        rehearsals_(rehearsals),
        settings_(aim.plates) {
    channels_.resize(site().plates.size());
  }

  std::vector<CureLine> tell() {
    while (next_ < steps_.size()) {
      go_there();
      CureLine line{next_, alike(), {}, {}, {}};
      say(line);
      const std::string load = load_caution(site(), std::span{steps_}.subspan(next_, line.steps));
      if (!load.empty()) line.caution += (line.caution.empty() ? "" : " ") + load;
      next_ += line.steps;
      lines_.push_back(std::move(line));
    }
    return std::move(lines_);
  }

 private:
  [[nodiscard]] const Site& site() const { return asked_.site; }
  /// Of the plate that the step is about.
  [[nodiscard]] const PlateFamily& plate_family() const { return site().plate_family(step().device); }
  [[nodiscard]] const Step& step() const { return steps_[next_]; }

  /// "Attic spots (M2)"
  [[nodiscard]] std::string named(DeviceId device) const {
    const std::string& title = site().title(device);
    const std::string& name = site().name(device);
    return title == name ? name : fmt::format("{} ({})", title, name);
  }
  [[nodiscard]] std::string button(Button which) const { return spoken_button(plate_family(), which); }
  [[nodiscard]] std::string local_button() const { return local_button_text(site(), step().device); }
  [[nodiscard]] std::string gesture_buttons(DeviceId device) const {
    std::string text = buttons_text(site(), device, site().setup_gesture(device));
    text.erase(0, site().name(device).size() + 1);
    const std::size_t plus = text.find('+');
    return plus == std::string::npos ? text
                                     : tr("{} and {} together", text.substr(0, plus), text.substr(plus + 1));
  }

  void go_there() {
    const auto there = place_for(site(), step());
    if (site().places.size() < 2 || !there || *there == stands_ || step().kind == StepKind::walk) return;
    lines_.push_back({next_, 0, tr("Go to {} ({}).", site().places[*there].name, walk_time(*there)), {}, {}});
    stands_ = *there;
  }
  [[nodiscard]] std::string walk_time(PlaceId there) const {
    return duration_text(site().walk(stands_, there));
  }

  /// Of more repairs than these nobody wants a list.
  static constexpr std::size_t most_repairs_told = 12;

  /// How many steps from here on are told in one line: the same press again, or very many repairs.
  [[nodiscard]] std::size_t alike() const {
    std::size_t end = next_ + 1;
    if (step().kind == StepKind::fault) {
      while (end < steps_.size() && steps_[end].kind == StepKind::fault) ++end;
      return end - next_ > most_repairs_told ? end - next_ : 1;
    }
    if (switches_for_setup())
      return std::size_t{2} * site().module_family(step().device).supply_gesture.times;
    // The time that work with covers off takes is told with it.
    const bool works = step().kind == StepKind::switches || step().kind == StepKind::power;
    if (works && end < steps_.size() && steps_[end].kind == StepKind::wait) return 2;
    while (step().kind == StepKind::press && end < steps_.size() && steps_[end].kind == StepKind::press &&
           steps_[end].device == step().device && steps_[end].buttons == step().buttons)
      ++end;
    return end - next_;
  }

  /// The supply of one module goes off and on again and again: that is its way into setup.
  [[nodiscard]] bool switches_for_setup() const {
    return step().kind == StepKind::power && step().device != no_device && !step().on &&
           by_supply(site(), step().device);
  }

  void say(CureLine& line) {
    switch (step().kind) {
      case StepKind::hold:
        return say_hold(line);
      case StepKind::press:
        return site().is_plate(step().device) ? say_plate_press(line) : say_module_press(line);
      case StepKind::switches:
        return say_switches(line);
      case StepKind::wait:
        return say_wait(line);
      case StepKind::walk:
        line.text = tr("Go to {}.", site().places[step().place].name);
        stands_ = step().place;
        return;
      case StepKind::power:
        return say_power(line);
      case StepKind::fault:
        return say_repair(line);
      case StepKind::see:
      case StepKind::expect:
      case StepKind::note:
        line.text = describe(asked_, step());
        return;
    }
  }

  void say_hold(CureLine& line) {
    const DeviceId device = step().device;
    if (site().is_plate(device)) {
      channels_[device] = first_channel(site().plate_family(device));
    } else {
      listens_ = device;
    }
    line.text = tr("Hold {} of {} until its lamp blinks: {}.",
                   site().is_plate(device) ? gesture_buttons(device) : local_button(), named(device),
                   duration_text(site().setup_hold(device)));
    if (!site().is_plate(device) && site().module_family(device).ask > sim::Duration::zero())
      line.text += tr(" It asks for an address, and the plate in setup answers with its next channel.");
    line.shows = lamp(device, line);
  }

  void say_module_press(CureLine& line) {
    const DeviceId module = step().device;
    line.text = site().module_family(module).confirm > sim::Duration::zero()
                    ? tr("Press {} of {} briefly, once: that keeps what it was offered. If it was only "
                         "blinking, that ends.",
                         local_button(), named(module))
                    : tr("Press {} of {} briefly, once. If it was blinking, that ends it; if not, only its "
                         "load switches.",
                         local_button(), named(module));
    line.shows = lamp(module, line);
  }

  void say_plate_press(CureLine& line) {
    const DeviceId plate = step().device;
    const PlateFamily& family = plate_family();
    const Buttons pressed = step().buttons;
    const std::string times = line.steps == 1   ? tr("once")
                              : line.steps == 2 ? tr("twice")
                                                : tr("{} times", line.steps);
    if (pressed == only(family.assign)) return say_assign(line, times);
    if (pressed == only(family.leave)) {
      line.text =
          tr("Press {} of {} {}: it is out of setup then.", button(family.leave), named(plate), times);
    } else {
      const int steps = static_cast<int>(line.steps);
      channels_[plate] += pressed == only(family.next) ? steps : -steps;
      line.text = tr("Press {} of {} {}: it stands at channel {}.",
                     button(pressed == only(family.next) ? family.next : family.previous), named(plate),
                     times, channels_[plate]);
    }
    line.shows = lamp(plate, line);
  }

  void say_assign(CureLine& line, const std::string& times) {
    const DeviceId plate = step().device;
    if (!rehearsals_.empty()) {
      // A plate that was in setup before stands where it was left.
      for (const AssignPress& offer : rehearsals_.front().offers) {
        if (offer.step == next_) channels_[plate] = offer.address.channel;
      }
    }
    const Address offered{settings_[plate].site, settings_[plate].zone,
                          static_cast<std::uint8_t>(channels_[plate])};
    const std::string what = tr("Press {} of {} {}:", button(plate_family().assign), named(plate), times);
    if (const auto meant = meant_for(offered)) {
      const sim::Duration confirm = site().module_family(*meant).confirm;
      line.text = tr("{} {} takes {}.", what, named(*meant), to_string(offered));
      if (confirm > sim::Duration::zero()) {
        line.text = tr("{} {} is offered {}, and keeps it when it is pressed within {}.", what, named(*meant),
                       to_string(offered), duration_text(confirm));
      }
      if (no_longer_blinks(*meant, line))
        line.shows = tr("the lamp of {} no longer blinks", site().name(*meant));
    } else {
      line.text =
          tr("{} {} takes {} for the moment. A changed site number makes it come up dark after a power"
             " cut.",
             what, listens_ == no_device ? tr("the module in setup") : named(listens_), to_string(offered));
    }
  }

  [[nodiscard]] std::optional<DeviceId> meant_for(const Address& offered) const {
    for (std::size_t i = 0; i < aim_.addresses.size(); ++i) {
      if (aim_.addresses[i] == offered) return site().module_id(i);
    }
    return std::nullopt;
  }

  void say_switches(CureLine& line) {
    const DeviceId plate = step().device;
    settings_[plate] = {step().site.value_or(settings_[plate].site),
                        step().zone.value_or(settings_[plate].zone)};
    line.text = tr("Open {} and set its switches: site {} ({}), zone {} ({}). Close it again{}.",
                   named(plate), settings_[plate].site,
                   switches_text(plate_family().site_switches, settings_[plate].site), settings_[plate].zone,
                   switches_text(plate_family().zone_switches, settings_[plate].zone), time_with(line));
    line.caution = in_words_spoken(safety_caution);
  }

  /// The time that goes with work on covers.
  [[nodiscard]] std::string time_with(const CureLine& line) const {
    if (line.steps < 2) return {};
    return tr(": about {}", minutes_text(steps_[line.first_step + 1].duration));
  }

  void say_wait(CureLine& line) {
    line.text = tr("Wait {} and press nothing.", duration_text(step().duration));
  }

  void say_power(CureLine& line) {
    if (switches_for_setup()) {
      const SupplyGesture& gesture = site().module_family(step().device).supply_gesture;
      listens_ = step().device;
      line.text = tr(
          "Have the supply of {} switched off and on {} times, each time on for less than {}, until its lamp "
          "blinks.",
          named(step().device), gesture.times, duration_text(gesture.on_for));
      line.shows = lamp(step().device, line);
      return;
    }
    if (step().device == no_device) {
      line.text =
          step().on
              ? tr("When the work is done and the covers are on, restore the supply{}.", time_with(line))
              : tr("Have the supply of everything of ours isolated, locked off and proved dead{}. "
                   "Nobody works on it live. Every setup ends with that.",
                   time_with(line));
    } else {
      line.text = tr("Have the supply of {} restored; find out why it was off.", named(step().device));
    }
    line.caution = in_words_spoken(safety_caution);
  }

  void say_repair(CureLine& line) {
    const Fault& fault = step().fault;
    line.caution = in_words_spoken(safety_caution);
    if (line.steps > 1) {
      line.text =
          tr("An electrician tests the bus from end to end, the supply of every device, every button and "
             "every load, and makes good whatever is broken.");
      return;
    }
    if (fault.kind == FaultKind::new_load) {
      line.text = tr("An electrician changes the lamp or load of {}, or makes good what feeds it.",
                     named(fault.device));
      return;
    }
    if (fault.kind == FaultKind::mend && is_of_radio(fault.link)) {
      const sim::Link& link = site().network.links[fault.link];
      line.text = tr(
          "An electrician sees to it that {} is within reach of {}: what stands between them, the way it is "
          "mounted, or another device in its place.",
          end_of_link(link.b), end_of_link(link.a));
      return;
    }
    line.text =
        fault.kind == FaultKind::mend
            ? tr("An electrician makes the bus good between {}.", link_ends(fault.link))
            : tr("An electrician frees {} of {}, or changes the device.",
                 site().is_plate(fault.device) ? site().plate_family(fault.device).name_of(fault.button)
                                               : local_button_text(site(), fault.device),
                 named(fault.device));
  }

  [[nodiscard]] std::string link_ends(std::uint32_t link) const {
    return tr("{} and {}", end_of_link(site().network.links[link].a),
              end_of_link(site().network.links[link].b));
  }
  [[nodiscard]] std::string end_of_link(sim::NodeId node) const {
    return node < site().device_count() ? named(static_cast<DeviceId>(node)) : site().node_name(node);
  }
  [[nodiscard]] bool is_of_radio(std::uint32_t link) const {
    const sim::NodeId end = site().network.links[link].a;
    return site().network.media[site().network.nodes[end].medium].kind == sim::MediumKind::radio;
  }

  /// What the lamp shows after the line, if it shows the same in every world.
  [[nodiscard]] std::string lamp(DeviceId device, const CureLine& line) const {
    if (rehearsals_.empty()) return {};
    const std::size_t after = line.first_step + line.steps - 1;
    const Pattern pattern = rehearsals_.front().shown[after][device];
    for (const Rehearsal& rehearsal : rehearsals_) {
      if (rehearsal.shown[after][device] != pattern) return {};
    }
    return lamp_text(site().name(device), pattern);
  }

  [[nodiscard]] static std::string lamp_text(const std::string& name, Pattern pattern) {
    switch (pattern) {
      case Pattern::dark:
        return tr("the lamp of {} is dark", name);
      case Pattern::blink:
        return tr("the lamp of {} blinks", name);
      case Pattern::breathe:
        return tr("the lamp of {} breathes, for a plate is in setup", name);
      case Pattern::blip:
        return tr("the lamp of {} gives a blip", name);
      case Pattern::steady:
        return tr("the lamp of {} is steady for a moment", name);
      case Pattern::refuse:
        return tr("the lamp of {} shows that it refuses", name);
    }
    return {};
  }

  /// Whether a module has stopped blinking in every world.
  [[nodiscard]] bool no_longer_blinks(DeviceId module, const CureLine& line) const {
    const std::size_t after = line.first_step + line.steps - 1;
    return std::none_of(rehearsals_.begin(), rehearsals_.end(), [&](const Rehearsal& rehearsal) {
      return rehearsal.shown[after][module] == Pattern::blink;
    });
  }

  const Scenario& asked_;
  const Aim& aim_;
  PlaceId stands_;
  std::span<const Step> steps_;
  std::span<const Rehearsal> rehearsals_;
  std::vector<CureLine> lines_;
  std::vector<int> channels_;
  std::vector<PlateSetting> settings_;
  DeviceId listens_ = no_device;  ///< the module that was last put into setup
  std::size_t next_ = 0;
};

}  // namespace

std::vector<CureLine> tell(const Scenario& asked, const Aim& aim, PlaceId start, std::span<const Step> steps,
                           std::span<const Rehearsal> rehearsals) {
  return Teller{asked, aim, start, steps, rehearsals}.tell();
}

std::string local_button_text(const Site& site, DeviceId module) {
  const std::string& name = site.module_family(module).button;
  return name == "local" ? tr("the local button") : tr("the local button ({})", name);
}

std::string minutes_text(sim::Duration time) {
  constexpr sim::Duration second = std::chrono::seconds{1};
  const std::int64_t seconds = (time + second - sim::Duration{1}) / second;
  if (seconds < 60) return tr("{} s", seconds);
  return seconds % 60 == 0 ? tr("{} min", seconds / 60) : tr("{} min {} s", seconds / 60, seconds % 60);
}

}  // namespace drybus::model
