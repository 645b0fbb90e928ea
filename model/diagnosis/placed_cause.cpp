#include "model/diagnosis/placed_cause.h"

#include <fmt/format.h>

#include "model/people/timetable.h"
#include "model/record/describe.h"

namespace drybus::model {

namespace {

/// Says what a cause did, with the words of the step that it is about.
class Telling {
 public:
  Telling(const Scenario& believed, const PlacedCause& placed)
      : believed_(believed), site_(believed.site), placed_(placed) {}

  [[nodiscard]] std::string text() const {
    switch (placed_.cause) {
      case Mishap::forgot:
        return fmt::format("the installer forgot to {}{}", act(), at());
      case Mishap::repeated:
        return fmt::format("the installer did this twice: {}{}", act(), at());
      case Mishap::wrong_button:
        return fmt::format("the installer pressed {} instead of {}{}", pressed(placed_.device), meant(),
                           at());
      case Mishap::let_go_early:
        return fmt::format("{} was let go too early, after about {}{}", meant(),
                           duration_text(placed_.duration), at());
      case Mishap::wrong_module:
        return fmt::format("the installer took {} for {}: {}{}", name(placed_.other), name(placed_.device),
                           act(), at());
      case Mishap::second_module:
        return fmt::format("{} was put in setup as well as {}{}", name(placed_.other), name(placed_.device),
                           at());
      case Mishap::took_longer:
        return took_longer();
      case Mishap::took_shorter:
        return fmt::format("{} was shorter than told: {}{}", what_took(), about(), at());
      case Mishap::switch_wrong:
        return fmt::format("a switch of {} is set wrong: it shows {}", name(placed_.device), shown());
      case Mishap::bounced:
        return fmt::format("the contact of {} bounced, so that one press counted as two{}", meant(), at());
      case Mishap::other_address:
        return other_address();
      case Mishap::other_generation:
        return fmt::format(
            "{} is of another generation than told: the family {}", name(placed_.device),
            placed_.family == 0 ? site_.family.name : site_.other_families[placed_.family - 1u].name);
      case Mishap::open_link:
        return fmt::format("{}{}", broken_link("is open", "is out of reach of"), since());
      case Mishap::shorted_link:
        return fmt::format("{}{}", broken_link("is shorted", "is out of reach of"), since());
      case Mishap::noisy_link:
        return fmt::format("{}{}", broken_link("is noisy and loses telegrams", "often fails to hear"),
                           since());
      case Mishap::dead_device:
        if (placed_.place) return dead_room();
        return fmt::format("{} has no power or is dead{}", name(placed_.device), since());
      case Mishap::power_cut:
        return fmt::format("the power of {} went and came back{}", whose_power(), at());
      case Mishap::write_lost:
        return fmt::format("power went while {} was storing its address{}", name(placed_.device), at());
      case Mishap::stuck_button:
        return fmt::format("{} is stuck{}", pressed(placed_.device), since());
      case Mishap::telegram_lost:
        return fmt::format("{} missed the telegram of this: {}{}", name(placed_.device), act(), at());
      case Mishap::exchanged:
        return exchanged();
      case Mishap::was_in_setup:
        return was_in_setup();
      case Mishap::other_hands:
        return has_step() ? fmt::format("somebody else pressed {} before this: {}{}", pressed(placed_.device),
                                        act(), at())
                          : fmt::format("somebody else pressed {} in the end", pressed(placed_.device));
      case Mishap::dead_load:
        return fmt::format("the load of {} gives no light{}", name(placed_.device), since());
      case Mishap::other_power_up:
        return fmt::format("{} comes up {} after a power cut, which nobody knew", name(placed_.device),
                           placed_.power_up == PowerUp::off    ? "dark"
                           : placed_.power_up == PowerUp::full ? "at full"
                                                               : "as it was before");
      case Mishap::neighbour:
        return fmt::format("somebody next door pressed {}, which has the number {}{}",
                           pressed(placed_.device), shown(), at());
    }
    return {};
  }

 private:
  [[nodiscard]] const std::string& name(DeviceId device) const { return site_.name(device); }
  [[nodiscard]] const Step& step() const { return believed_.people.front().script[*placed_.step]; }
  [[nodiscard]] bool has_step() const {
    return placed_.step && *placed_.step < believed_.people.front().script.size();
  }
  [[nodiscard]] std::string act() const {
    return has_step() ? describe(believed_, step()) : std::string{"a step"};
  }
  [[nodiscard]] std::string meant() const {
    return has_step() ? buttons_text(site_, step().device, step().buttons) : name(placed_.device);
  }
  [[nodiscard]] std::string pressed(DeviceId device) const {
    return buttons_text(site_, device, placed_.buttons);
  }
  [[nodiscard]] std::string shown() const {
    return fmt::format("{}/{}", placed_.address.site, placed_.address.zone);
  }
  [[nodiscard]] std::string about() const { return fmt::format("about {}", duration_text(placed_.duration)); }

  [[nodiscard]] std::string at() const {
    if (!has_step()) return {};
    const Timetable times = timetable(site_, believed_.times, believed_.people.front());
    return fmt::format(" (step {}, {})", *placed_.step + 1, clock_text(times.begins[*placed_.step]));
  }
  [[nodiscard]] std::string since() const {
    return has_step() ? fmt::format(", since about step {}", *placed_.step + 1)
                      : std::string{", from the beginning"};
  }
  [[nodiscard]] std::string took_longer() const {
    if (has_step() && (step().kind == StepKind::press || step().kind == StepKind::hold) &&
        placed_.was_interrupted)
      return fmt::format("the installer was kept for {} before this: {}{}", about(), act(), at());
    return fmt::format("{} took longer than told: {}{}", what_took(), about(), at());
  }
  [[nodiscard]] std::string what_took() const {
    return has_step() && step().kind == StepKind::wait ? "the wait" : "the way";
  }
  [[nodiscard]] std::string exchanged() const {
    const std::vector<Step>& script = believed_.people.front().script;
    const std::string next = has_step() && *placed_.step + 1 < script.size()
                                 ? describe(believed_, script[*placed_.step + 1])
                                 : "the next";
    return fmt::format("two steps were done the other way round: {}, and only then {}{}", next, act(), at());
  }
  [[nodiscard]] std::string was_in_setup() const {
    if (!has_step()) return fmt::format("{} was in setup already when the work began", name(placed_.device));
    return fmt::format("{} was in setup already, by somebody else, before this: {}{}", name(placed_.device),
                       act(), at());
  }
  [[nodiscard]] std::string dead_room() const {
    if (site_.places.size() < 2)
      return fmt::format("none of the modules has power: a breaker is off{}", since());
    return fmt::format("the modules in the {} have no power: a breaker is off{}",
                       site_.places[*placed_.place].name, since());
  }
  [[nodiscard]] std::string whose_power() const {
    return placed_.device == no_device ? std::string{"the whole site"} : name(placed_.device);
  }
  [[nodiscard]] std::string other_address() const {
    if (placed_.address.channel == 0) {
      return fmt::format("{} was not addressed when the work began, but as from the factory",
                         name(placed_.device));
    }
    return fmt::format("{} held the address {} already when the work began", name(placed_.device),
                       to_string(placed_.address));
  }
  [[nodiscard]] std::string broken_link(std::string_view on_a_line, std::string_view on_radio) const {
    const sim::Link& link = site_.network.links[*placed_.link];
    const bool radio = site_.network.media[site_.network.nodes[link.a].medium].kind == sim::MediumKind::radio;
    if (radio) return fmt::format("{} {} {}", site_.node_name(link.b), on_radio, site_.node_name(link.a));
    return fmt::format("the link {} {}", site_.link_name(*placed_.link), on_a_line);
  }

  const Scenario& believed_;
  const Site& site_;
  const PlacedCause& placed_;
};

}  // namespace

std::string describe(const Scenario& believed, const PlacedCause& placed) {
  return Telling{believed, placed}.text();
}

}  // namespace drybus::model
