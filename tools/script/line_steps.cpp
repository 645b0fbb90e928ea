#include "tools/script/line_steps.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/iec62386/finding_kinds.h"
#include "model/iec62386/simulation.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/line_keys.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

using iec62386::Check;
using iec62386::Fact;
using iec62386::FaultKind;
using iec62386::Index;
using iec62386::no_index;
using iec62386::StepKind;

namespace {

constexpr std::size_t most_steps = 20'000;
constexpr std::size_t most_checks = 20'000;

bool is_line_action(std::string_view key) {
  return std::find(keys::line::actions.begin(), keys::line::actions.end(), key) != keys::line::actions.end();
}

/// "name new: each 15 s", as the story tells a step.
std::string said_of(const Node& node) {
  std::string said;
  const auto value_text = [](const Node& value) {
    if (value.kind == Node::Kind::word) return value.text;
    std::string all;
    for (const Node::Entry& entry : value.entries)
      all += fmt::format("{}{} {}", all.empty() ? "" : ", ", entry.key->text, entry.value->text);
    for (const Node* item : value.items) all += fmt::format("{}{}", all.empty() ? "" : ", ", item->text);
    return all;
  };
  for (const Node::Entry& entry : node.entries) {
    const std::string& key = entry.key->text;
    if (key == "text" || key == "comment" || key == "at") continue;
    if (key == "note") return entry.value->text;
    const bool swap = key == "holds";
    said += fmt::format("{}{} {}", said.empty() ? "" : ", ", swap ? "which holds" : key,
                        value_text(*entry.value));
  }
  return said;
}

}  // namespace

void LineStepReader::read(const Node& list, std::size_t who) {
  if (!is_kind(complaints_, list, Node::Kind::list, msg_as("what", "a script"))) return;
  for (const Node* step : list.items) {
    if (++steps_ > most_steps) return complaints_.add(step->place, tr("more than {} steps", most_steps));
    read_step(*step, who);
  }
}

void LineStepReader::read_step(const Node& node, std::size_t who) {
  const Fields fields{complaints_, node, msg_as("what", "a step"), keys::line::step};
  if (node.kind != Node::Kind::map) return;
  const Node::Entry* action = find_action(node);
  if (action == nullptr) {
    if (!fields.has_unknown())
      complaints_.add(node.place, tr("this step does nothing"),
                      tr("an action such as address, send, wait or see"));
    return;
  }
  Step step;
  step.mark = action->key->place.mark;
  step.said = said_of(node);
  carry_out(node, *action, step);
  read_common(node, step);
  scenario_.people[who].script.push_back(std::move(step));
}

const Node::Entry* LineStepReader::find_action(const Node& node) {
  const Node::Entry* action = nullptr;
  for (const Node::Entry& entry : node.entries) {
    if (!is_line_action(entry.key->text)) continue;
    if (action == nullptr) {
      action = &entry;
    } else {
      complaints_.add(entry.key->place,
                      tr("a step does one thing, and this one already has '{}'", action->key->text),
                      tr("'- {}:' as a step of its own", entry.key->text));
    }
  }
  return action;
}

void LineStepReader::read_common(const Node& node, Step& step) {
  if (const Node* at = node.find("at")) {
    if (const auto when = read_quantity(complaints_, *at, parse_duration))
      step.at = sim::start_of_run + *when;
  }
  for (const char* key : {"text", "comment"}) {
    if (const Node* text = node.find(key)) step.text = read_text(complaints_, *text).value_or("");
  }
  if (const Node* priority = node.find("priority"))
    read_whole_into(complaints_, priority, step.priority, 1, 5);
}

void LineStepReader::carry_out(const Node& node, const Node::Entry& action, Step& step) {
  const std::string& key = action.key->text;
  const Node& value = *action.value;
  if (key == "address") return read_address(node, action, false, step);
  if (key == "name") return read_address(node, action, true, step);
  if (key == "send" || key == "set") return read_send(node, action, step);
  if (key == "press") return read_press(value, step);
  if (key == "power") return read_power(value, step);
  if (key == "fault" || key == "mend") return read_fault(value, key == "fault", step);
  if (key == "swap" || key == "replace") return read_swap(node, value, step);
  if (key == "see" || key == "expect") return read_checks(value, key == "see", step);
  if (key == "note") {
    step.kind = StepKind::note;
    step.text = read_text(complaints_, value).value_or("");
    return;
  }
  if (key == "wait") {
    step.kind = StepKind::wait;
    read_quantity_into(complaints_, &value, parse_duration, step.duration);
    return;
  }
  if (key == "walk") {
    step.kind = StepKind::walk;
    if (const auto word = read_text(complaints_, value))
      step.place = names_.place(complaints_, value.place, *word).value_or(no_index);
    return;
  }
  step.kind = key == "inventory" ? StepKind::inventory : key == "plug" ? StepKind::plug : StepKind::unplug;
  controller_from(value, step);
}

void LineStepReader::controller_from(const Node& value, Step& step) {
  if (const auto word = read_text(complaints_, value))
    step.controller = names_.controller(complaints_, value.place, *word).value_or(Index{0});
}

/// Whoever sends: who is named, or the only one.
Index LineStepReader::controller_of(const Node& node, const char* key) {
  const Node* by = node.find(key);
  if (by == nullptr) return 0;
  const auto word = read_text(complaints_, *by);
  return word ? names_.controller(complaints_, by->place, *word).value_or(Index{0}) : Index{0};
}

void LineStepReader::read_address(const Node& node, const Node::Entry& action, bool naming, Step& step) {
  step.kind = StepKind::address;
  step.controller = controller_of(node, "by");
  iec62386::AddressJob& job = step.address;
  job.naming = naming;
  const auto word = read_text(complaints_, *action.value);
  if (word && *word == "new") {
    job.which.kind = iec62386::Which::Kind::unaddressed;
  } else if (word && *word != "all") {
    job.which.kind = iec62386::Which::Kind::one;
    read_whole_into(complaints_, action.value, job.which.one, 0, 63);
  }
  read_whole_into(complaints_, node.find("from"), job.from, 0, 63);
  read_quantity_into(complaints_, node.find("each"), parse_duration, job.each);
  for (const auto& [key, into] :
       {std::pair{"randomise", &job.randomise}, std::pair{"terminate", &job.terminate}}) {
    if (const Node* flag = node.find(key)) *into = read_yes_no(complaints_, *flag).value_or(true);
  }
}

void LineStepReader::read_send(const Node& node, const Node::Entry&, Step& step) {
  step.kind = StepKind::send;
  step.controller = controller_of(node, "by");
  step.sends = read_sends(node, complaints_);
}

void LineStepReader::read_press(const Node& value, Step& step) {
  step.kind = StepKind::press;
  step.controller = step.button = 0;
  const auto text = read_text(complaints_, value);
  if (!text) return;
  const std::size_t blank = text->find(' ');
  const std::string_view name = std::string_view{*text}.substr(0, blank);
  const auto controller = names_.controller(complaints_, value.place_of(0, name.size()), name);
  if (!controller) return;
  step.controller = *controller;
  const auto& buttons = scenario_.site.controllers[*controller].buttons;
  const std::string_view word =
      blank == std::string::npos ? std::string_view{} : std::string_view{*text}.substr(blank + 1);
  std::vector<std::string> known;
  for (Index i = 0; i < buttons.size(); ++i) {
    if (buttons[i].name == word) step.button = i;
    known.push_back(buttons[i].name);
  }
  if (std::find(known.begin(), known.end(), word) == known.end())
    complain_of_unknown(complaints_, value.place_of(text->size() - word.size(), word.size()),
                        msg_as("what", "button"), word, known);
}

void LineStepReader::read_power(const Node& value, Step& step) {
  step.kind = StepKind::power;
  if (!is_kind(complaints_, value, Node::Kind::map, "power")) return;
  static constexpr std::array<std::string_view, 2> off_on = {"off", "on"};
  std::optional<std::size_t> first;
  for (const Node::Entry& entry : value.entries) {
    const auto choice = read_choice(complaints_, *entry.value, msg_as("what", "state"), off_on);
    if (!choice) continue;
    if (first && *first != *choice)
      complaints_.add(entry.value->place, tr("on and off in one step"), tr("a step for each"));
    first = choice;
    step.on = *choice == 1;
    const auto& lines = scenario_.site.lines;
    const auto line = std::find_if(lines.begin(), lines.end(),
                                   [&](const auto& each) { return each.name == entry.key->text; });
    if (entry.key->text == "all") {
      for (Index i = 0; i < scenario_.site.gear.size(); ++i) step.gear.push_back(i);
    } else if (line != lines.end()) {
      step.lines.push_back(static_cast<Index>(line - lines.begin()));
    } else if (const auto gear = names_.gear(complaints_, entry.key->place, entry.key->text)) {
      step.gear.push_back(*gear);
    }
  }
}

void LineStepReader::read_fault(const Node& value, bool on, Step& step) {
  step.kind = StepKind::fault;
  step.fault.on = on;
  step.fault.first = step.fault.second = 0;
  const Fields fields{complaints_, value, msg_as("what", "a fault"), keys::line::fault};
  if (value.kind != Node::Kind::map || value.entries.empty()) return;
  step.fault.amount = 1;
  read_whole_into(complaints_, fields.find("frames"), step.fault.amount, 1, 100'000);
  if (const Node* gives = fields.find("gives")) {
    std::uint32_t current = 250'000;
    read_current(complaints_, gives, current);
    step.fault.amount = current / 1000;
  }
  const Node::Entry& entry = value.entries.front();
  const auto word = read_text(complaints_, *entry.value);
  const auto kind = std::find(keys::line::fault.begin(), keys::line::fault.end(), entry.key->text);
  if (!word || kind == keys::line::fault.end()) return;
  const auto number = kind - keys::line::fault.begin();
  if (number >= static_cast<std::ptrdiff_t>(sim::count_of<FaultKind>))
    return complaints_.add(entry.key->place, tr("what goes wrong comes first"),
                           tr("short, mains, join, second supply, lamp, holds low or deaf"));
  step.fault.kind = static_cast<FaultKind>(number);
  if (number >= static_cast<std::ptrdiff_t>(FaultKind::lamp)) {
    step.fault.first = names_.gear(complaints_, entry.value->place, *word).value_or(Index{0});
    return;
  }
  const auto parts = words::split(*word);
  const bool joins = step.fault.kind == FaultKind::joined;
  if (parts.size() != (joins ? 2U : 1U))
    return complaints_.add(entry.value->place, joins ? tr("two lines are joined") : tr("one line"),
                           joins ? "L1 L2" : "L1");
  step.fault.first = names_.line(complaints_, entry.value->place, parts[0].text).value_or(Index{0});
  if (joins)
    step.fault.second = names_.line(complaints_, entry.value->place, parts[1].text).value_or(Index{0});
  if (joins && step.fault.first == step.fault.second)
    complaints_.add(entry.value->place, tr("a line is one with itself anyway"));
}

void LineStepReader::read_swap(const Node& node, const Node& value, Step& step) {
  step.kind = StepKind::swap;
  if (const auto word = read_text(complaints_, value)) {
    for (const words::Part& part : words::split(*word)) {
      if (const auto gear =
              names_.gear(complaints_, value.place_of(part.offset, part.text.size()), part.text))
        step.gear.push_back(*gear);
    }
  }
  if (const Node* holds = node.find("holds")) step.memory = read_holds(*holds, complaints_);
}

// --- checks ---

void LineStepReader::read_checks(const Node& value, bool seen, Step& step) {
  step.kind = seen ? StepKind::see : StepKind::expect;
  if (!is_kind(complaints_, value, Node::Kind::map, seen ? "see" : "expect")) return;
  if (value.entries.empty())
    complaints_.add(value.place, tr("nothing to look for"), seen ? "{M1.lamp: full}" : "{M1.short: 3}");
  for (const Node::Entry& entry : value.entries) read_check(*entry.key, *entry.value, seen, step);
}

void LineStepReader::read_check(const Node& key, const Node& value, bool seen, Step& step) {
  if (scenario_.checks.size() >= most_checks)
    return complaints_.add(key.place, tr("more than {} checks", most_checks));
  Check check;
  check.seen = seen;
  check.mark = key.place.mark;
  if (key.text == "findings") {
    check.fact = Fact::findings;
    if (seen)
      return complaints_.add(key.place, tr("findings are hidden from people on site"),
                             tr("'expect' for what is really so"));
    if (!read_findings(value, check)) return;
  } else {
    const std::size_t dot = key.text.find('.');
    if (dot == std::string::npos)
      return complaints_.add(key.place, tr("which fact of '{}'?", key.text),
                             tr("a device and a fact, such as M1.lamp"));
    const auto fact = read_fact(key, dot, check);
    const auto text = read_text(complaints_, value);
    if (!fact || !text) return;
    check.fact = *fact;
    if (seen && *fact != Fact::lamp)
      return complaints_.add(key.place_of(dot + 1, key.text.size() - dot - 1), tr("nobody can see that"),
                             tr("lamp, or 'expect' for what is really so"));
    check.wanted = {*text};
  }
  step.checks.push_back(static_cast<std::uint32_t>(scenario_.checks.size()));
  scenario_.checks.push_back(std::move(check));
}

bool LineStepReader::read_findings(const Node& value, Check& check) {
  if (value.kind == Node::Kind::word && value.text == "none") return true;
  static const std::vector<std::string_view> ids = [] {
    std::vector<std::string_view> all;
    for (const protocol::FindingKind& kind : iec62386::finding_kinds()) all.push_back(kind.id);
    return all;
  }();
  const std::vector<const Node*> one = {&value};
  if (value.kind == Node::Kind::map || value.kind == Node::Kind::nothing) {
    complaints_.add(value.place, tr("findings are a list"), tr("[random-twins], or none"));
    return false;
  }
  bool fine = true;
  for (const Node* item : value.kind == Node::Kind::list ? value.items : one) {
    const auto choice = read_choice(complaints_, *item, msg_as("what", "finding"), ids);
    if (choice) check.wanted.emplace_back(ids[*choice]);
    fine = fine && choice.has_value();
  }
  return fine;
}

namespace {

std::vector<std::string_view> facts_of(bool controller, bool line) {
  std::vector<std::string_view> words;
  for (const Fact fact : sim::all_of<Fact>()) {
    const bool of_controller =
        fact == Fact::compares || fact == Fact::found || fact == Fact::unverified || fact == Fact::answer;
    const bool of_line = fact == Fact::line;
    if (fact == Fact::findings || of_controller != controller || of_line != line) continue;
    words.push_back(to_string(fact));
  }
  return words;
}

}  // namespace

std::optional<Fact> LineStepReader::read_fact(const Node& key, std::size_t dot, Check& check) {
  const std::string_view name = std::string_view{key.text}.substr(0, dot);
  std::string_view word = std::string_view{key.text}.substr(dot + 1);
  const auto& site = scenario_.site;
  const auto index_in = [name](const auto& list) {
    const auto found =
        std::find_if(list.begin(), list.end(), [name](const auto& each) { return each.name == name; });
    return found == list.end() ? no_index : static_cast<Index>(found - list.begin());
  };
  const Index controller = index_in(site.controllers);
  const Index line = index_in(site.lines);
  check.of_controller = controller != no_index;
  if (check.of_controller) {
    check.device = controller;
  } else if (line != no_index) {
    check.device = line;
  } else {
    const auto gear = names_.gear(complaints_, key.place_of(0, dot), name);
    if (!gear) return std::nullopt;
    check.device = *gear;
  }
  const Place place = key.place_of(dot + 1, word.size());
  if (word.starts_with("scene ")) {
    const auto number = parse_whole(word.substr(6));
    if (!number || *number > 15) {
      complaints_.add(place, tr("which scene?"), tr("scene 0 to 15"));
      return std::nullopt;
    }
    check.number = static_cast<std::uint8_t>(*number);
    word = "scene";
  }
  const auto known = facts_of(check.of_controller, !check.of_controller && line != no_index);
  for (const Fact fact : sim::all_of<Fact>()) {
    if (to_string(fact) == word && std::find(known.begin(), known.end(), word) != known.end()) return fact;
  }
  complain_of_unknown(complaints_, place, msg_as("what", "fact"), word, known);
  return std::nullopt;
}

}  // namespace drybus::tools
