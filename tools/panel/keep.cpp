#include "tools/panel/keep.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <cmath>
#include <fstream>
#include <sstream>

#include "model/words/words.h"
#include "sim/digest.h"
#include "tools/base/json_text.h"
#include "tools/base/unusable.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/questions.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;
namespace fs = std::filesystem;

namespace {

constexpr int format = 1;
constexpr std::uintmax_t most_bytes = std::uintmax_t{256} << 20;

sim::Instant instant_of(const json::value& seconds) {
  return sim::start_of_run + sim::Duration{std::llround(seconds.to_number<double>() * 1e9)};
}

json::object course_json(const KeptCourse& course) {
  return {{"id", course.id},
          {"name", course.name},
          {"kind", course.kind == BranchKind::free ? "free" : "demo"},
          {"parent", course.parent ? json::value(*course.parent) : json::value(nullptr)},
          {"from_s", exact_seconds(course.from)},
          {"now_s", exact_seconds(course.now)},
          {"reached_s", exact_seconds(course.reached)},
          {"text", course.text}};
}

KeptCourse course_from(const json::value& value) {
  const json::object& object = value.as_object();
  KeptCourse course;
  course.id = object.at("id").to_number<BranchId>();
  course.name = std::string{object.at("name").as_string()};
  course.kind = object.at("kind").as_string() == "demo" ? BranchKind::demonstration : BranchKind::free;
  if (!object.at("parent").is_null()) course.parent = object.at("parent").to_number<BranchId>();
  course.from = instant_of(object.at("from_s"));
  course.now = instant_of(object.at("now_s"));
  course.reached = instant_of(object.at("reached_s"));
  course.text = std::string{object.at("text").as_string()};
  return course;
}

KeptSeat seat_from(const json::value& value) {
  const json::object& object = value.as_object();
  KeptSeat seat;
  seat.id = object.at("id").to_number<ViewerId>();
  seat.name = std::string{object.at("name").as_string()};
  seat.key = std::string{object.at("key").as_string()};
  const std::string_view role{object.at("role").as_string()};
  for (const Role each : {Role::trainer, Role::pupil, Role::onlooker}) {
    if (to_string(each) == role) seat.role = each;
  }
  return seat;
}

std::string text_at(const json::object& object, std::string_view key) {
  return std::string{object.at(key).as_string()};
}

std::string text_of(const Bench& bench, const Course& course) {
  if (course.kind == BranchKind::demonstration) return {};
  const model::Speaking english{nullptr};
  LoadedScenario written = bench.loaded();
  written.scenario = course.run->scenario();
  if (course.open_press) {
    model::Step& press = written.scenario.people[0].script[*course.open_press];
    press.duration = std::max(sim::Duration{1}, course.run->now() - press.at.value_or(course.run->now()));
  }
  return write_scenario(written);
}

/// The site, with whatever runs in it, is the one that is loaded; what people do comes from the text.
model::Scenario scenario_from(const LoadedScenario& loaded, const std::string& text) {
  const std::string path = loaded.sources.empty() ? "bench.yaml" : loaded.sources[0].path;
  auto reading = read_scenario_text(text, path);
  if (!reading.ok())
    throw Unusable{tr("a branch that was kept cannot be read: {}", to_text(reading.problems().front()))};
  model::Scenario scenario = loaded.scenario;
  scenario.people = reading.value().scenario.people;
  scenario.checks = reading.value().scenario.checks;
  scenario.times.pause = sim::Duration::zero();
  return scenario;
}

KeptBench kept_from(const json::object& object) {
  if (object.at("drybus-bench").to_number<int>() != format) throw std::invalid_argument{"another format"};
  KeptBench kept;
  kept.scenario = text_at(object, "scenario");
  for (const json::value& course : object.at("branches").as_array())
    kept.courses.push_back(course_from(course));
  if (kept.courses.empty() || kept.courses.size() > Bench::most_branches)
    throw std::invalid_argument{"branches"};
  kept.chosen = object.at("chosen").to_number<BranchId>();
  kept.speed = object.at("speed").to_number<double>();
  kept.curtain = object.at("curtain_drawn").as_bool() ? Curtain::drawn : Curtain::open;
  for (const json::value& seat : object.at("seats").as_array()) kept.seats.push_back(seat_from(seat));
  if (!object.at("holder").is_null()) kept.holder = object.at("holder").to_number<ViewerId>();
  if (const json::value* answers = object.if_contains("answers"); answers != nullptr && !answers->is_null())
    kept.pupil = pupil_from(*answers, max_questions);
  const json::object& links = object.at("links").as_object();
  kept.links = {text_at(links, "pupils"), text_at(links, "trainer"), text_at(links, "onlookers")};
  return kept;
}

}  // namespace

std::string fingerprint_of(const LoadedScenario& loaded) {
  sim::Digest digest;
  for (const auto& source : loaded.sources) digest.add_bytes(std::as_bytes(std::span{source.text}));
  return digest.value().hex();
}

KeptBench kept_of(const Bench& bench) {
  KeptBench kept;
  kept.scenario = fingerprint_of(bench.loaded());
  for (const Course& course : bench.courses()) {
    kept.courses.push_back({course.id, course.name, course.kind, course.parent, course.from,
                            course.run->now(), course.run->reached(), text_of(bench, course)});
  }
  kept.chosen = bench.chosen().id;
  kept.speed = bench.speed_set();
  return kept;
}

void resume(Bench& bench, const KeptBench& kept) {
  std::vector<CourseToResume> courses;
  bool found = false;
  for (const KeptCourse& each : kept.courses) {
    const bool free = each.kind == BranchKind::free;
    courses.push_back({each.id, each.name, each.kind, each.parent, each.from, each.now, each.reached,
                       free ? scenario_from(bench.loaded(), each.text) : model::Scenario{}});
    found = found || each.id == kept.chosen;
  }
  bench.resume(std::move(courses), found ? kept.chosen : kept.courses.front().id, kept.speed);
}

std::string kept_text(const KeptBench& kept) {
  json::array courses;
  for (const KeptCourse& course : kept.courses) courses.push_back(course_json(course));
  json::array seats;
  for (const KeptSeat& seat : kept.seats)
    seats.push_back(json::object{
        {"id", seat.id}, {"name", seat.name}, {"key", seat.key}, {"role", to_string(seat.role)}});
  return json_text(json::object{
             {"drybus-bench", format},
             {"scenario", kept.scenario},
             {"chosen", kept.chosen},
             {"speed", kept.speed},
             {"curtain_drawn", kept.curtain == Curtain::drawn},
             {"holder", kept.holder ? json::value(*kept.holder) : json::value(nullptr)},
             {"links",
              {{"pupils", kept.links.token},
               {"trainer", kept.links.trainer_key},
               {"onlookers", kept.links.onlooker_token}}},
             {"answers", kept.pupil ? json::value(pupil_json(*kept.pupil)) : json::value(nullptr)},
             {"seats", std::move(seats)},
             {"branches", std::move(courses)}}) +
         "\n";
}

KeptBench parse_kept(std::string_view text, const std::string& place) {
  try {
    return kept_from(json::parse(json::string_view{text.data(), text.size()}).as_object());
  } catch (const std::exception&) {  // Boost.JSON throws several kinds
    throw Unusable{
        tr("{}: this is no bench that 'drybus panel --keep' wrote; name another folder, or move it away",
           place)};
  }
}

std::string kept_bytes(const fs::path& file) {
  std::error_code error;
  const std::uintmax_t size = fs::file_size(file, error);
  if (error || size > most_bytes)
    throw Unusable{tr("{}: cannot be read, or is too long for a bench", file.string())};
  // Not through the reader of inputs: what is kept here is written again and again.
  std::ifstream in{file, std::ios::binary};
  std::stringstream text;
  text << in.rdbuf();
  if (!in) throw Unusable{tr("{}: cannot be read", file.string())};
  return text.str();
}

fs::path kept_file(const fs::path& folder) {
  return folder / "bench.json";
}

std::optional<KeptBench> read_kept(const fs::path& folder, const LoadedScenario& loaded) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (!fs::is_directory(folder))
    throw Unusable{tr("cannot make the folder {}: {}", folder.string(), error.message())};
  const fs::path file = kept_file(folder);
  if (!fs::exists(file)) return std::nullopt;
  KeptBench kept = parse_kept(kept_bytes(file), file.string());
  if (kept.scenario != fingerprint_of(loaded)) {
    throw Unusable{
        tr("{}: this is the bench of another scenario, or of this one before it was changed; name "
           "another folder, or move it away",
           file.string())};
  }
  return kept;
}

}  // namespace drybus::tools
