// What a script looks for: `see` and `expect`.

#include <algorithm>

#include "model/words/words.h"
#include "tools/script/fact_value.h"
#include "tools/script/keys.h"
#include "tools/script/site_reader.h"
#include "tools/script/step_reader.h"
#include "tools/script/told_words.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::Check;
using model::Fact;
using model::msg_as;
using model::tr;

namespace {

/// The facts that a kind of device has, in words.
std::vector<std::string_view> words_of_facts(bool plate, bool seen) {
  if (seen)
    return plate ? std::vector<std::string_view>{"indicator"}
                 : std::vector<std::string_view>{"indicator", "load"};
  std::vector<std::string_view> words;
  for (const Fact fact : facts_of(plate)) words.push_back(to_string(fact));
  return words;
}

}  // namespace

void StepReader::read_checks(const Action& action, bool seen, Steps& into) {
  if (!is_kind(complaints_, *action.value, Node::Kind::map, action.key)) return;
  if (action.value->entries.empty()) {
    complaints_.add(action.value->place, tr("nothing to look for"),
                    seen ? "{M1.indicator: blink}" : "{M1.address: 23/4/1}");
  }
  if (told_ != nullptr && is_unsure(*action.value)) told_->unsure.insert(ToldSteps::where(action.place.mark));
  model::Step step;
  step.kind = seen ? model::StepKind::see : model::StepKind::expect;
  for (const Node::Entry& entry : action.value->entries) {
    if (told_ != nullptr && entry.key->text == "unsure") continue;
    if (read_switch_reading(*entry.key, *entry.value)) continue;
    auto check = read_check(*entry.key, *entry.value, seen);
    if (!check || !room_for(0, 1, entry.key->place)) continue;
    step.checks.push_back(static_cast<std::uint32_t>(scenario_.checks.size()));
    scenario_.checks.push_back(std::move(*check));
  }
  add(into, std::move(step), action.place);
}

std::vector<StepReader::SeenNow> StepReader::read_seen(const Node& node) {
  std::vector<SeenNow> seen;
  if (node.kind != Node::Kind::list) {
    read_seen_of(node, seen);
    return seen;
  }
  for (const Node* item : node.items) read_seen_of(*item, seen);
  return seen;
}

bool StepReader::is_unsure(const Node& seen) {
  const Node* marked = seen.find("unsure");
  return marked != nullptr && read_yes_no(complaints_, *marked).value_or(false);
}

void StepReader::read_seen_of(const Node& map, std::vector<SeenNow>& into) {
  if (!is_kind(complaints_, map, Node::Kind::map, msg_as("what", "what is seen"))) return;
  const bool unsure = is_unsure(map);
  for (const Node::Entry& entry : map.entries) {
    if (entry.key->text == "unsure" || !room_for(0, 1, entry.key->place)) continue;
    if (read_switch_reading(*entry.key, *entry.value)) continue;
    if (auto check = read_check(*entry.key, *entry.value, true)) into.push_back({std::move(*check), unsure});
  }
}

std::optional<Check> StepReader::read_check(const Node& key, const Node& value, bool seen) {
  Check check;
  check.seen = seen;
  check.mark = key.place.mark;
  if (key.text == "findings") {
    check.fact = Fact::findings;
    if (seen)
      complaints_.add(key.place, tr("findings are hidden from people on site"),
                      tr("'expect' for what is really so"));
    if (seen || !read_wanted_findings(value, check)) return std::nullopt;
    return check;
  }
  const std::size_t dot = dot_in(key);
  if (dot == std::string::npos && told_ != nullptr) return read_told_device(key, value);
  if (dot == std::string::npos) {
    complaints_.add(key.place, tr("which fact of '{}'?", key.text),
                    tr("a device and a fact, such as M1.indicator"));
    return std::nullopt;
  }
  const std::string_view name = std::string_view{key.text}.substr(0, dot);
  const auto device = index_.device(key.place_of(0, dot), name);
  if (!device) return std::nullopt;
  check.device = *device;
  const auto fact = read_fact(key, dot, *device, seen);
  if (!fact) return std::nullopt;
  check.fact = *fact;
  const auto wanted = read_wanted_value(value, check);
  if (!wanted) return std::nullopt;
  check.wanted = {*wanted};
  return check;
}

std::optional<Fact> StepReader::read_fact(const Node& key, std::size_t dot, model::DeviceId device,
                                          bool seen) {
  const std::string_view word = std::string_view{key.text}.substr(dot + 1);
  const Place place = key.place_of(dot + 1, word.size());
  const bool plate = index_.site().is_plate(device);
  if (told_ != nullptr && word == "lamp") return Fact::indicator;
  const auto known = words_of_facts(plate, seen);
  if (std::find(known.begin(), known.end(), word) != known.end()) {
    const auto facts = words::facts();
    return static_cast<Fact>(std::find(facts.begin(), facts.end(), word) - facts.begin());
  }
  const auto hidden = words_of_facts(plate, false);
  if (seen && std::find(hidden.begin(), hidden.end(), word) != hidden.end()) {
    complaints_.add(place, tr("nobody can see a device's {}", word), tr("'expect' for what is really so"));
  } else {
    complain_of_unknown(complaints_, place,
                        plate ? msg_as("what", "fact of a plate") : msg_as("what", "fact of a module"), word,
                        known);
  }
  return std::nullopt;
}

bool StepReader::read_wanted_findings(const Node& value, Check& check) {
  if (value.kind == Node::Kind::word && value.text == "none") return true;
  const std::vector<const Node*> one = {&value};
  if (value.kind != Node::Kind::list && value.kind != Node::Kind::word) {
    complaints_.add(value.place, tr("findings are a list"), tr("[setup-split, assign-unheard], or none"));
    return false;
  }
  bool fine = true;
  for (const Node* item : value.kind == Node::Kind::list ? value.items : one) {
    const auto choice = read_choice(complaints_, *item, msg_as("what", "finding"), words::findings());
    if (choice) check.wanted.emplace_back(words::findings()[*choice]);
    fine = fine && choice;
  }
  return fine;
}

std::optional<std::string> StepReader::read_wanted_value(const Node& value, const Check& check) {
  const auto text = read_text(complaints_, value);
  if (!text) return std::nullopt;
  const std::string& word = told_ == nullptr ? *text : told_value(check.fact, *text);
  const auto wanted = parse_fact_value(index_.site(), check.device, check.fact, word, family_ != nullptr);
  if (wanted) return *wanted;
  complain_of(complaints_, value, wanted.error());
  return std::nullopt;
}

}  // namespace drybus::tools
