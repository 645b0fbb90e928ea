#include "tools/panel/take_message.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/utf8.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/state_json.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace json = boost::json;

using model::DeviceId;

namespace {

using Reply = std::optional<json::object>;

constexpr sim::Duration shortest_press = std::chrono::milliseconds{1};
constexpr sim::Duration longest_press = std::chrono::seconds{600};
constexpr std::uint32_t largest_id = 1'000'000;

/// "There is no device 'P9'. Did you mean 'P1'?"
/// `sentence` says that there is no such thing.
[[noreturn]] void unknown(std::string_view sentence, const std::string& word,
                          const std::vector<std::string>& known) {
  const std::string shown = harmless(characters(word, 0, 40));
  throw Refused{RefusalCode::unknown,
                fmt::format(fmt::runtime(in_words_spoken(sentence)), shown, did_you_mean(shown, known))};
}

/// Names of the scenario in a message.
class Names {
 public:
  Names(const Bench& bench, const Request& request) : site_(bench.run().scenario().site), request_(request) {}

  [[nodiscard]] DeviceId device() const {
    const std::string name = request_.text("device");
    const auto found = site_.find_device(name);
    if (found) return *found;
    std::vector<std::string> known;
    for (std::size_t i = 0; i < site_.device_count(); ++i)
      known.push_back(site_.name(static_cast<DeviceId>(i)));
    unknown(msg("There is no device '{}'.{}"), name, known);
  }

  [[nodiscard]] DeviceId device_or_all() const {
    return request_.has("device") ? device() : model::no_device;
  }

  [[nodiscard]] DeviceId plate() const {
    const DeviceId device = this->device();
    if (!site_.is_plate(device)) {
      throw Refused{RefusalCode::unknown,
                    tr("{} is a module; only plates have switches.", site_.name(device))};
    }
    return device;
  }

  [[nodiscard]] model::Button button(DeviceId device, const std::string& name) const {
    const std::vector<std::string> known = site_.is_plate(device)
                                               ? site_.plate_family(device).buttons
                                               : std::vector<std::string>{site_.module_family(device).button};
    const auto found = std::find(known.begin(), known.end(), name);
    if (found == known.end()) unknown(msg("There is no button '{}'.{}"), name, known);
    return static_cast<model::Button>(found - known.begin());
  }

  [[nodiscard]] model::Buttons buttons(DeviceId device) const {
    model::Buttons set = 0;
    for (const std::string& name : request_.words("buttons", model::max_buttons)) {
      set = static_cast<model::Buttons>(set | model::only(button(device, name)));
    }
    return set;
  }

  [[nodiscard]] model::PlaceId place() const {
    const std::string name = request_.text("place");
    std::vector<std::string> known;
    for (const model::Place& place : site_.places) known.push_back(place.name);
    const auto found = std::find(known.begin(), known.end(), name);
    if (found == known.end()) unknown(msg("There is no place '{}'.{}"), name, known);
    return static_cast<model::PlaceId>(found - known.begin());
  }

  [[nodiscard]] std::uint32_t link() const {
    const std::string name = request_.text("link");
    const auto found = site_.find_link(name);
    if (found) return *found;
    std::vector<std::string> known;
    for (std::uint32_t i = 0; i < site_.network.links.size(); ++i) known.push_back(site_.link_name(i));
    unknown(msg("There is no link '{}'.{}"), name, known);
  }

  [[nodiscard]] std::optional<std::uint8_t> switches(std::string_view key,
                                                     const model::SwitchBank& bank) const {
    if (!request_.has(key)) return std::nullopt;
    return static_cast<std::uint8_t>(request_.whole(key, 0, bank.largest()));
  }

 private:
  const model::Site& site_;
  const Request& request_;
};

// --- one function for each verb ---

Reply do_press(Bench& bench, const Request& request) {
  request.allow({"device", "buttons"});
  const Names names{bench, request};
  const DeviceId device = names.device();
  bench.press(device, names.buttons(device));
  return {};
}

Reply do_release(Bench& bench, const Request& request) {
  request.allow({});
  bench.release();
  return {};
}

Reply do_press_for(Bench& bench, const Request& request) {
  request.allow({"device", "buttons", "for_s"});
  const Names names{bench, request};
  const DeviceId device = names.device();
  bench.press_for(device, names.buttons(device), request.seconds("for_s", shortest_press, longest_press));
  return {};
}

Reply do_walk(Bench& bench, const Request& request) {
  request.allow({"place"});
  bench.walk(Names{bench, request}.place());
  return {};
}

Reply do_switches(Bench& bench, const Request& request) {
  request.allow({"device", "site", "zone"});
  const Names names{bench, request};
  const DeviceId plate = names.plate();
  const model::PlateFamily& family = bench.run().scenario().site.plate_family(plate);
  const auto site = names.switches("site", family.site_switches);
  const auto zone = names.switches("zone", family.zone_switches);
  if (!site && !zone) throw Refused{RefusalCode::message, tr("'switches' sets 'site' or 'zone' or both.")};
  bench.set_switches(plate, site, zone);
  return {};
}

Reply do_look(Bench& bench, const Request& request) {
  request.allow({"device"});
  bench.look(Names{bench, request}.device_or_all());
  return {};
}

Reply do_note(Bench& bench, const Request& request) {
  request.allow({"text"});
  bench.note(request.text("text"));
  return {};
}

Reply do_power(Bench& bench, const Request& request) {
  request.allow({"device", "on"});
  const DeviceId device = Names{bench, request}.device_or_all();
  // Hands that are faster than the news of their last deed still mean "the other way".
  const bool throws_over = device != model::no_device && !request.has("on");
  bench.set_power(device,
                  throws_over ? bench.run().world().devices[device].powered == 0 : request.truth("on"));
  return {};
}

Reply do_link(Bench& bench, const Request& request) {
  request.allow({"link", "state", "bit_errors"});
  model::Fault fault;
  fault.link = Names{bench, request}.link();
  const std::string state = request.text("state");
  if (state != "noisy" && request.has("bit_errors")) {
    throw Refused{RefusalCode::message, tr("'bit_errors' goes with the state 'noisy' only.")};
  }
  if (state == "sound") {
    fault.kind = model::FaultKind::mend;
  } else if (state == "open") {
    fault.kind = model::FaultKind::open;
  } else if (state == "shorted") {
    fault.kind = model::FaultKind::shorted;
  } else if (state == "noisy") {
    fault.kind = model::FaultKind::noisy;
    fault.bit_error_ppb =
        static_cast<std::uint32_t>(std::llround(request.number("bit_errors", 1e-9, 0.5) * 1e9));
  } else {
    unknown(msg("There is no state of a link '{}'.{}"), state, {"sound", "open", "shorted", "noisy"});
  }
  bench.break_something(fault);
  return {};
}

Reply do_stuck(Bench& bench, const Request& request) {
  request.allow({"device", "button", "stuck"});
  const Names names{bench, request};
  model::Fault fault;
  fault.device = names.device();
  fault.button = names.button(fault.device, request.text("button"));
  fault.kind = request.truth("stuck") ? model::FaultKind::stuck : model::FaultKind::freed;
  bench.break_something(fault);
  return {};
}

Reply do_deaf(Bench& bench, const Request& request) {
  request.allow({"device", "telegrams"});
  model::Fault fault;
  fault.kind = model::FaultKind::deaf;
  fault.device = Names{bench, request}.device();
  fault.count = static_cast<std::uint16_t>(request.whole("telegrams", 1, 1000));
  bench.break_something(fault);
  return {};
}

Reply do_play(Bench& bench, const Request& request) {
  request.allow({});
  bench.play();
  return {};
}

Reply do_pause(Bench& bench, const Request& request) {
  request.allow({});
  bench.pause();
  return {};
}

Reply do_speed(Bench& bench, const Request& request) {
  request.allow({"speed"});
  bench.set_speed(request.number("speed", least_speed, most_speed));
  return {};
}

Reply do_hurry(Bench& bench, const Request& request) {
  request.allow({"on"});
  bench.set_hurry(request.truth("on"));
  return {};
}

Reply do_step(Bench& bench, const Request& request) {
  request.allow({});
  bench.step();
  return {};
}

Reply do_jump(Bench& bench, const Request& request) {
  request.allow({});
  bench.jump();
  return {};
}

Reply do_seek(Bench& bench, const Request& request) {
  request.allow({"at_s"});
  bench.seek(sim::start_of_run + request.seconds("at_s", sim::Duration::zero(), Bench::longest));
  return {};
}

constexpr std::size_t longest_name = 60;

Reply do_branch(Bench& bench, const Request& request) {
  request.allow({"name"});
  bench.branch(request.has("name") ? request.text("name", longest_name) : "");
  return {};
}

BranchId branch_id(const Request& request) {
  return request.whole("branch", 1, largest_id);
}

Reply do_choose(Bench& bench, const Request& request) {
  request.allow({"branch"});
  bench.choose(branch_id(request));
  return {};
}

Reply do_rename(Bench& bench, const Request& request) {
  request.allow({"branch", "name"});
  bench.rename(branch_id(request), request.text("name", longest_name));
  return {};
}

Reply do_remove(Bench& bench, const Request& request) {
  request.allow({"branch"});
  bench.remove(branch_id(request));
  return {};
}

Reply do_demo(Bench& bench, const Request& request) {
  request.allow({"pause_at", "hurry"});
  bench.set_hurry(request.has("hurry") && request.truth("hurry"));
  TeachingPoints points;
  if (request.has("pause_at")) {
    points = {false, false, false};
    for (const std::string& word : request.words("pause_at", 3)) {
      if (word == "note") {
        points.notes = true;
      } else if (word == "see") {
        points.looks = true;
      } else if (word == "finding") {
        points.findings = true;
      } else {
        unknown(msg("There is no teaching point '{}'.{}"), word, {"note", "see", "finding"});
      }
    }
  }
  bench.demonstrate(points);
  return {};
}

Reply do_save(Bench& bench, const Request& request) {
  request.allow({"branch"});
  const SavedScenario saved = bench.save(request.has("branch") ? branch_id(request) : bench.chosen().id);
  return json::object{{"type", "saved"},
                      {"name", saved.name},
                      {"text", saved.text},
                      {"digest", saved.digest},
                      {"ended_at_s", exact_seconds(saved.ended)}};
}

Reply do_answer(Bench& bench, const Request& request) {
  request.allow({});
  bench.answer();
  return {};
}

Reply do_view(Bench& bench, const Request& request, Curtain curtain) {
  request.allow({"branch", "at_s"});
  const sim::Duration at = request.seconds("at_s", sim::Duration::zero(), Bench::longest);
  const BranchId id = branch_id(request);
  json::object view{{"type", "branch_view"}, {"branch", id}};
  bench.view(id, sim::start_of_run + at, [&](const Course& course) {
    const model::Site& site = course.run->scenario().site;
    const bool parts = is_told_in_parts(site);
    const model::PlaceId place = course.run->installer().place;
    view["state"] = course_json(bench, course, curtain, parts ? Looks{site, {place}} : Looks{});
  });
  return view;
}

struct Verb {
  std::string_view name;
  Reply (*run)(Bench& bench, const Request& request);
  Right right = Right::leading;
};

constexpr std::array verbs = {
    Verb{"press", do_press, Right::hands},
    Verb{"release", do_release, Right::hands},
    Verb{"press_for", do_press_for, Right::hands},
    Verb{"walk", do_walk, Right::hands},
    Verb{"switches", do_switches, Right::hands},
    Verb{"look", do_look, Right::hands},
    Verb{"note", do_note, Right::hands},
    Verb{"power", do_power, Right::hands},
    Verb{"link", do_link},
    Verb{"stuck", do_stuck},
    Verb{"deaf", do_deaf},
    Verb{"play", do_play},
    Verb{"pause", do_pause},
    Verb{"speed", do_speed},
    Verb{"hurry", do_hurry},
    Verb{"step", do_step},
    Verb{"jump", do_jump},
    Verb{"seek", do_seek},
    Verb{"branch", do_branch},
    Verb{"choose", do_choose},
    Verb{"rename", do_rename},
    Verb{"remove", do_remove},
    Verb{"demo", do_demo},
    Verb{"answer", do_answer},
    Verb{"save", do_save, Right::none},
    Verb{"view", nullptr, Right::none},  // do_view, which has to know of the curtain as well
};

const Verb* find_verb(std::string_view name) {
  const auto found =
      std::find_if(verbs.begin(), verbs.end(), [&](const Verb& verb) { return verb.name == name; });
  return found == verbs.end() ? nullptr : &*found;
}

}  // namespace

bool is_bench_verb(std::string_view verb) {
  return find_verb(verb) != nullptr;
}

Right right_for(std::string_view verb) {
  const Verb* found = find_verb(verb);
  return found == nullptr ? Right::none : found->right;
}

Reply do_request(Bench& bench, const Request& request, Curtain curtain) {
  if (request.verb() == "view") return do_view(bench, request, curtain);
  const Verb* verb = find_verb(request.verb());
  if (verb != nullptr) return verb->run(bench, request);
  std::vector<std::string> known;
  known.reserve(verbs.size());
  for (const Verb& each : verbs) known.emplace_back(each.name);
  const std::string shown = harmless(characters(request.verb(), 0, 40));
  throw Refused{RefusalCode::message, tr("Nobody here can '{}'.{}", shown, did_you_mean(shown, known))};
}

Answer take_message(Bench& bench, std::string_view text, Curtain curtain) {
  Answer answer;
  try {
    const Request request{text};
    answer.ref = request.ref();
    answer.reply = do_request(bench, request, curtain);
  } catch (const Refused& refused) {
    answer.refused = refused;
  }
  return answer;
}

std::optional<json::object> answer_json(const Answer& answer) {
  if (answer.refused) {
    return json::object{{"type", "refused"},
                        {"ref", answer.ref},
                        {"code", to_string(answer.refused->code())},
                        {"why", answer.refused->what()}};
  }
  if (answer.reply) {
    json::object reply = *answer.reply;
    reply["ref"] = answer.ref;
    return reply;
  }
  if (answer.ref.is_null()) return std::nullopt;
  return json::object{{"type", "done"}, {"ref", answer.ref}};
}

}  // namespace drybus::tools
