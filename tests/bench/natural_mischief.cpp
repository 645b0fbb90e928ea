#include "tests/bench/natural_mischief.h"

#include <fmt/format.h>

#include <array>
#include <bit>

#include "model/record/describe.h"

namespace drybus::bench {

using namespace model;

namespace {

using namespace std::chrono_literals;

class GoingWrong {
 public:
  GoingWrong(const Scenario& told, Scenario& truth, Draw& draw) : told_(told), truth_(truth), draw_(draw) {}

  using Made = std::optional<NaturalCause>;

  Made make() {
    struct Kind {
      unsigned weight;
      Made (GoingWrong::*how)();
    };
    // About as often as people tell of it; judgement. Slips are three quarters of all, one in ten is in no catalogue.
    static constexpr std::array<Kind, 20> kinds = {
        {{10, &GoingWrong::forgot},       {6, &GoingWrong::repeated},      {6, &GoingWrong::wrong_button},
         {12, &GoingWrong::let_go_early}, {10, &GoingWrong::wrong_module}, {6, &GoingWrong::second_module},
         {6, &GoingWrong::took_longer},   {6, &GoingWrong::interrupted},   {8, &GoingWrong::switch_wrong},
         {2, &GoingWrong::bounced},       {7, &GoingWrong::second_hand},   {6, &GoingWrong::open_link},
         {1, &GoingWrong::shorted_link},  {1, &GoingWrong::noisy_link},    {6, &GoingWrong::dead_device},
         {2, &GoingWrong::power_cut},     {3, &GoingWrong::stuck_button},  {3, &GoingWrong::telegram_lost},
         {4, &GoingWrong::exchanged},     {4, &GoingWrong::other_hands}}};
    unsigned sum = 0;
    for (const Kind& kind : kinds) sum += kind.weight;
    std::size_t at = draw_.below(sum + breaker_weight);
    for (const Kind& kind : kinds) {
      if (at < kind.weight) return (this->*kind.how)();
      at -= kind.weight;
    }
    return breaker();
  }

 private:
  static constexpr unsigned breaker_weight = 3;

  [[nodiscard]] const Site& site() const { return told_.site; }
  std::vector<Step>& script() { return truth_.people[0].script; }
  [[nodiscard]] const std::vector<Step>& told_script() const { return told_.people[0].script; }

  std::optional<std::size_t> now_at(std::uint32_t line) {
    for (std::size_t i = 0; i < script().size(); ++i) {
      if (script()[i].mark.line == line) return i;
    }
    return std::nullopt;
  }
  template <class Fits>
  std::optional<std::size_t> some_step(Fits fits) {
    std::vector<std::uint32_t> lines;
    for (const Step& step : told_script()) {
      if (fits(step)) lines.push_back(step.mark.line);
    }
    if (lines.empty()) return std::nullopt;
    return now_at(draw_.of(lines));
  }
  std::optional<std::size_t> some_moment() {
    if (draw_.percent(60)) return 0;
    return now_at(1 + static_cast<std::uint32_t>(draw_.below(told_script().size())));
  }
  [[nodiscard]] bool of_module(const Step& step) const {
    return step.device != no_device && !site().is_plate(step.device);
  }
  [[nodiscard]] bool is_assign(const Step& step) const {
    return step.kind == StepKind::press && !of_module(step) &&
           step.buttons == only(site().family.plate.assign);
  }
  [[nodiscard]] std::string words(const Step& step) const {
    return fmt::format("{} (step {})", describe(told_, step), step.mark.line);
  }
  void put_in(std::size_t before, Step step) {
    step.mark.line = 0;
    script().insert(script().begin() + static_cast<std::ptrdiff_t>(before), std::move(step));
  }
  static NaturalCause at_step(Mishap mishap, const Step& step, std::string text, DeviceId other = no_device) {
    return {{mishap, step.device, std::nullopt, step.mark.line - 1, other, std::move(text)}, true};
  }
  static NaturalCause with(Mishap mishap, DeviceId device, std::string text) {
    return {{mishap, device, std::nullopt, std::nullopt, no_device, std::move(text)}, true};
  }
  static NaturalCause in_no_catalogue(std::string text) {
    return {{Mishap::forgot, no_device, std::nullopt, std::nullopt, no_device, std::move(text)}, false};
  }

  // --- slips ---

  Made forgot() {
    const auto at = some_step(is_act);
    if (!at) return std::nullopt;
    const NaturalCause made = at_step(Mishap::forgot, script()[*at], "forgot: " + words(script()[*at]));
    script().erase(script().begin() + static_cast<std::ptrdiff_t>(*at));
    return made;
  }

  Made repeated() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::press; });
    if (!at) return std::nullopt;
    put_in(*at, script()[*at]);
    return at_step(Mishap::repeated, script()[*at + 1], "twice: " + words(script()[*at + 1]));
  }

  Made wrong_button() {
    const auto at = some_step([this](const Step& step) {
      return is_act(step) && !of_module(step) && std::popcount(step.buttons) == 1;
    });
    if (!at) return std::nullopt;
    Step& step = script()[*at];
    const std::string said = "another button for: " + words(step);
    const Buttons right = step.buttons;
    while (step.buttons == right)
      step.buttons = only(static_cast<Button>(draw_.below(site().family.plate.buttons.size())));
    return at_step(Mishap::wrong_button, step, said);
  }

  Made let_go_early() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::hold; });
    if (!at) return std::nullopt;
    Step& step = script()[*at];
    step.duration = scaled(site().setup_hold(step.device), 0.3 + 0.65 * draw_.uniform());
    return at_step(Mishap::let_go_early, step, "let go early: " + words(step));
  }

  std::optional<DeviceId> another_module(DeviceId right) {
    const bool near = draw_.percent(80);
    std::vector<DeviceId> others;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const DeviceId module = site().module_id(i);
      if (module != right && (!near || site().place(module) == site().place(right))) others.push_back(module);
    }
    if (others.empty()) return std::nullopt;
    return draw_.of(others);
  }

  Made another(Mishap mishap) {
    const auto at =
        some_step([this](const Step& step) { return step.kind == StepKind::hold && of_module(step); });
    if (!at) return std::nullopt;
    const Step step = script()[*at];
    const auto other = another_module(step.device);
    if (!other) return std::nullopt;
    Step taken = step;
    taken.device = *other;
    const bool as_well = mishap == Mishap::second_module;
    if (as_well) {
      put_in(*at, taken);
    } else {
      script()[*at] = taken;
    }
    return at_step(
        mishap, step,
        fmt::format("{} {}: {}", site().name(*other), as_well ? "as well as" : "instead in", words(step)),
        *other);
  }
  Made wrong_module() { return another(Mishap::wrong_module); }
  Made second_module() { return another(Mishap::second_module); }

  Made pause_before(std::size_t at) {
    const auto longer = std::chrono::seconds{draw_.between(60, 400)};
    NaturalCause made =
        at_step(Mishap::took_longer, script()[at],
                fmt::format("{} longer before: {}", duration_text(longer), words(script()[at])));
    made.named.device = no_device;
    put_in(at, waits(longer));
    return made;
  }
  /// On a way, or while waiting: the ladder was not where it should be.
  Made took_longer() {
    PlaceId stands = told_.people[0].place;
    const auto at = some_step([&](const Step& step) {
      const bool on_the_way = step.device != no_device && site().place(step.device) != stands;
      if (step.device != no_device) stands = site().place(step.device);
      return on_the_way || step.kind == StepKind::wait;
    });
    return at ? pause_before(*at) : std::nullopt;
  }
  /// Between any two presses: the telephone rang.
  Made interrupted() {
    const auto at = some_step(is_act);
    return at ? pause_before(*at) : std::nullopt;
  }

  Made switch_wrong() {
    PlateSpec& plate = truth_.site.plates[draw_.below(site().plates.size())];
    const bool of_site = draw_.percent(50);
    const SwitchBank& bank = of_site ? site().family.plate.site_switches : site().family.plate.zone_switches;
    std::uint8_t& number = of_site ? plate.site : plate.zone;
    const std::uint8_t wrong = one_switch_off(bank, number);
    if (wrong > bank.largest() || wrong == number) return std::nullopt;
    number = wrong;
    return with(Mishap::switch_wrong, static_cast<DeviceId>(&plate - truth_.site.plates.data()),
                fmt::format("{} of {} set to {}", of_site ? "site" : "zone", plate.name, wrong));
  }
  std::uint8_t one_switch_off(const SwitchBank& bank, std::uint8_t number) {
    const std::size_t which = draw_.below(bank.count);
    if (bank.kind == SwitchBank::Kind::binary) return static_cast<std::uint8_t>(number ^ (1u << which));
    const unsigned unit = which == 0 ? 1 : 10;
    const unsigned digit = number / unit % 10;
    const bool up = digit == 0 || (digit < 9 && draw_.percent(50));
    return static_cast<std::uint8_t>(up ? number + unit : number - unit);
  }

  Made bounced() {
    const auto at = some_step([](const Step& step) { return step.kind == StepKind::press; });
    if (!at) return std::nullopt;
    script()[*at].bounce = site().family.debounce + std::chrono::milliseconds{draw_.between(2, 20)};
    return at_step(Mishap::bounced, script()[*at], "bounced: " + words(script()[*at]));
  }

  // --- faults ---

  /// A module that was in use elsewhere before.
  Made second_hand() {
    const std::size_t index = draw_.below(site().modules.size());
    const Address address = {
        static_cast<std::uint8_t>(draw_.between(2, site().family.plate.site_switches.largest())),
        static_cast<std::uint8_t>(draw_.between(1, site().family.plate.zone_switches.largest())),
        static_cast<std::uint8_t>(draw_.between(1, site().family.plate.channels))};
    ModuleSpec& module = truth_.site.modules[index];
    module.memory.address = draw_.percent(60) ? address : *draw_.of(site().modules).intended;
    if (module.memory.address == site().modules[index].memory.address) return std::nullopt;
    module.memory.power_up = PowerUp::off;
    const DeviceId device = site().module_id(index);
    return with(Mishap::other_address, device,
                fmt::format("{} came with {}", module.name, to_string(module.memory.address)));
  }

  Made broken_link(FaultKind kind, Mishap mishap) {
    if (site().family.medium == sim::MediumKind::radio || site().network.links.empty()) return std::nullopt;
    const auto at = some_moment();
    if (!at) return std::nullopt;
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = kind;
    step.fault.link = static_cast<std::uint32_t>(draw_.below(site().network.links.size()));
    if (kind == FaultKind::noisy)
      step.fault.bit_error_ppb = static_cast<std::uint32_t>(draw_.between(5, 40)) * 1'000'000;
    NaturalCause made =
        with(mishap, no_device, fmt::format("{} before step {}", describe(told_, step), *at + 1));
    put_in(*at, step);
    made.named.link = step.fault.link;
    return made;
  }
  Made open_link() { return broken_link(FaultKind::open, Mishap::open_link); }
  Made shorted_link() { return broken_link(FaultKind::shorted, Mishap::shorted_link); }
  Made noisy_link() { return broken_link(FaultKind::noisy, Mishap::noisy_link); }

  static Step power(DeviceId device, bool on) {
    Step step;
    step.kind = StepKind::power;
    step.device = device;
    step.on = on;
    return step;
  }
  DeviceId some_device() { return static_cast<DeviceId>(draw_.below(site().device_count())); }

  Made dead_device() {
    const auto at = some_moment();
    const DeviceId device = some_device();
    if (!at) return std::nullopt;
    put_in(*at, power(device, false));
    return with(Mishap::dead_device, device,
                fmt::format("{} is dead from step {}", site().name(device), *at + 1));
  }

  Made power_cut() {
    const auto at = some_step([](const Step&) { return true; });
    const DeviceId device = draw_.percent(50) ? no_device : some_device();
    if (!at) return std::nullopt;
    put_in(*at, power(device, true));
    put_in(*at, power(device, false));
    return with(Mishap::power_cut, device,
                fmt::format("power of {} blinked before step {}",
                            device == no_device ? "all" : site().name(device), *at + 1));
  }

  Made stuck_button() {
    const DeviceId device = some_device();
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = FaultKind::stuck;
    step.fault.device = device;
    step.fault.button = site().is_plate(device)
                            ? static_cast<Button>(draw_.below(site().family.plate.buttons.size()))
                            : Button{0};
    std::size_t at = 0;
    const auto used = some_step([&](const Step& each) {
      return is_act(each) && each.device == device && (each.buttons & only(step.fault.button)) != 0;
    });
    if (used && draw_.percent(70)) at = *used + 1;
    put_in(at, step);
    return with(
        Mishap::stuck_button, device,
        fmt::format("{} sticks from step {}", buttons_text(site(), device, only(step.fault.button)), at + 1));
  }

  Made telegram_lost() {
    const auto at = some_step([this](const Step& step) { return is_assign(step); });
    if (!at) return std::nullopt;
    const std::string said = words(script()[*at]);
    DeviceId module = no_device;
    for (const Step& step : told_script()) {
      if (step.mark.line > script()[*at].mark.line) break;
      if (step.kind == StepKind::hold && of_module(step)) module = step.device;
    }
    if (module == no_device) return std::nullopt;
    Step step;
    step.kind = StepKind::fault;
    step.fault.kind = FaultKind::deaf;
    step.fault.device = module;
    step.fault.count = 1;
    put_in(*at, step);
    NaturalCause made = at_step(Mishap::telegram_lost, script()[*at + 1],
                                fmt::format("{} missed the telegram of: {}", site().name(module), said));
    made.named.device = module;
    return made;
  }

  // --- what no catalogue has ---

  /// Two steps were done the other way round.
  Made exchanged() {
    const auto at = some_step(is_act);
    if (!at || *at + 1 >= script().size() || !is_act(script()[*at + 1])) return std::nullopt;
    NaturalCause made = in_no_catalogue("after the next one: " + words(script()[*at]));
    std::swap(script()[*at], script()[*at + 1]);
    return made;
  }

  /// Somebody else pressed a button while the installer was at work.
  Made other_hands() {
    const auto at = some_step(is_act);
    if (!at) return std::nullopt;
    const DeviceId device = some_device();
    const Button button = site().is_plate(device)
                              ? static_cast<Button>(draw_.below(site().family.plate.buttons.size()))
                              : Button{0};
    put_in(*at, push_step(StepKind::press, device, only(button), told_.times.press));
    return in_no_catalogue(fmt::format("somebody pressed {} before step {}",
                                       buttons_text(site(), device, only(button)), *at + 1));
  }

  /// A breaker is off: whatever of the modules is in one room has no power.
  Made breaker() {
    const auto at = some_moment();
    if (!at) return std::nullopt;
    const auto place = static_cast<PlaceId>(draw_.below(site().places.size()));
    std::size_t count = 0;
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (site().modules[i].place != place) continue;
      put_in(*at, power(site().module_id(i), false));
      ++count;
    }
    if (count < 2) return std::nullopt;
    return in_no_catalogue(
        fmt::format("the modules in {} have no power from step {}", site().places[place].name, *at + 1));
  }

  const Scenario& told_;
  Scenario& truth_;
  Draw& draw_;
};

}  // namespace

std::optional<NaturalCause> go_wrong(const Scenario& told, Scenario& truth, Draw& draw) {
  return GoingWrong{told, truth, draw}.make();
}

}  // namespace drybus::bench
