#include "tools/panel/state_json.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/record/spoken_name.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/installer.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/line_fact.h"
#include "tools/panel/spoken_loss.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools {

namespace json = boost::json;

using model::DeviceId;
using model::Step;
using model::StepKind;
using model::What;

namespace {

constexpr std::size_t lines_of_a_state = 1'000;
constexpr std::size_t telegrams_of_a_state = 20;

json::value time_json(sim::Instant at) {
  return at == sim::never ? json::value(nullptr) : json::value(exact_seconds(at));
}

json::array names_json(const model::Site& site, const std::vector<DeviceId>& devices, const Looks& looks = {}) {
  json::array names;
  for (const DeviceId device : devices) {
    if (looks.at(device)) names.emplace_back(site.name(device));
  }
  return names;
}

// --- devices ---

json::value setup_json(const Branch& branch, DeviceId device) {
  const model::World& world = branch.world();
  if (world.devices[device].mode != model::Mode::setup) return nullptr;
  const auto timer = world.devices[device].timers[static_cast<std::size_t>(model::Timer::time_out)];
  const model::TimeOut& time_out = branch.scenario().site.time_out(device);
  return json::object{
      {"since_s", exact_seconds(branch.onlooker().device(device).setup_since)},
      {"ends_s", time_json(timer == sim::EventQueue::none ? sim::never : world.queue.due(timer))},
      {"total_s", exact_seconds(time_out.after)},
      {"from", time_out.from == model::CountedFrom::entry ? "entry" : "last press"}};
}

json::value indicator_json(const Branch& branch, DeviceId device) {
  return json::object{{"pattern", to_string(branch.world().devices[device].indicator)},
                      {"since_s", exact_seconds(branch.onlooker().device(device).indicator_since)}};
}

json::object hidden_plate_json(const model::PlateState& plate) {
  return {{"channel", plate.channel},
          {"blips_awake", plate.awake != 0},
          {"address", nullptr},
          {"power_up", nullptr}};
}

json::object hidden_module_json(const model::ModuleState& module) {
  const model::ModuleMemory& memory = module.memory;
  return {{"address", memory.addressed() ? json::value(to_string(memory.address)) : json::value(nullptr)},
          {"factory", !memory.addressed()},
          {"site", memory.address.site},
          {"zone", memory.address.zone},
          {"channel", memory.address.channel},
          {"power_up", to_string(memory.power_up)},
          {"storing", module.storing != 0},
          {"blips_awake", module.awake != 0}};
}

json::object load_json(const model::LoadState& load) {
  const bool fading = load.arrival != sim::EventQueue::none && load.flash == 0;
  const model::Level to = heading(load);
  return {{"level", (fading ? load.from : to) / 10.0},
          {"to", to / 10.0},
          {"begin_s", exact_seconds(load.begin)},
          {"end_s", time_json(fading ? load.begin + load.duration : sim::never)}};
}

/// Both ends; a junction is looked at where the other end is.
bool are_looked_at(const model::Site& site, const sim::Link& link, const Looks& looks) {
  if (looks.all()) return true;
  const auto is = [&](sim::NodeId node) { return node >= site.device_count() || looks.at(static_cast<DeviceId>(node)); };
  return is(link.a) && is(link.b) && (link.a < site.device_count() || link.b < site.device_count());
}

// --- people ---

bool is_push(StepKind kind) {
  return kind == StepKind::press || kind == StepKind::hold;
}

/// The step of a press that has no end yet.
bool is_open(const Course& course, std::size_t person, std::size_t step) {
  return person == 0 && course.open_press && *course.open_press == step;
}

std::string step_text(const Course& course, std::size_t person, std::size_t index) {
  const model::Scenario& scenario = course.run->scenario();
  const Step& step = scenario.people[person].script[index];
  if (!is_open(course, person, index)) return describe(scenario, step);
  return model::tr("hold {}", model::buttons_text(scenario.site, step.device, step.buttons));
}

/// One person at this moment.
class PersonView {
 public:
  PersonView(const Course& course, std::size_t person)
      : course_(course), branch_(*course.run), site_(branch_.scenario().site), person_(person) {}

  [[nodiscard]] json::object to_json() const {
    const bool walking = state().place == model::no_place;
    return {{"name", branch_.scenario().people[person_].name},
            {"place", walking ? json::value(nullptr) : json::value(site_.places[state().place].name)},
            {"walking", walking ? walk_json() : json::value(nullptr)},
            {"doing", doing_json()},
            {"next", next_json()},
            {"free", state().done != 0}};
  }

 private:
  [[nodiscard]] const model::PersonState& state() const { return branch_.world().people[person_]; }
  [[nodiscard]] const SeenPerson& seen() const { return branch_.onlooker().person(person_); }
  [[nodiscard]] const std::vector<Step>& script() const { return branch_.scenario().people[person_].script; }
  [[nodiscard]] bool has_step_in_hand() const {
    return state().done == 0 && model::steps_begun(state()) > state().step;
  }
  [[nodiscard]] sim::Instant arrival() const { return seen().set_off + site_.walk(seen().from, seen().to); }

  [[nodiscard]] json::value walk_json() const {
    return json::object{{"from", site_.places[seen().from].name},
                        {"to", site_.places[seen().to].name},
                        {"begin_s", exact_seconds(seen().set_off)},
                        {"end_s", exact_seconds(arrival())}};
  }

  [[nodiscard]] json::value doing_json() const {
    if (!has_step_in_hand()) return nullptr;
    const Step& step = script()[state().step];
    const bool touches = is_push(step.kind) || step.kind == StepKind::switches;
    return json::object{
        {"kind", kind_text(step.kind)},
        {"text", step_text(course_, person_, state().step)},
        {"device", touches ? json::value(site_.name(step.device)) : json::value(nullptr)},
        {"buttons", is_push(step.kind) ? buttons_json(site_, step.device, step.buttons) : json::array{}},
        {"begin_s", exact_seconds(seen().step_since)},
        {"end_s", time_json(end_of(step))}};
  }

  [[nodiscard]] sim::Instant end_of(const Step& step) const {
    if (is_open(course_, person_, state().step)) return sim::never;
    const sim::Instant there = state().place == model::no_place ? arrival() : seen().acting_since;
    const bool lasts = is_push(step.kind) || step.kind == StepKind::wait;
    return there + (lasts ? step.duration : sim::Duration::zero());
  }

  /// What the page has asked for and nobody has come to.
  [[nodiscard]] json::array next_json() const {
    json::array next;
    if (person_ != 0 || course_.kind != BranchKind::free) return next;
    for (std::size_t i = branch_.steps_begun(); i < script().size(); ++i)
      next.emplace_back(step_text(course_, 0, i));
    return next;
  }

  const Course& course_;
  const Branch& branch_;
  const model::Site& site_;
  std::size_t person_;
};

// --- the timeline ---

bool is_by_a_person(What what) {
  return what == What::step || what == What::walked || what == What::arrived || what == What::checked;
}

json::value device_of_line(const model::Scenario& scenario, const sim::Entry& entry) {
  const What what = model::what(entry);
  if (what == What::checked) {
    const DeviceId device = scenario.checks[entry.a].device;
    return device == model::no_device ? json::value(nullptr) : json::value(scenario.site.name(device));
  }
  const bool of_nobody = what == What::began || what == What::link || is_by_a_person(what);
  return of_nobody ? json::value(nullptr) : json::value(scenario.site.name(entry.who));
}

/// The last lines up to as far as the branch was ever run.
json::array last_lines(const Course& course, Curtain curtain, const Looks& looks, bool& more) {
  const sim::Record& known = course.run->known();
  const model::Scenario& scenario = course.run->scenario();
  Lookouts lookouts{scenario};
  if (curtain == Curtain::drawn) lookouts.take_in(known);
  const auto is_for_all = [&](sim::EntryId each) {
    return is_told(known[each]) && is_looked_at(scenario, known[each], looks) && (curtain == Curtain::open || is_seen(scenario, lookouts, known, each));
  };
  std::vector<sim::EntryId> told;
  auto id = static_cast<sim::EntryId>(known.size());
  for (; id > 0 && told.size() < lines_of_a_state; --id) {
    if (is_for_all(id)) told.push_back(id);
  }
  more = id > 0;
  json::array lines;
  std::for_each(told.rbegin(), told.rend(),
                [&](sim::EntryId each) { lines.push_back(line_json(course, each)); });
  return lines;
}

json::array last_telegrams(const Branch& branch, const Looks& looks) {
  const auto& all = branch.onlooker().telegrams();
  const auto on_the_bus = std::count_if(
      all.begin(), all.end(), [](const SeenTelegram& telegram) { return telegram.end == sim::never; });
  const std::size_t wanted =
      std::min(all.size(), telegrams_of_a_state + static_cast<std::size_t>(on_the_bus));
  json::array telegrams;
  for (std::size_t i = all.size() - wanted; i < all.size(); ++i)
    telegrams.push_back(telegram_json(branch, all[i], looks));
  return telegrams;
}

std::string_view point_kind(TeachingPoint::Kind kind) {
  switch (kind) {
    case TeachingPoint::Kind::note:
      return "note";
    case TeachingPoint::Kind::look:
      return "see";
    case TeachingPoint::Kind::finding:
      return "finding";
    case TeachingPoint::Kind::end:
      return "end";
  }
  return "";
}

}  // namespace

json::object device_json(const Branch& branch, DeviceId device, Curtain curtain) {
  const model::Site& site = branch.scenario().site;
  const model::World& world = branch.world();
  const model::DeviceState& state = world.devices[device];
  const bool all_is_told = curtain == Curtain::open;
  const bool is_seen = all_is_told || anybody_sees(branch, device);
  json::object object{{"powered", state.powered != 0},
                      {"down", is_seen ? buttons_json(site, device, state.contacts) : json::array{}},
                      {"stuck", all_is_told ? buttons_json(site, device, state.stuck) : json::array{}},
                      {"indicator", is_seen ? indicator_json(branch, device) : json::value(nullptr)},
                      {"hidden", nullptr}};
  json::object hidden;
  if (site.is_plate(device)) {
    const model::PlateState& plate = world.plates[device];
    object["switches"] = {{"site", plate.site}, {"zone", plate.zone}};
    hidden = hidden_plate_json(plate);
  } else {
    const std::size_t index = site.module_index(device);
    object["load"] = is_seen ? json::value(load_json(world.loads[index])) : json::value(nullptr);
    hidden = hidden_module_json(world.modules[index]);
  }
  if (!all_is_told) return object;
  hidden["mode"] = to_string(state.mode);
  hidden["setup"] = setup_json(branch, device);
  hidden["deaf_for"] = world.medium.nodes()[device].deaf_for;
  object["hidden"] = std::move(hidden);
  return object;
}

json::array people_json(const Course& course) {
  json::array people;
  for (std::size_t i = 0; i < course.run->world().people.size(); ++i)
    people.push_back(PersonView{course, i}.to_json());
  return people;
}

std::string last_step_text(const Course& course) {
  const std::size_t steps = course.run->scenario().people[0].script.size();
  return steps == 0 ? std::string{} : step_text(course, 0, steps - 1);
}

json::object links_json(const Branch& branch, Curtain curtain, const Looks& looks) {
  const model::Site& site = branch.scenario().site;
  json::object links;
  for (std::uint32_t i = 0; i < site.network.links.size(); ++i) {
    if (!are_looked_at(site, site.network.links[i], looks)) continue;
    std::string_view state;
    if (curtain == Curtain::drawn) {
      links[site.link_name(i)] = "hidden";
      continue;
    }
    switch (branch.world().medium.link_state(i)) {
      case sim::LinkState::sound:
        state = "sound";
        break;
      case sim::LinkState::open:
        state = "open";
        break;
      case sim::LinkState::shorted:
        state = "shorted";
        break;
      case sim::LinkState::noisy:
        state = "noisy";
        break;
    }
    links[site.link_name(i)] = state;
  }
  return links;
}

json::object telegram_json(const Branch& branch, const SeenTelegram& seen, const Looks& looks) {
  const model::Site& site = branch.scenario().site;
  json::array lost;
  for (const MissedTelegram& missed : seen.missed) {
    if (!looks.at(missed.device)) continue;
    lost.push_back(json::object{{"device", site.name(missed.device)}, {"why", spoken_loss(missed.loss)}});
  }
  // How long it takes is known from its first bit on.
  sim::Instant end = seen.end;
  if (end == sim::never) {
    const sim::Network& network = site.network;
    end = seen.begin +
          network.media[network.nodes[seen.sender].medium].timing.frame_time(encode(seen.telegram));
  }
  const model::Telegram& telegram = seen.telegram;
  return {{"entry", seen.sent},
          {"from", site.name(seen.sender)},
          {"kind", to_string(telegram.kind)},
          {"text", spoken(telegram)},
          {"address", {{"site", telegram.site}, {"zone", telegram.zone}, {"channel", telegram.channel}}},
          {"argument", telegram.argument},
          {"begin_s", exact_seconds(seen.begin)},
          {"end_s", exact_seconds(end)},
          {"on_the_bus", seen.end == sim::never},
          {"cut_short", seen.cut_short},
          {"heard", names_json(site, seen.heard, looks)},
          {"heard_by", seen.heard.size()},
          {"took", names_json(site, seen.took)},
          {"ignored", names_json(site, seen.ignored, looks)},
          {"lost", std::move(lost)}};
}

bool is_looked_at(const model::Scenario& scenario, const sim::Entry& entry, const Looks& looks) {
  if (looks.all()) return true;
  const What what = model::what(entry);
  if (what == What::checked) {
    const DeviceId device = scenario.checks[entry.a].device;
    return device == model::no_device || looks.at(device);
  }
  return what == What::began || what == What::link || is_by_a_person(what) || looks.at(static_cast<DeviceId>(entry.who));
}

json::array findings_json(const Branch& branch, const std::vector<model::Observation>& all, const Looks& looks) {
  std::vector<model::Observation> observations;
  for (auto each = all.rbegin(); each != all.rend() && observations.size() < most_findings_told; ++each) {
    const auto& devices = each->devices;
    const bool about = std::any_of(devices.begin(), devices.end(), [&](DeviceId device) { return looks.at(device); });
    if (devices.empty() || about) observations.push_back(*each);
  }
  std::reverse(observations.begin(), observations.end());
  const model::Scenario& scenario = branch.scenario();
  json::array findings;
  for (const model::Observation& observation : observations) {
    const model::Finding finding = model::in_words(scenario, branch.world(), branch.record(), observation);
    findings.push_back(json::object{{"key", finding_key(scenario.site, observation)},
                                    {"id", to_string(finding.id)},
                                    {"at_s", exact_seconds(finding.at)},
                                    {"until_s", time_json(finding.until.value_or(sim::never))},
                                    {"devices", names_json(scenario.site, finding.devices)},
                                    {"text", finding.text},
                                    {"remedy", finding.remedy}});
  }
  return findings;
}

bool is_unfinished(const Course& course, const sim::Entry& entry) {
  return model::what(entry) == What::step && is_open(course, entry.who, entry.a);
}

json::object line_json(const Course& course, sim::EntryId id) {
  const model::Scenario& scenario = course.run->scenario();
  const sim::Entry& entry = course.run->known()[id];
  const What what = model::what(entry);
  const std::string text =
      is_unfinished(course, entry)
          ? fmt::format("{}: {}", model::spoken_name(scenario.people[entry.who]), step_text(course, entry.who, entry.a))
          : describe(scenario, entry);
  json::object line = {
      {"entry", id},
      {"at_s", exact_seconds(entry.at)},
      {"kind", to_string(what)},
      {"who", device_of_line(scenario, entry)},
      {"person", is_by_a_person(what) ? json::value(scenario.people[entry.who].name) : json::value(nullptr)},
      {"hidden", is_hidden_line(scenario, entry)},
      {"text", text}};
  add_fact(line, course, entry);
  return line;
}

json::object clock_json(const Bench& bench, Curtain curtain) {
  const Branch& run = bench.run();
  const bool all_is_told = curtain == Curtain::open;
  const auto next = bench.next_time_out();
  json::value time_out;
  if (next && all_is_told) {
    time_out = {{"device", run.scenario().site.name(next->device)}, {"at_s", exact_seconds(next->at)}};
  }
  return {{"now_s", exact_seconds(run.now())},
          {"playing", bench.playing()},
          {"speed", bench.speed()},
          {"hurries", bench.hurries()},
          {"reached_s", exact_seconds(run.reached())},
          {"longest_s", exact_seconds(Bench::longest)},
          {"next_time_out", std::move(time_out)},
          {"next_event_s", all_is_told ? time_json(run.next_at()) : json::value(nullptr)},
          {"full", run.full()}};
}

json::array branches_json(const Bench& bench, Curtain curtain) {
  json::array branches;
  for (const Course& course : bench.courses()) {
    json::array findings;
    for (const model::Observation& observation : told_observations(bench, course, curtain)) {
      const std::string_view id = to_string(observation.id);
      if (std::find(findings.begin(), findings.end(), json::value(id)) == findings.end())
        findings.emplace_back(id);
    }
    branches.push_back(
        json::object{{"id", course.id},
                     {"name", course.name},
                     {"kind", course.kind == BranchKind::demonstration ? "demo" : "free"},
                     {"parent", course.parent ? json::value(*course.parent) : json::value(nullptr)},
                     {"from_s", exact_seconds(course.from)},
                     {"now_s", exact_seconds(course.run->now())},
                     {"reached_s", exact_seconds(course.run->reached())},
                     {"steps", course.run->steps().size()},
                     {"steps_done", course.run->steps_begun()},
                     {"findings", std::move(findings)}});
  }
  return branches;
}

json::value pause_json(const Bench& bench) {
  if (!bench.pause_reached()) return nullptr;
  json::array points;
  const bool answered = bench.pause_reached()->answered;
  bool has_answer = false;
  for (const TeachingPoint& point : bench.pause_reached()->points) {
    json::object object{{"kind", point_kind(point.kind)}, {"question", point.question}};
    has_answer = has_answer || !point.answer.empty();
    if (answered && !point.answer.empty()) object["answer"] = point.answer;
    if (answered && !point.remedy.empty()) object["remedy"] = point.remedy;
    if (answered && !point.key.empty()) object["key"] = point.key;
    if (answered && point.passed) object["passed"] = *point.passed;
    points.push_back(std::move(object));
  }
  return json::object{{"at_s", exact_seconds(bench.pause_reached()->at)},
                      {"has_answer", has_answer},
                      {"answered", answered},
                      {"points", std::move(points)}};
}

json::object course_json(const Bench& bench, const Course& course, Curtain curtain, const Looks& looks) {
  const Branch& branch = *course.run;
  json::object devices;
  for (const DeviceId device : looks.devices(branch.scenario().site)) {
    devices[branch.scenario().site.name(device)] = device_json(branch, device, curtain);
  }
  bool more = false;
  json::array lines = last_lines(course, curtain, looks, more);
  return {{"now_s", exact_seconds(branch.now())},
          {"devices", std::move(devices)},
          {"people", people_json(course)},
          {"links", links_json(branch, curtain, looks)},
          {"telegrams", curtain == Curtain::open ? last_telegrams(branch, looks) : json::array{}},
          {"timeline", std::move(lines)},
          {"timeline_more", more},
          {"findings", findings_json(branch, told_observations(bench, course, curtain), looks)}};
}

json::object state_json(const Bench& bench, Curtain curtain, const Looks& looks) {
  json::object state = course_json(bench, bench.chosen(), curtain, looks);
  state["type"] = "state";
  state["curtain_drawn"] = curtain == Curtain::drawn;
  state["clock"] = clock_json(bench, curtain);
  state["branch"] = bench.chosen().id;
  state["branches"] = branches_json(bench, curtain);
  state["pause"] = pause_json(bench);
  return state;
}

}  // namespace drybus::tools
