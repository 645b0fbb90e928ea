#include "model/diagnosis/placed_cause.h"

#include <fmt/format.h>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"

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
        return tr("the installer forgot to {}{}", act(), at());
      case Mishap::repeated:
        return tr("the installer did this twice: {}{}", act(), at());
      case Mishap::wrong_button:
        return tr("the installer pressed {} instead of {}{}", pressed(placed_.device), meant(), at());
      case Mishap::let_go_early:
        return tr("{} was let go too early, after about {}{}", meant(), duration_text(placed_.duration),
                  at());
      case Mishap::wrong_module:
        return tr("the installer took {} for {}: {}{}", name(placed_.other), name(placed_.device), act(),
                  at());
      case Mishap::second_module:
        return tr("{} was put in setup as well as {}{}", name(placed_.other), name(placed_.device), at());
      case Mishap::took_longer:
        return took_longer();
      case Mishap::took_shorter:
        return took_shorter();
      case Mishap::switch_wrong:
        return tr("a switch of {} is set wrong: it shows {}", name(placed_.device), shown());
      case Mishap::bounced:
        return tr("the contact of {} bounced, so that one press counted as two{}", meant(), at());
      case Mishap::other_address:
        return other_address();
      case Mishap::other_generation:
        return tr("{} is of another generation than told: the family {}", name(placed_.device),
                  placed_.family == 0 ? site_.family.name : site_.other_families[placed_.family - 1u].name);
      case Mishap::open_link:
        return open_link();
      case Mishap::shorted_link:
        return shorted_link();
      case Mishap::noisy_link:
        return noisy_link();
      case Mishap::dead_device:
        if (placed_.place) return dead_room();
        return tr("{} has no power or is dead{}", name(placed_.device), since());
      case Mishap::power_cut:
        return power_cut();
      case Mishap::write_lost:
        return tr("power went while {} was storing its address{}", name(placed_.device), at());
      case Mishap::stuck_button:
        return tr("{} is stuck{}", pressed(placed_.device), since());
      case Mishap::telegram_lost:
        return tr("{} missed the telegram of this: {}{}", name(placed_.device), act(), at());
      case Mishap::exchanged:
        return exchanged();
      case Mishap::was_in_setup:
        return was_in_setup();
      case Mishap::other_hands:
        return has_step()
                   ? tr("somebody else pressed {} before this: {}{}", pressed(placed_.device), act(), at())
                   : tr("somebody else pressed {} in the end", pressed(placed_.device));
      case Mishap::dead_load:
        return tr("the load of {} gives no light{}", name(placed_.device), since());
      case Mishap::other_power_up:
        return other_power_up();
      case Mishap::neighbour:
        return tr("somebody next door pressed {}, which has the number {}{}", pressed(placed_.device),
                  shown(), at());
    }
    return {};
  }

 private:
  [[nodiscard]] const std::string& name(DeviceId device) const { return site_.name(device); }
  [[nodiscard]] const Step& step() const { return believed_.people.front().script[*placed_.step]; }
  [[nodiscard]] bool has_step() const {
    return placed_.step && *placed_.step < believed_.people.front().script.size();
  }
  [[nodiscard]] std::string act() const { return has_step() ? describe(believed_, step()) : tr("a step"); }
  [[nodiscard]] std::string meant() const {
    return has_step() ? buttons_text(site_, step().device, step().buttons) : name(placed_.device);
  }
  [[nodiscard]] std::string pressed(DeviceId device) const {
    return buttons_text(site_, device, placed_.buttons);
  }
  [[nodiscard]] std::string shown() const {
    return fmt::format("{}/{}", placed_.address.site, placed_.address.zone);
  }

  [[nodiscard]] std::string at() const {
    if (!has_step()) return {};
    const Timetable times = timetable(site_, believed_.times, believed_.people.front());
    return tr(" (step {}, {})", *placed_.step + 1, clock_text(times.begins[*placed_.step]));
  }
  [[nodiscard]] std::string since() const {
    return has_step() ? tr(", since about step {}", *placed_.step + 1) : tr(", from the beginning");
  }
  [[nodiscard]] std::string took_longer() const {
    const std::string longer = duration_text(placed_.duration);
    if (has_step() && (step().kind == StepKind::press || step().kind == StepKind::hold) &&
        placed_.was_interrupted)
      return tr("the installer was kept for about {} before this: {}{}", longer, act(), at());
    if (is_wait()) return tr("the wait took longer than told: about {}{}", longer, at());
    return tr("the way took longer than told: about {}{}", longer, at());
  }
  [[nodiscard]] std::string took_shorter() const {
    const std::string shorter = duration_text(placed_.duration);
    if (is_wait()) return tr("the wait was shorter than told: about {}{}", shorter, at());
    return tr("the way was shorter than told: about {}{}", shorter, at());
  }
  [[nodiscard]] bool is_wait() const { return has_step() && step().kind == StepKind::wait; }
  [[nodiscard]] std::string exchanged() const {
    const std::vector<Step>& script = believed_.people.front().script;
    const std::string next = has_step() && *placed_.step + 1 < script.size()
                                 ? describe(believed_, script[*placed_.step + 1])
                                 : tr("the next");
    return tr("two steps were done the other way round: {}, and only then {}{}", next, act(), at());
  }
  [[nodiscard]] std::string was_in_setup() const {
    if (!has_step()) return tr("{} was in setup already when the work began", name(placed_.device));
    return tr("{} was in setup already, by somebody else, before this: {}{}", name(placed_.device), act(),
              at());
  }
  [[nodiscard]] std::string dead_room() const {
    if (site_.places.size() < 2) return tr("none of the modules has power: a breaker is off{}", since());
    return tr("the modules in the {} have no power: a breaker is off{}", site_.places[*placed_.place].name,
              since());
  }
  [[nodiscard]] std::string power_cut() const {
    if (placed_.device == no_device) return tr("the power of the whole site went and came back{}", at());
    return tr("the power of {} went and came back{}", name(placed_.device), at());
  }
  [[nodiscard]] std::string other_power_up() const {
    const std::string& who = name(placed_.device);
    switch (placed_.power_up) {
      case PowerUp::off:
        return tr("{} comes up dark after a power cut, which nobody knew", who);
      case PowerUp::full:
        return tr("{} comes up at full after a power cut, which nobody knew", who);
      case PowerUp::last:
        return tr("{} comes up as it was before after a power cut, which nobody knew", who);
    }
    return {};
  }
  [[nodiscard]] std::string other_address() const {
    if (placed_.address.channel == 0) {
      return tr("{} was not addressed when the work began, but as from the factory", name(placed_.device));
    }
    return tr("{} held the address {} already when the work began", name(placed_.device),
              to_string(placed_.address));
  }
  [[nodiscard]] const sim::Link& link() const { return site_.network.links[*placed_.link]; }
  [[nodiscard]] bool is_radio() const {
    return site_.network.media[site_.network.nodes[link().a].medium].kind == sim::MediumKind::radio;
  }
  [[nodiscard]] std::string open_link() const {
    if (is_radio()) return out_of_reach();
    return tr("the link {} is open{}", site_.link_name(*placed_.link), since());
  }
  [[nodiscard]] std::string shorted_link() const {
    if (is_radio()) return out_of_reach();
    return tr("the link {} is shorted{}", site_.link_name(*placed_.link), since());
  }
  [[nodiscard]] std::string noisy_link() const {
    if (is_radio())
      return tr("{} often fails to hear {}{}", site_.node_name(link().b), site_.node_name(link().a), since());
    return tr("the link {} is noisy and loses telegrams{}", site_.link_name(*placed_.link), since());
  }
  [[nodiscard]] std::string out_of_reach() const {
    return tr("{} is out of reach of {}{}", site_.node_name(link().b), site_.node_name(link().a), since());
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
