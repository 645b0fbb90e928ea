#include "model/recovery/recover.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/findings/findings.h"
#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/planning/scene_work.h"
#include "model/record/describe.h"
#include "model/recovery/aim.h"
#include "model/recovery/rehearsal.h"
#include "model/recovery/search.h"
#include "model/recovery/words.h"
#include "model/words/words.h"
#include "model/world/load_caution.h"

namespace drybus::model {

namespace {

/// The site with what the cure is to bring about: addresses intended, plates set.
Site aimed_site(const Scenario& scenario, const Aim& aim) {
  Site aimed = with_aim(scenario, aim).site;
  for (std::size_t i = 0; i < aimed.plates.size(); ++i) {
    aimed.plates[i].site = aim.plates[i].site;
    aimed.plates[i].zone = aim.plates[i].zone;
  }
  return aimed;
}

/// Of scenes that a module has not as they are to be, those that the keys of its zone can store.
unsigned scenes_to_mend(const Scenario& scenario, const Aim& aim, const World& world, std::size_t module) {
  const unsigned wrong = wrong_scenes(scenario.site.modules[module], world.modules[module].newest());
  if (wrong == 0 || !world.firmware.empty())
    return 0;  // a firmware of somebody's own does not tell its scenes
  const Site aimed = aimed_site(scenario, aim);
  unsigned mendable = 0;
  for (unsigned scene = 0; scene < max_scenes; ++scene) {
    std::vector<unsigned> wanted(aimed.modules.size(), 0);
    wanted[module] = wrong & (1U << scene);
    if (wanted[module] != 0 && scene_work(aimed, scenario.times, wanted).cannot.empty())
      mendable |= 1U << scene;
  }
  return mendable;
}

class Judgement {
 public:
  Judgement(const Scenario& scenario, const Aim& aim, const World& world)
      : site_(scenario.site), aim_(aim), world_(world), scenario_(scenario) {}

  std::vector<std::string> amiss() {
    for (DeviceId device = 0; device < site_.device_count(); ++device) {
      if (!site_.is_neighbour(device)) look_at(device);
    }
    for (const sim::Medium::Impairment& impairment : world_.medium.impairments()) {
      if (impairment.state != sim::LinkState::sound)
        say(tr("{} is not sound", site_.link_name(impairment.link)));
    }
    look_for_breaches();
    return std::move(amiss_);
  }

 private:
  void say(std::string what) { amiss_.push_back(std::move(what)); }

  void look_at(DeviceId device) {
    const DeviceState& state = world_.devices[device];
    const std::string& name = site_.name(device);
    if (state.powered == 0) say(tr("{} has no power", name));
    if (state.mode == Mode::setup) say(tr("{} is in setup", name));
    if (state.stuck != 0) say(tr("{} is stuck", buttons_text(site_, device, state.stuck)));
    site_.is_plate(device) ? look_at_plate(device, name) : look_at_module(site_.module_index(device), name);
  }

  void look_at_plate(DeviceId plate, const std::string& name) {
    const PlateState& state = world_.plates[plate];
    const PlateSetting& aim = aim_.plates[plate];
    if (PlateSetting{state.site, state.zone} != aim) {
      say(tr("{} is set to site {}, zone {}; it shall be site {}, zone {}", name, state.site, state.zone,
             aim.site, aim.zone));
    }
  }

  void look_at_module(std::size_t module, const std::string& name) {
    const ModuleState& state = world_.modules[module];
    const auto& aim = aim_.addresses[module];
    if (state.storing != 0) say(tr("{} is still writing", name));
    if (world_.loads[module].dead != 0) say(tr("the load of {} gives no light", name));
    if (aim && state.memory.address != *aim) {
      const bool addressed = state.memory.addressed();
      say(addressed
              ? tr("{} holds {}; it shall hold {}", name, to_string(state.memory.address), to_string(*aim))
              : tr("{} holds no address; it shall hold {}", name, to_string(*aim)));
    }
    if (aim && state.memory.power_up == PowerUp::full) say(tr("{} comes up at full after a power cut", name));
    const unsigned wrong = scenes_to_mend(scenario_, aim_, world_, module);
    for (std::size_t i = 0; i < max_scenes; ++i) {
      if ((wrong >> i & 1U) != 0)
        say(tr("{}'s scene {} shall be {}", name, i + 1,
               percent_text(site_.modules[module].intended_scenes[i])));
    }
  }

  void look_for_breaches() {
    std::vector<Breach> breaches;
    add_state_breaches(with_aim(scenario_, aim_), world_, breaches);
    for (const Breach& breach : breaches) {
      say(fmt::format("{}: {}", to_string(breach.id), site_.name(breach.first)));
    }
  }

  const Site& site_;
  const Aim& aim_;
  const World& world_;
  const Scenario& scenario_;
  std::vector<std::string> amiss_;
};

constexpr std::string_view no_time_to_lose = msg(
    "The ways are long for the time that a setup or an offer lasts: go without a stop from each step to the "
    "next, or have "
    "a second person stand where the next press is.");

/// One cure in the making.
class Curing {
 public:
  Curing(const Scenario& asked, std::span<const Possibility> possible, const RecoverOptions& options)
      : asked_(asked), possible_(possible.begin(), possible.end()), options_(options) {}

  Cure find() {
    cure_.aim = aim_of(asked_, possible_);
    tell_scenes_let_go();
    if (!options_.afresh && options_.seen_in_setup.empty() &&
        std::all_of(possible_.begin(), possible_.end(), [this](const Possibility& possibility) {
          return is_as_aimed(*possibility.scenario, cure_.aim, possibility.world);
        })) {
      cure_.end = Cure::End::nothing_to_do;
      return std::move(cure_);
    }
    cure_.reasons = cure_.aim.obstacles;
    if (!cure_.reasons.empty()) return std::move(cure_);
    come_together();
    repair_first();
    if (try_plans()) tell_it();
    return std::move(cure_);
  }

 private:
  [[nodiscard]] const Site& site() const { return asked_.site; }

  /// Nobody works live: the supply goes before a repair, and every setup ends with that. It stays off for what
  /// the plan has to do with covers off, and the plan restores it.
  void repair_first() {
    std::vector<Step> needed = options_.afresh ? repairs_of_everything(site()) : repairs(asked_, possible_);
    isolated_ = std::any_of(needed.begin(), needed.end(),
                            [](const Step& step) { return step.kind == StepKind::fault; });
    const auto of_supply = [](const Step& step) { return step.kind == StepKind::power; };
    // Where all of it is off, it comes back when everything is restored in the end.
    const auto off = static_cast<std::size_t>(std::count_if(needed.begin(), needed.end(), of_supply));
    if (isolated_ && off == of_ours()) std::erase_if(needed, of_supply);
    cure_.repairs = needed.size();
    // A part gets its supply back first: the breaker that tripped there is not the one that everything is isolated with.
    const auto work =
        isolated_ ? std::stable_partition(needed.begin(), needed.end(), of_supply) : needed.end();
    add_in_every_world({needed.begin(), work});
    if (isolated_) add_in_every_world(isolation_steps(false));
    add_in_every_world({work, needed.end()});
  }

  [[nodiscard]] std::size_t of_ours() const {
    std::size_t count = 0;
    for (DeviceId device = 0; device < site().device_count(); ++device) {
      if (!site().is_neighbour(device)) ++count;
    }
    return count;
  }

  /// The worlds may differ in where the installer stands: then the cure begins with a walk.
  void come_together() {
    const PlaceId place = place_now();
    const bool together = std::all_of(
        possible_.begin(), possible_.end(),
        [place](const Possibility& possibility) { return possibility.world.people[0].place == place; });
    if (together) return;
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = place;
    add_in_every_world({walk});
  }

  [[nodiscard]] PlaceId place_now() const {
    const auto likeliest = std::max_element(
        possible_.begin(), possible_.end(),
        [](const Possibility& a, const Possibility& b) { return a.probability < b.probability; });
    return likeliest->world.people[0].place;
  }

  void add_in_every_world(const std::vector<Step>& steps) {
    if (steps.empty()) return;
    first_.insert(first_.end(), steps.begin(), steps.end());
    for (Possibility& possibility : possible_) {
      possibility.world = world_after(*possibility.scenario, possibility.world, steps);
    }
  }

  /// The quickest plan that works in every world; where the search is too much or its plan fails, a good one.
  bool try_plans() {
    const PlaceId place = place_now();
    const CureRules rules{asked_, cure_.aim, outlook(), options_, isolated_};
    if (const auto plan = search_cure(rules, place, options_.effort); plan && works(rules, *plan))
      return true;
    if (const auto plan = tour_cure(rules, place, options_); plan && works(rules, *plan)) return true;
    return wait_and_try();
  }

  [[nodiscard]] std::vector<Outlook> outlook() const {
    std::vector<Outlook> all = outlooks(asked_, cure_.aim, possible_);
    return options_.afresh ? doubtful(asked_, cure_.aim, std::move(all)) : all;
  }

  /// Nothing is surer than to leave everything alone until nobody is in setup any more.
  bool wait_and_try() {
    add_in_every_world({wait_step(site().longest([](const Family& each) {
      return std::max(each.plate.time_out.after, each.module.time_out.after);
    }) + std::chrono::seconds{1})});
    const CureRules rules{asked_, cure_.aim, outlook(), options_, isolated_};
    if (const auto plan = tour_cure(rules, place_now(), options_); plan && works(rules, *plan)) return true;
    if (cure_.reasons.empty())
      cure_.reasons.push_back(tr("No sequence of presses was found that ends well."));
    return false;
  }

  bool works(const CureRules& rules, const CurePlan& plan) {
    std::vector<Step> steps;
    for (const CureAction& action : plan.actions) rules.add_steps(action, steps);
    settle(steps);
    cure_.reasons.clear();
    std::vector<World> worlds;
    for (const Possibility& possibility : possible_) {
      const Rehearsal rehearsal = rehearse(*possibility.scenario, possibility.world, steps, false);
      cure_.reasons = offers_amiss(site(), cure_.aim, rules.lit(), rehearsal);
      if (!cure_.reasons.empty()) return false;
      worlds.push_back(rehearsal.world);
    }
    const SceneWork scenes = scenes_for(worlds);
    const std::vector<SceneLine> written_scenes = written_lines_for(worlds);
    for (std::size_t i = 0; i < worlds.size() && cure_.reasons.empty(); ++i) {
      const Scenario& its_own = *possible_[i].scenario;
      if (!scenes.steps.empty()) worlds[i] = world_after(its_own, worlds[i], scenes.steps);
      cure_.reasons = amiss(its_own, cure_.aim, worlds[i]);
    }
    if (!cure_.reasons.empty()) return false;
    cure_.steps = first_;
    cure_.steps.insert(cure_.steps.end(), steps.begin(), steps.end());
    cure_.addressed = cure_.steps.size();
    cure_.steps.insert(cure_.steps.end(), scenes.steps.begin(), scenes.steps.end());
    scenes_ = scenes.lines;
    written_scenes_ = written_scenes;
    cure_.opens = std::any_of(cure_.steps.begin(), cure_.steps.end(),
                              [](const Step& step) { return step.kind == StepKind::power && !step.on; });
    // Of the order in which scenes are stored nothing was proved.
    cure_.shortest = plan.shortest && scenes.steps.empty();
    cure_.end = Cure::End::found;
    return true;
  }

  /// What these keys cannot make stays as it is, and is told.
  void tell_scenes_let_go() {
    const Site aimed = aimed_site(asked_, cure_.aim);
    std::vector<unsigned> all;
    ModuleMemory none;
    none.scenes = no_scenes();
    for (const ModuleSpec& module : aimed.modules) all.push_back(scenes_to_store(module, none));
    const SceneWork work = scene_work(aimed, asked_.times, all);
    cure_.aim.changes.insert(cure_.aim.changes.end(), work.cannot.begin(), work.cannot.end());
  }

  /// Scenes that are not as they are to be in some world, once every address holds.
  [[nodiscard]] SceneWork scenes_for(const std::vector<World>& worlds) const {
    const Site aimed = aimed_site(asked_, cure_.aim);
    std::vector<unsigned> wanted(aimed.modules.size(), 0);
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      for (const World& world : worlds) wanted[i] |= scenes_to_mend(asked_, cure_.aim, world, i);
    }
    return scene_work(aimed, asked_.times, wanted);
  }

  [[nodiscard]] std::vector<SceneLine> written_lines_for(const std::vector<World>& worlds) const {
    const Speaking as_written{nullptr};
    return scenes_for(worlds).lines;
  }

  /// The last thing assigned has to be written before anybody looks.
  void settle(std::vector<Step>& steps) const {
    const sim::Duration needed =
        site().longest([](const Family& each) { return each.module.store; }) + std::chrono::milliseconds{100};
    const bool writes = !steps.empty() && steps.back().kind == StepKind::press;
    if (!writes || asked_.times.pause >= needed) return;
    steps.push_back(wait_step(needed));
  }

  void tell_it() {
    std::vector<Rehearsal> rehearsals;
    for (const Possibility& possibility : original_) {
      rehearsals.push_back(rehearse(*possibility.scenario, possibility.world, cure_.steps, true));
    }
    cure_.time = rehearsals.front().world.now - original_.front().world.now;
    cure_.lines = lines(rehearsals, scenes_);
    const Speaking as_written{nullptr};
    cure_.written_lines = lines(rehearsals, written_scenes_);
  }

  [[nodiscard]] std::vector<CureLine> lines(const std::vector<Rehearsal>& rehearsals,
                                            const std::vector<SceneLine>& scenes) const {
    const std::span<const Step> all{cure_.steps};
    std::vector<CureLine> told = tell(asked_, cure_.aim, original_.front().world.people[0].place,
                                      all.first(cure_.addressed), rehearsals);
    for (const SceneLine& line : scenes) {
      const auto first = cure_.addressed + line.first_step;
      told.push_back(
          {first, line.steps, line.text, {}, load_caution(site(), all.subspan(first, line.steps))});
    }
    return told;
  }

  const Scenario& asked_;
  std::vector<Possibility> possible_;  ///< as they stand after the steps that come first
  const std::vector<Possibility> original_ = possible_;
  RecoverOptions options_;
  bool isolated_ = false;  ///< after the steps that come first
  std::vector<Step> first_;
  std::vector<SceneLine> scenes_;
  std::vector<SceneLine> written_scenes_;  ///< the same in the words that the sources have
  Cure cure_;
};

}  // namespace

Scenario with_aim(const Scenario& scenario, const Aim& aim) {
  Scenario aimed = scenario;
  for (std::size_t i = 0; i < aim.addresses.size(); ++i) {
    if (aimed.site.modules[i].intended) aimed.site.modules[i].intended = aim.addresses[i];
  }
  return aimed;
}

std::vector<std::string> amiss(const Scenario& scenario, const Aim& aim, const World& world) {
  return Judgement{scenario, aim, world}.amiss();
}

bool is_as_aimed(const Scenario& scenario, const Aim& aim, const World& world) {
  return amiss(scenario, aim, world).empty();
}

Cure recover(const Scenario& asked, std::span<const Possibility> possible, const RecoverOptions& options) {
  Cure cure = Curing{asked, possible, options}.find();
  if (cure.end != Cure::End::no_cure || !cure.aim.obstacles.empty()) return cure;
  // Rather one that leaves little time than none. Who asked for a larger reserve than usual means it.
  constexpr unsigned hurried = 10;
  if (options.reserve_percent <= hurried || options.reserve_percent > RecoverOptions{}.reserve_percent)
    return cure;
  RecoverOptions in_a_hurry = options;
  in_a_hurry.reserve_percent = hurried;
  Cure quick = Curing{asked, possible, in_a_hurry}.find();
  if (quick.end != Cure::End::found) return cure;
  quick.lines.insert(quick.lines.begin(), {0, 0, std::string{in_words_spoken(no_time_to_lose)}, {}, {}});
  return quick;
}

}  // namespace drybus::model
