#include "tools/script/step_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/keys.h"
#include "tools/script/site_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace fs = std::filesystem;

using model::DeviceId;
using model::Step;
using model::StepKind;

namespace {

constexpr std::array<std::string_view, 2> on_off_words = {"off", "on"};

/// A key that goes with certain actions only.
struct Companion {
  std::string_view key;
  std::array<std::string_view, 2> actions;
};
constexpr std::array<Companion, 3> companions = {
    {{"for", {"press", "hold"}}, {"bounce", {"press", "hold"}}, {"steps", {"repeat", "repeat"}}}};

/// Before a time that is only about right.
constexpr std::string_view about = "about ";

bool is_action(std::string_view key) {
  // These are some in reports only, where alone they are known keys.
  return key == "seen" || key == "addressed" ||
         std::find(keys::actions.begin(), keys::actions.end(), key) != keys::actions.end();
}

}  // namespace

// --- a script as a whole ---

void StepReader::read(const Node& list, model::Person& person) {
  const std::size_t before = complaints_.count();
  Steps steps;
  steps_of_others_ += steps_read_;
  steps_read_ = 0;
  full_ = false;
  includes_ = 0;
  including_ = {fs::path{complaints_.sources()[list.place.mark.file].path}.lexically_normal()};
  read_list(list, steps);
  person.script = std::move(steps.steps);
  if (person.place == model::no_place) person.place = model::first_place(index_.site(), person.script);
  if (complaints_.count() == before && family_ != nullptr) check_times(steps, person);
}

void StepReader::check_times(const Steps& steps, const model::Person& person) {
  const model::Timetable times = model::timetable(index_.site(), scenario_.times, person);
  if (!times.late.empty()) {
    const model::LateStep& late = times.late.front();
    complaints_.add(steps.at_places[late.step],
                    tr("it is already {} when this step is reached", model::clock_text(late.reached)),
                    tr("a time not before {}", exact_duration(late.reached.time_since_epoch())));
  } else if (times.ends - sim::start_of_run >= model::longest_run) {
    complaints_.add(steps.at_places.back(), tr("this script goes on for longer than ten years"));
  }
}

void StepReader::read_list(const Node& list, Steps& into) {
  if (!is_kind(complaints_, list, Node::Kind::list, msg_as("what", "a script"))) return;
  for (const Node* step : list.items) {
    if (full_) return;
    read_step(*step, into);
  }
}

bool StepReader::room_for(std::size_t steps, std::size_t checks, const Place& place) {
  if (full_) return false;
  if (steps_read_ + steps > max_steps) {
    complaints_.add(place, tr("more than {} steps", max_steps));
    full_ = true;
  } else if (steps_of_others_ + steps_read_ + steps > max_steps_of_all) {
    complaints_.add(place, tr("more than {} steps, all people together", max_steps_of_all));
    full_ = true;
  } else if (scenario_.checks.size() + checks > max_checks) {
    complaints_.add(place, tr("more than {} checks", max_checks));
    full_ = true;
  }
  return !full_;
}

void StepReader::add(Steps& to, Step step, const Place& place) {
  if (!room_for(1, 0, place)) return;
  step.mark = place.mark;
  to.steps.push_back(std::move(step));
  to.at_places.push_back(place);
  ++steps_read_;
}

/// Writes steps out once more; each repetition has checks of its own.
void StepReader::append(Steps& to, const Steps& from) {
  to.at_places.insert(to.at_places.end(), from.at_places.begin(), from.at_places.end());
  for (Step step : from.steps) {
    for (std::uint32_t& check : step.checks) {
      scenario_.checks.push_back(scenario_.checks[check]);
      check = static_cast<std::uint32_t>(scenario_.checks.size() - 1);
    }
    to.steps.push_back(std::move(step));
  }
  steps_read_ += from.steps.size();
}

// --- one step ---

void StepReader::read_step(const Node& node, Steps& into) {
  if (node.kind == Node::Kind::word && is_action(node.text.substr(0, node.text.find(' ')))) {
    const std::string action = node.text.substr(0, node.text.find(' '));
    complaints_.add(
        node.place, tr("a colon is missing after '{}'", action), "",
        fmt::format("{}: {}", action,
                    node.text.size() > action.size() ? node.text.substr(action.size() + 1) : "..."));
    return;
  }
  const Fields fields{complaints_, node, msg_as("what", "a step"),
                      told_ != nullptr ? Words{keys::told_step} : Words{keys::step}};
  if (node.kind != Node::Kind::map) return;
  const auto action = find_action(node);
  if (!action) {
    if (!fields.has_unknown())
      complaints_.add(node.place, tr("this step does nothing"),
                      tr("an action such as press, hold, wait or see"));
    return;
  }
  refuse_strays(node, action->key);
  const std::size_t first = into.steps.size();
  carry_out(node, *action, into);
  read_common(node, into, first);
  if (told_ != nullptr) read_unsure(node, action->key, action->place);
}

std::optional<StepReader::Action> StepReader::find_action(const Node& node) {
  std::optional<Action> action;
  for (const Node::Entry& entry : node.entries) {
    if (!is_action(entry.key->text)) continue;
    if (!action) {
      action = Action{entry.key->text, entry.value, entry.key->place};
    } else {
      complaints_.add(entry.key->place,
                      tr("a step does one thing, and this one already has '{}'", action->key),
                      tr("'- {}:' as a step of its own", entry.key->text));
    }
  }
  return action;
}

void StepReader::refuse_strays(const Node& node, std::string_view action) {
  for (const Node::Entry& entry : node.entries) {
    const auto companion = std::find_if(companions.begin(), companions.end(),
                                        [&](const Companion& c) { return c.key == entry.key->text; });
    if (companion == companions.end()) continue;
    const auto& [first, second] = companion->actions;
    if (action == first || action == second) continue;
    complaints_.add(entry.key->place,
                    first == second ? tr("'{}' goes with '{}'", companion->key, first)
                                    : tr("'{}' goes with '{}' and '{}'", companion->key, first, second));
  }
}

void StepReader::carry_out(const Node& node, const Action& action, Steps& into) {
  if (action.key == "press") return read_push(node, action, StepKind::press, into);
  if (action.key == "hold") return read_push(node, action, StepKind::hold, into);
  if (action.key == "wait") return read_wait(action, into);
  if (action.key == "walk") return read_walk(action, into);
  if (action.key == "switches") return read_switches(action, into);
  if (action.key == "power") return read_power(action, into);
  if (action.key == "fault") return read_fault(action, into);
  if (action.key == "see" || action.key == "seen") return read_checks(action, true, into);
  if (action.key == "addressed") return read_addressed(action, into);
  if (action.key == "expect" && told_ != nullptr) {
    complaints_.add(action.place, tr("nobody on the telephone knows what is really so"),
                    tr("'seen' for what is seen"));
    return;
  }
  if (action.key == "expect") return read_checks(action, false, into);
  if (action.key == "note") return read_note(action, into);
  if (action.key == "repeat") return read_repeat(node, action, into);
  return read_include(action, into);
}

/// `at`, `text` and `comment`, for the steps from `first` on that came of one.
void StepReader::read_common(const Node& node, Steps& steps, std::size_t first) {
  const Node* at = node.find("at");
  const Node* text = node.find("text");
  const Node* comment = node.find("comment");
  std::optional<sim::Duration> when;
  if (at != nullptr) when = read_quantity(complaints_, *at, parse_duration);
  if (text != nullptr && comment != nullptr) {
    complaints_.add(comment->place, tr("'text' and 'comment' are the same thing; one is enough"));
  }
  std::optional<std::string> remark;
  if (const Node* written = text != nullptr ? text : comment) remark = read_text(complaints_, *written);
  if (first >= steps.steps.size()) return;
  if (remark && node.find("note") != nullptr) {
    complaints_.add((text != nullptr ? text : comment)->place, tr("a note already has its text"));
  } else if (remark) {
    steps.steps[first].text = *remark;
  }
  if (!when) return;
  if (steps.steps[first].at) {
    complaints_.add(at->place, tr("the first step within has an 'at' of its own"));
    return;
  }
  steps.steps[first].at = sim::start_of_run + *when;
  steps.at_places[first] = at->place;
}

/// A time, which a report may give as "about 4 min".
std::optional<sim::Duration> StepReader::read_time(const Node& node, const Place& step) {
  const auto text = read_text(complaints_, node);
  if (!text) return std::nullopt;
  const bool loose = told_ != nullptr && text->starts_with(about);
  const auto time =
      parse_duration(loose ? std::string_view{*text}.substr(about.size()) : std::string_view{*text});
  if (!time) {
    complain_of(complaints_, node, time.error());
    return std::nullopt;
  }
  if (loose) told_->loose.insert(ToldSteps::where(step.mark));
  return *time;
}

// --- press and hold ---

void StepReader::read_push(const Node& node, const Action& action, StepKind kind, Steps& into) {
  Step step;
  step.kind = kind;
  step.duration = scenario_.times.press;
  const Node* duration = node.find("for");
  if (duration != nullptr) {
    const auto time = read_time(*duration, action.place);
    if (time && *time <= sim::Duration::zero()) {
      complaints_.add(duration->place, tr("no time at all"), tr("a time longer than none, such as 200ms"));
    } else if (time) {
      step.duration = *time;
    }
  }
  if (duration == nullptr && kind == StepKind::hold) {
    complaints_.add(action.place, tr("a hold needs how long: 'for'"), tr("for: 5s beside it"));
  }
  if (const Node* bounce = node.find("bounce")) {
    read_quantity_into(complaints_, bounce, parse_duration, step.bounce);
    if (step.bounce > step.duration) {
      complaints_.add(bounce->place, tr("a contact cannot bounce for longer than the press"),
                      tr("at most {}", exact_duration(step.duration)));
    }
  }
  if (read_buttons(*action.value, step)) add(into, std::move(step), action.place);
}

bool StepReader::read_buttons(const Node& value, Step& step) {
  const auto text = read_text(complaints_, value);
  if (!text) return false;
  const std::size_t named = index_.device_name_in(*text);
  if (named == 0) {
    complaints_.add(value.place, tr("a value is missing"), tr("a device and its button, such as P1 up"));
    return false;
  }
  const std::size_t begins = text->find_first_not_of(" \t\n");
  const std::string name = text->substr(begins, named - begins);
  const auto device = index_.device(value.place_of(begins, name.size()), name);
  if (!device) return false;
  step.device = *device;
  const auto buttons = words::split(std::string_view{*text}.substr(named));
  if (buttons.empty()) {
    step.buttons = 1;  // a module has but one
    if (!index_.site().is_plate(*device)) return true;
    complaints_.add(
        value.place, tr("which button of {}?", name),
        family_ == nullptr ? tr("a button") : one_of(index_.site().plate_family(*device).buttons));
    return false;
  }
  for (const words::Part& each : buttons) {
    const auto button = read_button(value, *device, each.text, named + each.offset);
    if (!button) return false;
    if ((step.buttons & *button) != 0) {
      complaints_.add(value.place_of(named + each.offset, each.text.size()),
                      tr("'{}' is named twice", each.text), tr("each button once"));
      return false;
    }
    step.buttons |= *button;
  }
  return true;
}

std::optional<model::Buttons> StepReader::read_button(const Node& value, DeviceId device,
                                                      std::string_view name, std::size_t offset) {
  if (family_ == nullptr) return model::Buttons{1};
  const bool plate = index_.site().is_plate(device);
  const std::vector<std::string> buttons =
      plate ? index_.site().plate_family(device).buttons
            : std::vector<std::string>{index_.site().module_family(device).button};
  const auto found = std::find(buttons.begin(), buttons.end(), name);
  if (found != buttons.end()) return model::only(static_cast<model::Button>(found - buttons.begin()));
  complain_of_unknown(complaints_, value.place_of(offset, name.size()), msg_as("what", "button"), name,
                      std::span<const std::string>{buttons});
  return std::nullopt;
}

// --- wait, walk, switches, power, note ---

void StepReader::read_wait(const Action& action, Steps& into) {
  Step step;
  step.kind = StepKind::wait;
  const auto time = read_time(*action.value, action.place);
  if (!time) return;
  step.duration = *time;
  add(into, std::move(step), action.place);
}

void StepReader::read_walk(const Action& action, Steps& into) {
  Step step;
  step.kind = StepKind::walk;
  const auto name = read_text(complaints_, *action.value);
  const auto place = name ? index_.place(action.value->place, *name) : std::nullopt;
  if (!place) return;
  step.place = *place;
  add(into, std::move(step), action.place);
}

void StepReader::read_switches(const Action& action, Steps& into) {
  if (!is_kind(complaints_, *action.value, Node::Kind::map, "switches")) return;
  if (action.value->entries.empty())
    complaints_.add(action.value->place, tr("no plate"), tr("{{P1: {{zone: 5}}}}"));
  for (const Node::Entry& entry : action.value->entries) {
    const auto device = index_.device(entry.key->place, entry.key->text);
    const Fields fields{complaints_, *entry.value, "switches", keys::switches};
    if (!device || entry.value->kind != Node::Kind::map) continue;
    if (!index_.site().is_plate(*device)) {
      complaints_.add(entry.key->place, tr("'{}' is a module; only plates have switches", entry.key->text));
      continue;
    }
    Step step;
    step.kind = StepKind::switches;
    step.device = *device;
    const Node* site = fields.find("site");
    const Node* zone = fields.find("zone");
    if (site == nullptr && zone == nullptr && !fields.has_unknown())
      complaints_.add(entry.value->place, tr("neither a site nor a zone"), "{zone: 5}");
    if (site != nullptr) {
      read_switch_number(complaints_, *site,
                         family_ ? &index_.site().plate_family(*device).site_switches : nullptr,
                         step.site.emplace(0));
    }
    if (zone != nullptr) {
      read_switch_number(complaints_, *zone,
                         family_ ? &index_.site().plate_family(*device).zone_switches : nullptr,
                         step.zone.emplace(0));
    }
    add(into, std::move(step), action.place);
  }
}

void StepReader::read_power(const Action& action, Steps& into) {
  Step step;
  step.kind = StepKind::power;
  if (action.value->kind != Node::Kind::map) {
    const auto choice =
        read_choice(complaints_, *action.value, msg_as("what", "state of power"), on_off_words);
    if (!choice) return;
    step.on = *choice == 1;
    return add(into, std::move(step), action.place);
  }
  if (action.value->entries.empty())
    complaints_.add(action.value->place, tr("no device"), tr("{{M2: off}} or {{all: off}}"));
  for (const Node::Entry& entry : action.value->entries) {
    step.device = model::no_device;
    const bool all = entry.key->text == "all";
    const auto device = all ? std::nullopt : index_.device(entry.key->place, entry.key->text);
    const auto choice =
        read_choice(complaints_, *entry.value, msg_as("what", "state of power"), on_off_words);
    if (!choice || (!all && !device)) continue;
    step.device = device.value_or(model::no_device);
    step.on = *choice == 1;
    add(into, step, action.place);
  }
}

void StepReader::read_note(const Action& action, Steps& into) {
  Step step;
  step.kind = StepKind::note;
  const auto text = read_text(complaints_, *action.value);
  if (!text) return;
  step.text = *text;
  add(into, std::move(step), action.place);
}

// --- repeat and include ---

void StepReader::read_repeat(const Node& node, const Action& action, Steps& into) {
  const auto times = read_whole(complaints_, *action.value, 1, max_steps);
  const Node* list = node.find("steps");
  if (list == nullptr) {
    complaints_.add(action.place, tr("what is to be repeated?"), tr("steps: [...] beside it"));
    return;
  }
  const std::size_t checks_before = scenario_.checks.size();
  Steps once;
  read_list(*list, once);
  if (list->kind == Node::Kind::list && list->items.empty()) complaints_.add(list->place, tr("no steps"));
  if (!times || full_) return;
  const std::size_t checks = scenario_.checks.size() - checks_before;
  if (!room_for(once.steps.size() * (*times - 1), checks * (*times - 1), action.place)) return;
  into.steps.insert(into.steps.end(), once.steps.begin(), once.steps.end());
  into.at_places.insert(into.at_places.end(), once.at_places.begin(), once.at_places.end());
  for (std::uint64_t i = 1; i < *times; ++i) append(into, once);
}

void StepReader::read_include(const Action& action, Steps& into) {
  const auto name = read_text(complaints_, *action.value);
  if (!name) return;
  const Place& place = action.value->place;
  const fs::path path = (loader_.folder_of(place) / *name).lexically_normal();
  if (std::find(including_.begin(), including_.end(), path) != including_.end()) {
    complaints_.add(place, tr("'{}' would include itself", *name));
    return;
  }
  if (including_.size() > max_include_depth || ++includes_ > max_includes) {
    complaints_.add(place, tr("more than {} files deep, or {} in all", max_include_depth, max_includes));
    full_ = true;
    return;
  }
  const Node* root = loader_.load(path, &place);
  if (root == nullptr) return;
  const Fields fields{complaints_, *root, msg_as("what", "a file of steps"), keys::steps_file};
  const Node* steps = fields.need("steps");
  if (steps == nullptr) return;
  including_.push_back(path);
  read_list(*steps, into);
  including_.pop_back();
}

}  // namespace drybus::tools
