#include "model/hunt/shrink.h"

#include <algorithm>
#include <utility>

#include "sim/shrink.h"

namespace drybus::model {

namespace {

/// One thing that can be left out: a step, or one of several checks of a step.
struct Part {
  StepRef step;
  std::optional<std::uint32_t> check;  ///< index into Scenario::checks
};

/// Works a scenario down. Scripts keep their people, and steps remember which ones of the original they are.
class Shrinker {
 public:
  Shrinker(const Scenario& original, const FailureReason& reason)
      : original_(original),
        reason_(reason),
        failed_before_(failing_by(original, reason).value_or(std::vector<std::string>{})) {
    result_.scenario = original;
    for (std::uint32_t person = 0; person < original.people.size(); ++person) {
      for (std::uint32_t step = 0; step < original.people[person].script.size(); ++step) {
        result_.kept.push_back({person, step});
      }
    }
    for (std::size_t i = 0; i < original.site.device_count(); ++i)
      devices_.push_back(static_cast<DeviceId>(i));
  }

  Shrunk shrink() {
    // A shorter wait can make a step needless, and a step that is gone a device: again, until nothing goes
    // any more.
    for (bool smaller = true; smaller;) {
      smaller = leave_out_steps();
      smaller = leave_out_devices() || smaller;
      smaller = shorten_waits() || smaller;
      smaller = drop_hours() || smaller;
    }
    forget_idle_people();
    forget_empty_places();
    compact_checks();
    note_removed();
    find_free_times();
    return std::move(result_);
  }

 private:
  bool fails(const Scenario& scenario) {
    ++result_.runs;
    const auto failing = failing_by(scenario, reason_);
    return failing && std::all_of(failing->begin(), failing->end(), [&](const std::string& check) {
             return std::find(failed_before_.begin(), failed_before_.end(), check) != failed_before_.end();
           });
  }

  // --- steps ---

  [[nodiscard]] std::vector<Part> parts() const {
    std::vector<Part> all;
    for (std::uint32_t person = 0; person < result_.scenario.people.size(); ++person) {
      const auto& script = result_.scenario.people[person].script;
      for (std::uint32_t step = 0; step < script.size(); ++step) {
        if (script[step].checks.empty()) all.push_back({{person, step}, std::nullopt});
        for (const std::uint32_t check : script[step].checks) all.push_back({{person, step}, check});
      }
    }
    return all;
  }

  /// The scenario with these parts alone, and which of the present steps they belong to.
  [[nodiscard]] Scenario only(const std::vector<Part>& all, const sim::Parts& kept,
                              std::vector<StepRef>* origins = nullptr) const {
    Scenario scenario = result_.scenario;
    for (Person& person : scenario.people) person.script.clear();
    std::optional<StepRef> last;
    for (const std::size_t index : kept) {
      const Part& part = all[index];
      auto& script = scenario.people[part.step.person].script;
      if (!last || *last != part.step) {
        script.push_back(result_.scenario.people[part.step.person].script[part.step.step]);
        script.back().checks.clear();
        if (origins != nullptr) origins->push_back(origin(part.step));
      }
      if (part.check) script.back().checks.push_back(*part.check);
      last = part.step;
    }
    return scenario;
  }

  [[nodiscard]] StepRef origin(const StepRef& step) const {
    std::size_t place = step.step;
    for (std::size_t person = 0; person < step.person; ++person) {
      place += result_.scenario.people[person].script.size();
    }
    return result_.kept[place];
  }

  bool leave_out_steps() {
    const std::vector<Part> all = parts();
    const sim::Parts kept =
        sim::minimise(all.size(), [&](const sim::Parts& some) { return fails(only(all, some)); });
    if (kept.size() == all.size()) return false;
    std::vector<StepRef> origins;
    result_.scenario = only(all, kept, &origins);
    result_.kept = std::move(origins);
    return true;
  }

  // --- devices ---

  /// The scenario without some of the devices; nothing when one of them cannot go.
  [[nodiscard]] std::optional<Scenario> without(const std::vector<std::size_t>& gone) const {
    std::optional<Scenario> scenario = result_.scenario;
    for (auto device = gone.rbegin(); device != gone.rend() && scenario; ++device) {
      scenario = without_device(*scenario, static_cast<DeviceId>(*device));
    }
    return scenario;
  }

  bool leave_out_devices() {
    std::vector<std::size_t> idle;
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      if (without_device(result_.scenario, static_cast<DeviceId>(i))) idle.push_back(i);
    }
    const auto gone = [&](const sim::Parts& kept) {
      std::vector<std::size_t> devices;
      for (std::size_t i = 0; i < idle.size(); ++i) {
        if (!std::binary_search(kept.begin(), kept.end(), i)) devices.push_back(idle[i]);
      }
      return devices;
    };
    const sim::Parts kept = sim::minimise(idle.size(), [&](const sim::Parts& some) {
      const auto scenario = without(gone(some));
      return scenario && fails(*scenario);
    });
    const std::vector<std::size_t> devices = gone(kept);
    if (devices.empty()) return false;
    result_.scenario = *without(devices);
    for (auto device = devices.rbegin(); device != devices.rend(); ++device) {
      devices_.erase(devices_.begin() + static_cast<std::ptrdiff_t>(*device));
    }
    return true;
  }

  // --- times ---

  bool shorten_waits() {
    bool shorter = false;
    for (std::uint32_t person = 0; person < result_.scenario.people.size(); ++person) {
      for (std::uint32_t step = 0; step < result_.scenario.people[person].script.size(); ++step) {
        if (result_.scenario.people[person].script[step].kind != StepKind::wait) continue;
        shorter =
            shorten({FreeTime::Kind::wait, {person, step}, no_place, no_place, {}, {}, {}, false}) || shorter;
      }
    }
    return shorter;
  }

  bool shorten(FreeTime wait) {
    wait.now = result_.scenario.people[wait.step.person].script[wait.step.step].duration;
    const std::int64_t steps = how_far(wait, -1).steps;
    if (steps == 0) return false;
    result_.scenario = with_time(result_.scenario, wait, wait.now - steps * shrink_resolution);
    return true;
  }

  /// A step may come as soon as the one before it is done.
  bool drop_hours() {
    bool dropped = false;
    for (std::size_t person = 0; person < result_.scenario.people.size(); ++person) {
      for (std::size_t step = 0; step < result_.scenario.people[person].script.size(); ++step) {
        if (!result_.scenario.people[person].script[step].at) continue;
        Scenario sooner = result_.scenario;
        sooner.people[person].script[step].at.reset();
        if (!fails(sooner)) continue;
        result_.scenario = std::move(sooner);
        dropped = true;
      }
    }
    return dropped;
  }

  /// How many steps of the resolution a time can be changed by in one direction. A press lasts for some time.
  sim::Reach how_far(const FreeTime& free, int direction) {
    const bool lasts = free.kind == FreeTime::Kind::press || free.kind == FreeTime::Kind::hold;
    const sim::Duration least = lasts ? sim::Duration{1} : sim::Duration::zero();
    const std::int64_t most = (direction > 0 ? longest_tried : free.now - least) / shrink_resolution;
    return sim::reach(most, [&](std::int64_t steps) {
      return steps == 0 ||
             fails(with_time(result_.scenario, free, free.now + direction * steps * shrink_resolution));
    });
  }

  void find_free_times() {
    for (const FreeTime& each : times()) {
      FreeTime free = each;
      free.least = free.now - how_far(free, -1).steps * shrink_resolution;
      const sim::Reach longer = how_far(free, 1);
      free.greatest = free.now + longer.steps * shrink_resolution;
      free.open_ended = !longer.ended;
      result_.free.push_back(free);
    }
  }

  [[nodiscard]] std::vector<FreeTime> times() const {
    std::vector<FreeTime> all;
    for (std::uint32_t person = 0; person < result_.scenario.people.size(); ++person) {
      PlaceId stands = result_.scenario.people[person].place;
      const auto& script = result_.scenario.people[person].script;
      for (std::uint32_t i = 0; i < script.size(); ++i) {
        add_walk(script[i], stands, all);
        add_times({person, i}, script[i], all);
      }
    }
    return all;
  }

  void add_walk(const Step& step, PlaceId& stands, std::vector<FreeTime>& all) const {
    const auto there = place_for(result_.scenario.site, step);
    if (!there || *there == stands) return;
    const PlaceId from = std::exchange(stands, *there);
    const bool known = std::any_of(all.begin(), all.end(), [&](const FreeTime& free) {
      return free.kind == FreeTime::Kind::walk && free.from == from && free.to == *there;
    });
    if (known) return;
    all.push_back(
        {FreeTime::Kind::walk, {}, from, *there, result_.scenario.site.walk(from, *there), {}, {}, false});
  }

  static void add_times(const StepRef& ref, const Step& step, std::vector<FreeTime>& all) {
    const auto add = [&](FreeTime::Kind kind, sim::Duration now) {
      all.push_back({kind, ref, no_place, no_place, now, {}, {}, false});
    };
    if (step.at) add(FreeTime::Kind::at, step.at->time_since_epoch());
    if (step.kind == StepKind::wait) add(FreeTime::Kind::wait, step.duration);
    if (step.kind == StepKind::press) add(FreeTime::Kind::press, step.duration);
    if (step.kind == StepKind::hold) add(FreeTime::Kind::hold, step.duration);
  }

  // --- tidying up ---

  /// Somebody who does nothing is not needed, the installer apart.
  void forget_idle_people() {
    auto& people = result_.scenario.people;
    people.erase(
        std::remove_if(people.begin() + 1, people.end(), [](const Person& p) { return p.script.empty(); }),
        people.end());
  }

  /// Every place that something refers to: devices, people and walks.
  template <class Visit>
  static void for_each_place(Scenario& scenario, Visit&& visit) {
    for (PlateSpec& plate : scenario.site.plates) visit(plate.place);
    for (ModuleSpec& module : scenario.site.modules) visit(module.place);
    for (Person& person : scenario.people) {
      visit(person.place);
      for (Step& step : person.script) {
        if (step.kind == StepKind::walk) visit(step.place);
      }
    }
  }

  /// Walks between the places that are left take as long as ever, even if they led by way of one that is
  /// gone.
  void forget_empty_places() {
    Site& site = result_.scenario.site;
    std::vector<PlaceId> new_id(site.places.size(), no_place);
    for_each_place(result_.scenario, [&](PlaceId place) { new_id[place] = 0; });
    std::vector<Place> places;
    for (PlaceId place = 0; place < site.places.size(); ++place) {
      if (new_id[place] == no_place) continue;
      new_id[place] = static_cast<PlaceId>(places.size());
      places.push_back(site.places[place]);
      result_.kept_places.push_back(place);
    }
    std::vector<sim::Duration> walks;
    for (const PlaceId from : result_.kept_places) {
      for (const PlaceId to : result_.kept_places) walks.push_back(site.walk(from, to));
    }
    site.places = std::move(places);
    site.walks = std::move(walks);
    for_each_place(result_.scenario, [&](PlaceId& place) { place = new_id[place]; });
  }

  void compact_checks() {
    std::vector<Check> used;
    for (Person& person : result_.scenario.people) {
      for (Step& step : person.script) {
        for (std::uint32_t& check : step.checks) {
          used.push_back(result_.scenario.checks[check]);
          check = static_cast<std::uint32_t>(used.size() - 1);
        }
      }
    }
    result_.scenario.checks = std::move(used);
  }

  void note_removed() {
    for (std::uint32_t person = 0; person < original_.people.size(); ++person) {
      for (std::uint32_t step = 0; step < original_.people[person].script.size(); ++step) {
        const StepRef ref{person, step};
        if (std::find(result_.kept.begin(), result_.kept.end(), ref) == result_.kept.end()) {
          result_.removed.push_back(ref);
        }
      }
    }
    for (std::size_t i = 0; i < original_.site.device_count(); ++i) {
      const auto device = static_cast<DeviceId>(i);
      if (!std::binary_search(devices_.begin(), devices_.end(), device))
        result_.removed_devices.push_back(device);
    }
    note_shorter_waits();
  }

  void note_shorter_waits() {
    std::size_t place = 0;
    for (const Person& person : result_.scenario.people) {
      for (const Step& step : person.script) {
        const StepRef ref = result_.kept[place++];
        const sim::Duration before = original_.people[ref.person].script[ref.step].duration;
        if (before != step.duration) result_.shorter.push_back({ref, before, step.duration});
      }
    }
  }

  const Scenario& original_;
  const FailureReason& reason_;
  std::vector<std::string> failed_before_;
  Shrunk result_;
  std::vector<DeviceId> devices_;  ///< of the original, for each device left
};

}  // namespace

Shrunk shrink(const Scenario& scenario, const FailureReason& reason) {
  return Shrinker{scenario, reason}.shrink();
}

Scenario with_time(const Scenario& scenario, const FreeTime& free, sim::Duration time) {
  Scenario changed = scenario;
  switch (free.kind) {
    case FreeTime::Kind::walk:
      changed.site.walks[free.from * scenario.site.places.size() + free.to] = time;
      return changed;
    case FreeTime::Kind::at:
      changed.people[free.step.person].script[free.step.step].at = sim::start_of_run + time;
      return changed;
    case FreeTime::Kind::wait:
    case FreeTime::Kind::press:
    case FreeTime::Kind::hold:
      changed.people[free.step.person].script[free.step.step].duration = time;
      return changed;
  }
  return changed;
}

}  // namespace drybus::model
